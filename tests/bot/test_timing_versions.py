"""Tallies say when presses came by the windows of the version under which they were logged."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from inline import HERE, ODRUN, Bench, InlineWorker, bench_at, link, route
from kept import Cells, edited, hosting, keep, source_of
from stored import NOW

from bot.render.card import Card
from bot.render.hands import all_timing_card, link_timing_card, route_timing_card
from bot.results.log import Logged
from bot.results.practice import AllTiming, LinkTiming, PracticeRefusal, PracticeRefusalCode, RouteTiming
from bot.results.tally import Controller, Drops, MemberSettings, Setup, Tally
from bot.services.desk import AskDesk
from bot.services.game_book import GameBook
from bot.services.hands import TimingService
from bot.services.log import Entry, LogService
from core.timing import Diagnosis, Fit, TooFew, Window, diagnose, fit
from core.timing import Tally as Presses
from core.verdict import Verdict

SERVER = HERE.owner.server_id
LINK, OTHER = "5MP, 2MP", "5MP, 5LP"
V1, V2, V3 = "1.2", "1.3", "1.4"
"""The host's version, in which 5MP gives +7 on hit, and two of the server's own."""
CELLS: dict[str, Cells] = {
    V2: {(ODRUN, "5MP", "on_hit"): "+8"},
    V3: {(ODRUN, "5MP", "on_hit"): "+6"},
}
WINDOWS = {V2: Window(28, 33, 31), V3: Window(28, 31, 31), V1: Window(28, 32, 31)}
"""The accepted gaps of LINK by hand: 5MP is over in 20 frames and stops for 11, so that 2MP (startup 6) may
start 31 frames after it; a press is held for 3 before; W = advantage - 6 + 1, which is 3, 1 and 2."""
GONE: Cells = {(ODRUN, "5MP", "on_hit"): "+5"}
"""With this, LINK has W = 0 and is no link, and OTHER (startup 4) has W = 2."""


class Server:
    """The services of one server, whose versions change."""

    def __init__(self, bench: Bench, games: GameBook) -> None:
        self.bench, self.games = bench, games
        desk = AskDesk(bench.book, games, "saltglass", bench.clock)
        stands_on = (bench.store, desk, bench.book, bench.clock)
        self.timing = TimingService(*stands_on, InlineWorker())
        self.log = LogService(*stands_on, self.timing)

    async def update(self, label: str, cells: Cells | None = None) -> None:
        source = edited(source_of("saltglass"), label, CELLS[label] if cells is None else cells)
        await keep(self.bench, self.games, SERVER, source, label)

    async def link(self, what: str = LINK) -> LinkTiming:
        found = await self.timing.of(HERE, f"Odrun's {what}")
        assert isinstance(found, LinkTiming), found
        return found

    async def all(self) -> AllTiming | PracticeRefusal:
        found = await self.timing.of(HERE, None)
        assert isinstance(found, AllTiming | PracticeRefusal), found
        return found


@pytest.fixture
async def server(tmp_path: Path) -> AsyncIterator[Server]:
    async with bench_at(tmp_path, NOW) as bench:
        games = hosting(bench.store, bench.clock, bench.book)
        await games.load()
        yield Server(bench, games)


def made(landed: int, early: int, late: int, version: str, what: str = LINK, **setup: Controller) -> Tally:
    """A bout of an hour ago, which counts in full."""
    return Tally(
        link(what),
        NOW - timedelta(hours=1),
        landed + early + late,
        landed,
        Drops(early, late),
        setup=Setup(**setup),
        game_version=version,
    )


def by_hand(*read: tuple[Tally, Window]) -> Fit:
    """What the core makes of these counts with these windows."""
    found = fit(
        [
            Presses(window, tally.tries, tally.landed, tally.drops.early, tally.drops.late)
            for tally, window in read
        ]
    )
    assert isinstance(found, Fit)
    return found


def diagnosis(timing: LinkTiming) -> Diagnosis:
    assert isinstance(timing.diagnosis, Diagnosis), timing.diagnosis
    return timing.diagnosis


def says(timing: LinkTiming, hands: Fit) -> bool:
    """Whether the diagnosis is that of these hands at the link's present window."""
    assert isinstance(timing.window, Window)
    told = diagnosis(timing)
    wanted = diagnose(hands, timing.window, timing.game.fps, told.two_advised)
    return (told.bias_frames.value, told.spread_frames.value, told.one.hit, told.aim_gap) == pytest.approx(
        (wanted.bias_frames.value, wanted.spread_frames.value, wanted.one.hit, wanted.aim_gap)
    )


