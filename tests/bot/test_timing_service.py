"""Timing as a member asks about it: real tallies in a real store, and a player whose hands are known."""

from __future__ import annotations

import random
from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from math import floor
from pathlib import Path

import pytest
from inline import HERE, MIRREL, ODRUN, Bench, InlineWorker, bench_at, drill, link, route

from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.practice import (
    AllTiming,
    LinkTiming,
    PracticeRefusal,
    PracticeRefusalCode,
    RouteTiming,
)
from bot.results.tally import Controller, Drops, MemberSettings, Setup, Subject, Tally
from bot.services.hands import TimingService
from core.timing import Diagnosis, Tendency, TooFew, Window
from core.timing.diagnosis import TYPICAL_SPACING_FRAMES
from core.verdict import Verdict

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
AN_HOUR_AGO = NOW - timedelta(hours=1)
WINDOWS = {
    "5MP, 2MP": Window(28, 32, 31),
    "5MP, 2MK": Window(28, 31, 31),
    "5MK, 5LP": Window(33, 36, 36),
    "5MP, 5LP": Window(28, 34, 31),
    "5MP, 5LK": Window(28, 33, 31),
}
"""Accepted gaps of links of Odrun's, as the engine has them from the game file."""
TIGHT = ("5MP, 2MP", "5MP, 2MK", "5MK, 5LP")
WIDE = ("5MP, 5LP", "5MP, 5LK")
"""At least as wide as two presses lie apart: there is no hole between them."""


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        yield bench


@pytest.fixture
def service(bench: Bench) -> TimingService:
    return TimingService(bench.store, bench.desk, bench.book, bench.clock, InlineWorker())


def played(what: str, tries: int, bias: float, spread: float, seed: int, presses: int = 1) -> Tally:
    """What a player logs whose presses come `bias` frames off their aim and scatter by `spread`. Pressed
    twice (at a link of WIDE), the aim is half the spacing earlier."""
    window, hands = WINDOWS[what], random.Random(seed)
    spacing = TYPICAL_SPACING_FRAMES if presses == 2 else 0.0
    aim = window.middle_gap - spacing / 2
    early = late = 0
    for _ in range(tries):
        press = hands.random() + hands.gauss(aim + bias, spread)
        if floor(press + spacing) < window.first_gap:
            early += 1
        elif floor(press) > window.last_gap:
            late += 1
    landed = tries - early - late
    return Tally(link(what), AN_HOUR_AGO, tries, landed, Drops(early, late), presses=presses)


def diagnosed(timing: object) -> Diagnosis:
    assert isinstance(timing, LinkTiming), timing
    assert isinstance(timing.diagnosis, Diagnosis), timing.diagnosis
    return timing.diagnosis


def everything(timing: object) -> AllTiming:
    assert isinstance(timing, AllTiming), timing
    return timing


@pytest.mark.parametrize(
    ("bias", "tendency"), [(-1.5, Tendency.EARLY), (1.5, Tendency.LATE), (0.0, Tendency.ON_TIME)]
)
async def test_a_player_is_told_by_how_much_they_press_early_or_late(
    bench: Bench, service: TimingService, bias: float, tendency: Tendency
) -> None:
    for seed, what in enumerate(TIGHT):
        await bench.log(played(what, 200, bias, 1.5, seed))
    timing = await service.of(HERE, "Odrun's 5MP, 2MP")
    told = diagnosed(timing)
    assert told.tendency is tendency
    assert told.bias_frames.value == pytest.approx(bias, abs=0.3)
    assert told.bias_frames.high - told.bias_frames.low < 0.6
    assert told.aim_shift_frames == -told.bias_frames.value
    assert told.tries == 600
    assert told.spread_frames.value == pytest.approx(1.5, abs=0.3)
    assert isinstance(timing, LinkTiming)
    assert (timing.window, timing.tries) == (WINDOWS["5MP, 2MP"], 200)


async def test_presses_that_were_doubled_are_read_as_two_presses_six_frames_apart(
    bench: Bench, service: TimingService
) -> None:
    for seed, what in enumerate(WIDE):
        await bench.log(played(what, 300, -2.0, 2.0, seed, presses=2))
    told = diagnosed(await service.of(HERE, "Odrun's 5MP, 5LP"))
    assert told.spacing_frames == TYPICAL_SPACING_FRAMES
    assert told.bias_frames.value == pytest.approx(-2.0, abs=0.5)