def text(card: Card) -> str:
    return "\n".join([card.lead, *(line for group in card.groups for line in group.lines)])


async def test_each_tally_counts_by_the_window_of_its_own_version(server: Server) -> None:
    tallies = [made(30, 6, 4, V1), made(33, 5, 2, V2), made(18, 8, 14, V3)]
    await server.update(V2)
    await server.update(V3)
    for tally in tallies:
        await server.bench.log(tally)
    timing = await server.link()
    assert timing.window == WINDOWS[V3]
    own = by_hand(*((tally, WINDOWS[tally.game_version]) for tally in tallies))
    assert says(timing, own)
    assert not says(timing, by_hand(*((tally, WINDOWS[V3]) for tally in tallies)))
    assert diagnosis(timing).tries == 120
    assert (timing.tries, timing.landed) == (120, 81)
    hands = await server.timing.hands(HERE)
    assert hands.tries == 120
    assert hands.bias_frames == pytest.approx(own.likeliest.bias_frames)
    assert hands.spread.frames(30) == pytest.approx(own.spread.frames(30))


async def test_a_tally_without_a_version_counts_by_the_present_window(server: Server) -> None:
    await server.update(V3)
    tallies = [made(30, 6, 4, ""), made(18, 8, 14, V3)]
    for tally in tallies:
        await server.bench.log(tally)
    assert says(await server.link(), by_hand(*((tally, WINDOWS[V3]) for tally in tallies)))


async def test_after_going_back_old_and_new_tallies_keep_their_windows(server: Server) -> None:
    tallies = [made(33, 5, 2, V2), made(18, 8, 14, V3)]
    for label in (V2, V3):
        await server.update(label)
    for tally in tallies:
        await server.bench.log(tally)
    own = by_hand(*((tally, WINDOWS[tally.game_version]) for tally in tallies))
    assert says(await server.link(), own)
    older = await server.games.version(SERVER, "Saltglass", V2)
    assert older is not None
    server.games.hold(SERVER, "Saltglass", 0, older)
    timing = await server.link()
    assert timing.window == WINDOWS[V2]
    assert says(timing, own)


async def test_a_link_that_a_patch_broke_still_tells_of_the_hands(server: Server) -> None:
    gone = made(30, 12, 4, V1)
    await server.update(V2, GONE)
    here = made(20, 2, 1, V2, OTHER)
    await server.bench.log(gone)
    await server.bench.log(here)
    timing = await server.link(OTHER)
    assert timing.window == Window(28, 32, 31)
    assert says(timing, by_hand((gone, WINDOWS[V1]), (here, Window(28, 32, 31))))
    assert (timing.tries, diagnosis(timing).tries) == (23, 69)
    lost = await server.link(LINK)
    assert isinstance(lost.window, Verdict)
    assert lost.diagnosis is None
    assert (lost.tries, lost.landed) == (46, 30)
    everything = await server.all()
    assert isinstance(everything, AllTiming)
    assert [one.subject.what for one in everything.links] == ["5MP, 5LP"]
    assert says(everything.links[0], by_hand((gone, WINDOWS[V1]), (here, Window(28, 32, 31))))


async def test_a_link_whose_move_is_gone_still_tells_of_the_hands(server: Server) -> None:
    source = edited(source_of("saltglass"), V2, {(ODRUN, "2MP", "input"): "3MP"})
    gone = made(30, 12, 4, V1)
    await keep(server.bench, server.games, SERVER, source, V2)
    await server.bench.log(gone)
    timing = await server.link(OTHER)
    assert timing.tries == 0
    assert says(timing, by_hand((gone, WINDOWS[V1])))
    assert await server.all() == PracticeRefusal(timing.game, PracticeRefusalCode.NO_LINKS)


async def test_tallies_of_a_version_that_nobody_keeps_say_nothing_of_the_hands(server: Server) -> None:
    known = made(20, 3, 2, V1)
    await server.bench.log(known)
    await server.bench.log(made(1, 50, 0, "0.9"))
    timing = await server.link()
    assert says(timing, by_hand((known, WINDOWS[V1])))
    assert (timing.tries, timing.landed, timing.lost_tries) == (76, 21, 51)
    assert "not kept" not in text(link_timing_card(timing))


async def test_where_that_leaves_too_few_the_card_says_so(server: Server) -> None:
    await server.bench.log(made(4, 1, 0, V1))
    await server.bench.log(made(1, 50, 0, "0.9"))
    timing = await server.link()
    assert timing.diagnosis == TooFew(5)
    why = "51 tries of yours cannot count here: they were logged under a version of the game file that is not"
    assert why in text(link_timing_card(timing))
    everything = await server.all()
    assert isinstance(everything, AllTiming)
    assert why in text(all_timing_card(everything))
    whole = await server.timing.of(HERE, "Odrun's 5MP, 2MP, 5LP")
    assert isinstance(whole, RouteTiming)
    assert whole.bottleneck == TooFew(5)
    assert why in text(route_timing_card(whole))


async def test_where_nothing_is_lost_too_few_tries_are_told_as_ever(server: Server) -> None:
    await server.bench.log(made(4, 1, 0, V1))
    assert "not kept" not in text(link_timing_card(await server.link()))


async def test_what_was_made_with_the_present_controller_is_told_apart_over_versions_too(
    server: Server,
) -> None:
    tallies = [
        made(30, 6, 4, V1, controller=Controller.PAD),
        made(18, 8, 14, V3, controller=Controller.PAD),
        made(10, 1, 20, V3, controller=Controller.STICK),
    ]
    await server.update(V3)
    for tally in tallies:
        await server.bench.log(tally)
    setup = Setup(controller=Controller.PAD)
    server.bench.book.hold(HERE.owner, MemberSettings(ODRUN, setup=setup))
    timing = await server.link()
    assert says(timing, by_hand(*((tally, WINDOWS[tally.game_version]) for tally in tallies[:2])))
    assert timing.tries == 80


async def test_another_server_s_version_of_that_label_is_not_taken(server: Server) -> None:
    source = edited(source_of("saltglass"), V2, CELLS[V2])
    await keep(server.bench, server.games, SERVER + 1, source, V2)
    await server.bench.log(made(30, 12, 4, V2))
    timing = await server.link()
    assert timing.diagnosis == TooFew(0)
    assert timing.lost_tries == 46


async def test_a_new_tally_is_tied_to_the_version_of_the_server(server: Server) -> None:
    await server.update(V2)
    logged = await server.log.log(HERE, Entry("Odrun's 5MP, 2MP", "7/10, 2 early"), 1)
    assert isinstance(logged, Logged)
    assert logged.kept.tally.game_version == V2
    elsewhere = replace(HERE, server_id=SERVER + 1)
    logged = await server.log.log(elsewhere, Entry("Odrun's 5MP, 2MP", "7/10, 2 early"), 2)
    assert isinstance(logged, Logged)
    assert logged.kept.tally.game_version == V1


async def test_where_a_route_drops_is_found_with_the_windows_of_each_version(server: Server) -> None:
    tallies = [made(30, 6, 4, V1), made(18, 8, 14, V3)]
    await server.update(V3)
    for tally in tallies:
        await server.bench.log(tally)
    await server.bench.log(replace(made(5, 0, 0, V3), subject=route("5MP, 2MP, 5LP")))
    whole = await server.timing.of(HERE, "Odrun's 5MP, 2MP, 5LP")
    assert isinstance(whole, RouteTiming)
    own = by_hand(*((tally, WINDOWS[tally.game_version]) for tally in tallies))
    assert whole.steps[0].window == WINDOWS[V3]
    assert not isinstance(whole.bottleneck, TooFew | None)
    assert whole.bottleneck.steps[0].hit == pytest.approx(own.predict(WINDOWS[V3]).hit)