async def test_a_link_never_tried_is_predicted_from_the_others(bench: Bench, service: TimingService) -> None:
    await bench.log(played("5MP, 2MP", 200, -1.5, 1.5, 1))
    timing = await service.of(HERE, "Odrun's 5MK, 5LP")
    assert isinstance(timing, LinkTiming)
    assert (timing.tries, timing.landed) == (0, 0)
    told = diagnosed(timing)
    assert told.tendency is Tendency.EARLY
    assert told.tries == 200
    assert 0 < told.one.hit < told.one_mended.hit < 1


async def test_links_of_all_characters_speak_of_the_same_hands(bench: Bench, service: TimingService) -> None:
    await bench.log(replace(played("5MP, 2MP", 200, -1.5, 1.5, 1), subject=link("5MP, 2MP", MIRREL)))
    assert diagnosed(await service.of(HERE, "Odrun's 5MP, 2MP")).tries == 200


@pytest.mark.parametrize("tries", [9, 10])
async def test_below_ten_tries_over_all_links_nothing_is_told(
    bench: Bench, service: TimingService, tries: int
) -> None:
    await bench.log(Tally(link("5MP, 2MP"), AN_HOUR_AGO, tries - 3, 3, Drops(early=2)))
    await bench.log(Tally(link("5MP, 2MK"), AN_HOUR_AGO, 5, 1, Drops(too_far=2)))
    timing = await service.of(HERE, "Odrun's 5MP, 2MP")
    assert isinstance(timing, LinkTiming)
    assert (timing.tries, timing.landed) == (tries - 3, 3)
    assert timing.diagnosis == TooFew(9) if tries == 9 else isinstance(timing.diagnosis, Diagnosis)
    assert timing.mashing is not None


async def test_drops_for_other_reasons_than_timing_are_no_tries(bench: Bench, service: TimingService) -> None:
    drops = Drops(early=3, late=1, wrong_state=1, too_far=2, motion_failed=1, mashed=2)
    await bench.log(Tally(link("5MP, 2MP"), AN_HOUR_AGO, 30, 14, drops))
    timing = everything(await service.of(HERE, None))
    assert [(one.tries, one.landed) for one in timing.links] == [(24, 14)]
    assert timing.tries == 24
    (sides,) = timing.sides
    assert (sides.early, sides.hit, sides.late, sides.unknown) == (3, 14, 1, 6)


async def test_gaps_read_off_the_game_tell_early_where_the_counts_do_not(
    bench: Bench, service: TimingService
) -> None:
    await bench.log(Tally(link("5MP, 2MP"), AN_HOUR_AGO, 12, 5, Drops(too_far=4), gap_frames=(27, 28) * 6))
    told = diagnosed(await service.of(HERE, "Odrun's 5MP, 2MP"))
    assert told.tendency is Tendency.EARLY
    # The mean of whole gaps is that of the intervals: 27.5 where the aim is 30.
    assert told.bias_frames.value == pytest.approx(-2.5, abs=0.2)
    assert told.tries == 12


async def test_mashing_stands_beside_one_press_and_two(service: TimingService) -> None:
    timing = await service.of(HERE, "Odrun's 5MP, 2MP")
    assert isinstance(timing, LinkTiming)
    assert timing.diagnosis == TooFew(0)
    # 10 presses a second are one each 6 frames; 5 gaps are accepted, from gap 28 to 32. Half a second before
    # gap 28 lies before the first move's own press: from gap 1 to 33 there are 32 / 6 presses.
    assert timing.mash_rate == 10
    assert timing.mashing is not None
    assert timing.mashing.works == pytest.approx(5 / 6)
    assert timing.mashing.presses == pytest.approx(32 / 6)


async def test_mashing_begins_half_a_second_before_a_late_window(service: TimingService) -> None:
    timing = await service.of(HERE, "Garrow's 5HK, 5LP")
    assert isinstance(timing, LinkTiming)
    assert timing.window == Window(50, 54, 53)
    assert timing.mashing is not None
    assert timing.mashing.presses == pytest.approx((55 - 20) / 6)


async def test_two_moves_that_do_not_link_have_tries_and_no_diagnosis(
    bench: Bench, service: TimingService
) -> None:
    await bench.log(Tally(link("2HK, 5MP"), AN_HOUR_AGO, 30, 0))
    timing = await service.of(HERE, "Odrun's 2HK, 5MP")
    assert isinstance(timing, LinkTiming)
    assert isinstance(timing.window, Verdict)
    assert (timing.tries, timing.diagnosis, timing.mashing) == (30, None, None)
    refused = await service.of(HERE, None)
    assert isinstance(refused, PracticeRefusal)
    assert refused.code is PracticeRefusalCode.NO_LINKS


async def test_all_links_come_weakest_first_with_what_was_counted(
    bench: Bench, service: TimingService
) -> None:
    for seed, what in enumerate(reversed(TIGHT)):
        await bench.log(played(what, 100, -1.5, 1.5, seed))
    timing = everything(await service.of(HERE, None))
    chances = [diagnosed(one).one.hit for one in timing.links]
    assert chances == sorted(chances)
    assert timing.links[-1].subject == link("5MP, 2MP")
    assert {one.subject.what for one in timing.links} == set(TIGHT)
    assert timing.tries == 300
    assert [one.subject for one in timing.sides] == [one.subject for one in timing.links]
    assert all(one.mean_off_frames == pytest.approx(-1.5, abs=0.5) for one in timing.sides)
    alone = await service.of(HERE, "Odrun: 5MP, 2MP")
    assert isinstance(alone, LinkTiming)
    assert alone.sides == timing.sides[-1]


async def test_the_first_of_two_presses_stands_half_the_spacing_earlier(
    bench: Bench, service: TimingService
) -> None:
    await bench.log(played("5MP, 2MP", 100, 0.0, 1.0, 1))
    await bench.log(played("5MP, 5LP", 30, 0.0, 1.0, 2))
    await bench.log(played("5MP, 5LP", 60, 0.0, 1.0, 3, presses=2))
    sides = {one.subject.what: one for one in everything(await service.of(HERE, None)).sides}
    assert sides["5MP, 2MP"].mean_off_frames == pytest.approx(0, abs=0.5)
    assert sides["5MP, 5LP"].mean_off_frames == pytest.approx(-TYPICAL_SPACING_FRAMES / 2, abs=0.5)


async def test_too_few_tries_still_show_where_they_came_out(bench: Bench, service: TimingService) -> None:
    await bench.log(Tally(link("5MP, 2MP"), AN_HOUR_AGO, 6, 3, Drops(early=2, late=1)))
    (sides,) = everything(await service.of(HERE, None)).sides
    assert (sides.early, sides.hit, sides.late, sides.unknown) == (2, 3, 1, 0)
    assert (sides.mean_off_frames, sides.spread_frames) == (None, None)


PAD, STICK = Setup(controller=Controller.PAD), Setup(controller=Controller.STICK)


@pytest.mark.parametrize(("on_stick", "alone"), [(9, False), (10, True)])
async def test_only_the_present_controller_counts_once_it_has_ten_tries(
    bench: Bench, service: TimingService, on_stick: int, alone: bool
) -> None:
    await bench.book.set_member(HERE.owner, MemberSettings(character=ODRUN, setup=STICK))
    await bench.log(replace(played("5MP, 2MP", 200, -2.0, 1.0, 1), setup=PAD))
    await bench.log(Tally(link("5MP, 2MK"), AN_HOUR_AGO, on_stick, on_stick - 4, Drops(late=4), setup=STICK))
    timing = everything(await service.of(HERE, None))
    assert timing.tries == (on_stick if alone else 200 + on_stick)
    early = diagnosed(timing.links[0]).bias_frames.value < 0
    assert early is not alone
    never = await service.of(HERE, "Odrun's 5MP, 2MP")
    assert isinstance(never, LinkTiming)
    assert never.tries == (0 if alone else 200)


async def test_without_a_controller_everything_counts(bench: Bench, service: TimingService) -> None:
    await bench.log(replace(played("5MP, 2MP", 40, 0, 1, 1), setup=PAD))
    await bench.log(replace(played("5MP, 2MP", 40, 0, 1, 2), setup=STICK))
    assert everything(await service.of(HERE, None)).tries == 80


async def test_what_was_undone_does_not_count(bench: Bench, service: TimingService) -> None:
    await bench.log(Tally(link("5MP, 2MP"), AN_HOUR_AGO, 12, 6, Drops(early=6)))
    wrong = await bench.log(Tally(link("5MP, 2MP"), AN_HOUR_AGO, 500, 0, Drops(late=500)))
    await bench.undo(wrong)
    assert diagnosed(await service.of(HERE, "Odrun's 5MP, 2MP")).tries == 12


async def test_nobody_else_s_tallies_count(bench: Bench, service: TimingService) -> None:
    await bench.log(played("5MP, 2MP", 100, 0, 1, 1))
    for other in (Place(1, 10, 101), Place(2, 10, 100), Place(None, 10, 100)):
        refused = await service.of(other, None)
        assert isinstance(refused, PracticeRefusal)
        assert refused.code is PracticeRefusalCode.NO_TALLIES


async def test_old_tallies_weigh_less_than_new_ones(bench: Bench, service: TimingService) -> None:
    early = played("5MP, 2MP", 100, -1.5, 1.0, 1)
    late = played("5MP, 2MP", 100, 1.5, 1.0, 2)
    await bench.log(replace(early, made_at=NOW - timedelta(days=300)))
    await bench.log(late)
    told = diagnosed(await service.of(HERE, "Odrun's 5MP, 2MP"))
    assert told.bias_frames.value > 0.2


async def test_a_route_drops_at_its_tightest_press(bench: Bench, service: TimingService) -> None:
    await bench.log(played("5MP, 2MP", 200, 0.0, 1.5, 1))
    timing = await service.of(HERE, "Odrun's 5MP, 5MP, 2MK")
    assert isinstance(timing, RouteTiming)
    assert [(step.first, step.second) for step in timing.steps] == [("5MP", "5MP"), ("5MP", "2MK")]
    assert timing.timed == (0, 1)
    assert timing.bottleneck is not None
    assert not isinstance(timing.bottleneck, TooFew)
    assert timing.bottleneck.step == 1


async def test_tallies_of_a_whole_route_are_no_evidence(bench: Bench, service: TimingService) -> None:
    await bench.log(Tally(route("5MP, 5MP, 2MK"), AN_HOUR_AGO, 100, 50, Drops(early=50)))
    timing = await service.of(HERE, "Odrun's 5MP, 5MP, 2MK")
    assert isinstance(timing, RouteTiming)
    assert timing.bottleneck == TooFew(0)
    refused = await service.of(HERE, None)
    assert isinstance(refused, PracticeRefusal)
    assert refused.code is PracticeRefusalCode.NO_LINKS


async def test_a_cancel_says_nothing_of_the_hands(bench: Bench, service: TimingService) -> None:
    await bench.log(Tally(route("5MP xx 236HP"), AN_HOUR_AGO, 40, 30, Drops(late=10)))
    timing = await service.of(HERE, "Odrun's 5MP xx 236HP")
    assert isinstance(timing, RouteTiming)
    assert (timing.timed, timing.bottleneck) == ((0,), TooFew(0))


async def test_a_drill_has_no_press_to_time(bench: Bench, service: TimingService) -> None:
    await bench.log(Tally(drill("anti-airs on reaction"), AN_HOUR_AGO, 20, 10))
    refused = await service.of(HERE, "anti-airs on reaction")
    assert isinstance(refused, PracticeRefusal)
    assert refused.code is PracticeRefusalCode.HAS_NO_PRESS
    assert refused.facts["what"] == "anti-airs on reaction"


async def test_what_cannot_be_read_is_refused_as_in_logging(service: TimingService) -> None:
    assert isinstance(await service.of(HERE, "Odrun's 5MP, 9XQ"), LogRefusal)


@pytest.mark.parametrize("subject", [link("5MP, 9MP"), link("5MP, 2MP", "Nobody")])
async def test_a_link_that_the_game_file_lost_is_left_out(
    bench: Bench, service: TimingService, subject: Subject
) -> None:
    await bench.log(played("5MP, 2MP", 20, 0, 1, 1))
    await bench.log(Tally(subject, AN_HOUR_AGO, 20, 10, Drops(late=10)))
    assert everything(await service.of(HERE, None)).tries == 20
