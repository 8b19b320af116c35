"""Routes that a member looks for: what is typed, and the next one to learn."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from demo import demo
from inline import HERE, MIRREL, ODRUN, Bench, InlineWorker, bench_at, link, route

from bot.ports import WorkerError
from bot.results.finding import Choice, Finding, Lesson, Limit, NextUp, NothingNext, Role, Wanted
from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.route import OpenRoute
from bot.results.tally import Drops, Subject, SubjectKind, Tally
from bot.services.hands import TimingService
from bot.services.opening import RouteOpener
from bot.services.route_finder import RouteFinder
from bot.services.route_options import read_gauges
from bot.storage import tallies
from core.model import Means
from core.notation import format_route
from core.routes import Aim

NOW = datetime(2026, 3, 2, 20, 15, tzinfo=UTC)
OTHER = replace(HERE, member_id=HERE.member_id + 1)
EVENT = 7


class DeadWorker(InlineWorker):
    """A worker whose process has died."""

    async def run(self, work: Callable[..., Any], *_: Any, **__: Any) -> Any:
        raise WorkerError(f"The process of {work.__name__} died.")


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        await bench.desk.choose_own(HERE, "odrun", None)
        yield bench


def finder_of(bench: Bench, worker: InlineWorker) -> RouteFinder:
    timing = TimingService(bench.store, bench.desk, bench.book, bench.clock, worker)
    opener = RouteOpener(bench.store, bench.desk, timing)
    return RouteFinder(bench.store, bench.desk, bench.book, bench.clock, timing, opener, worker)


@pytest.fixture
def finder(bench: Bench) -> RouteFinder:
    return finder_of(bench, InlineWorker())


@pytest.fixture
def opener(bench: Bench) -> RouteOpener:
    timing = TimingService(bench.store, bench.desk, bench.book, bench.clock, InlineWorker())
    return RouteOpener(bench.store, bench.desk, timing)


def some(result: Finding | LogRefusal) -> Finding:
    assert isinstance(result, Finding), result
    assert result.routes
    return result


def up(result: NextUp | NothingNext | LogRefusal | None) -> NextUp:
    assert isinstance(result, NextUp), result
    return result


def refused(result: object) -> LogRefusalCode:
    assert isinstance(result, LogRefusal), result
    return result.code


def inputs(one: Choice) -> list[str]:
    return [move.input for move in one.route.moves]


async def land(bench: Bench, subject: Subject, tries: int = 60, landed: int = 58) -> None:
    """Log tries of an hour ago that make something owned, or with fewer landed do not."""
    await bench.log(Tally(subject, NOW - timedelta(hours=1), tries, landed))


async def test_most_damage_is_the_default_and_the_best_comes_first(finder: RouteFinder) -> None:
    found = some(await finder.find(HERE, Wanted("5MP"), EVENT))
    assert (found.character.name, found.starter, found.aim) == (ODRUN, "5MP", Aim.DAMAGE)
    assert found.complete
    assert found.hands.tries == 0
    assert max(one.damage for one in found.routes) == found.routes[0].damage
    assert all(inputs(one)[0] == "5MP" and len(inputs(one)) > 1 for one in found.routes)


@pytest.mark.parametrize(
    ("aim", "value"),
    [
        (Aim.EXPECTED, lambda one: one.expected_damage),
        (Aim.RELIABLE, lambda one: one.chance),
        (Aim.SHORTEST, lambda one: -one.seconds),
    ],
)
async def test_each_aim_puts_its_own_best_first(
    finder: RouteFinder, aim: Aim, value: Callable[[Choice], float]
) -> None:
    found = some(await finder.find(HERE, Wanted("5MP", aim, gauge="none"), EVENT))
    assert value(found.routes[0]) == max(map(value, found.routes))


async def test_at_most_three_are_offered_the_surest_first(finder: RouteFinder) -> None:
    found = some(await finder.find(HERE, Wanted("5MP", Aim.EXPECTED, gauge="none"), EVENT))
    assert len(found.routes) > 3
    assert [one.role for one in found.choices] == [Role.SUREST, Role.AVERAGE, Role.MOST]
    chances = [one.chance for one in found.choices]
    assert chances == sorted(chances, reverse=True)


@pytest.mark.parametrize(
    ("starter", "written"),
    [
        ("5MP", "5MP"),
        ("CH 5MP", "counter hit 5MP"),
        ("meaty(3) 5MP", "meaty(3) 5MP"),
        ("meaty 5MP", "meaty 5MP"),
    ],
)
async def test_each_route_has_a_number_that_opens_the_same_route(
    finder: RouteFinder, opener: RouteOpener, starter: str, written: str
) -> None:
    found = some(await finder.find(HERE, Wanted(starter, Aim.EXPECTED, gauge="none"), EVENT))
    assert found.starter == written
    for one in found.routes:
        opened = await opener.numbered(HERE, one.subject_id)
        assert isinstance(opened, OpenRoute)
        assert opened.check.works
        assert format_route(opened.check.route) == format_route(one.route)
        assert opened.check.damage == one.damage
        assert await opener.numbered(OTHER, one.subject_id) == LogRefusal(LogRefusalCode.GONE_ROUTE)


async def test_the_same_search_twice_gives_the_same_numbers_and_logs_nothing(
    finder: RouteFinder, bench: Bench
) -> None:
    first = some(await finder.find(HERE, Wanted("5MP"), EVENT))
    assert some(await finder.find(HERE, Wanted("5MP"), EVENT)) == first
    assert some(await finder.find(HERE, Wanted("5MP"), EVENT + 1)) == first
    async with bench.store.read() as reading:
        assert await tallies.listed(reading, HERE.owner, 10) == ()


async def test_limits_are_kept_to(finder: RouteFinder) -> None:
    wanted = Wanted("5MP", gauge="salt 40, glow 0", with_moves="214KK", without="2HK, 623HP", moves=4)
    found = some(await finder.find(HERE, wanted, EVENT))
    assert found.limits == (Limit.GAUGE, Limit.WITH, Limit.WITHOUT, Limit.MOVES)
    for one in found.routes:
        assert "214KK" in inputs(one)
        assert not {"2HK", "623HP"} & set(inputs(one))
        assert len(inputs(one)) <= 4
        assert dict(one.spent) == {"salt": 40}


async def test_least_damage_and_a_knockdown_are_kept_to(finder: RouteFinder, opener: RouteOpener) -> None:
    wanted = Wanted("5MP", Aim.RELIABLE, 1_800, "none", knockdown=True)
    for one in some(await finder.find(HERE, wanted, EVENT)).routes:
        assert one.damage >= 1_800
        opened = await opener.numbered(HERE, one.subject_id)
        assert isinstance(opened, OpenRoute)
        assert opened.check.ending is not None
        assert opened.check.ending.effect is not None
        assert opened.check.ending.effect.value == "knockdown"


async def test_without_a_starter_every_move_of_the_character_may_begin(finder: RouteFinder) -> None:
    found = some(await finder.find(HERE, Wanted(gauge="none"), EVENT))
    assert found.starter == ""
    assert len({inputs(one)[0] for one in found.routes}) > 1


async def test_whose_starter_it_is_may_stand_before_it(finder: RouteFinder) -> None:
    for typed in ("Mirrel: 5MP", "mirrel's 5MP", "Mirrel Quay: CH 5MP"):
        assert some(await finder.find(OTHER, Wanted(typed), EVENT)).character.name == MIRREL
    assert some(await finder.find(HERE, Wanted("mirrel"), EVENT)).character.name == MIRREL


@pytest.mark.parametrize(
    ("wanted", "code"),
    [
        (Wanted("5QQ"), LogRefusalCode.NO_MOVE),
        (Wanted("5MP, 2MP"), LogRefusalCode.NO_MOVE),
        (Wanted("5MP", with_moves="2MP, 5QQ"), LogRefusalCode.NO_MOVE),
        (Wanted("5MP", without="nothing at all"), LogRefusalCode.NO_MOVE),
        (Wanted("5MP", gauge="some"), LogRefusalCode.NO_GAUGE),
        (Wanted("5MP", gauge="salt 121"), LogRefusalCode.GAUGE_RANGE),
        (Wanted("5MP", state="on fire"), LogRefusalCode.NO_STATE),
        (Wanted("5MP", state="block"), LogRefusalCode.NO_STATE),
    ],
)
async def test_what_cannot_be_read_is_refused(
    finder: RouteFinder, wanted: Wanted, code: LogRefusalCode
) -> None:
    assert refused(await finder.find(HERE, wanted, EVENT)) is code


async def test_who_has_no_character_is_told_to_name_one(finder: RouteFinder) -> None:
    assert refused(await finder.find(OTHER, Wanted("5MP"), EVENT)) is LogRefusalCode.NO_CHARACTER
    assert refused(await finder.find(OTHER, Wanted(), EVENT)) is LogRefusalCode.NO_CHARACTER
    assert refused(await finder.next(OTHER, "", EVENT)) is LogRefusalCode.NO_CHARACTER
    assert refused(await finder.learn(OTHER, "5MP", EVENT)) is LogRefusalCode.NO_CHARACTER


async def test_a_worker_that_fails_is_a_refusal_and_nothing_is_stored(bench: Bench) -> None:
    finder = finder_of(bench, DeadWorker())
    for result in (
        await finder.find(HERE, Wanted("5MP"), EVENT),
        await finder.next(HERE, "", EVENT),
        await finder.learn(HERE, "5MP", EVENT),
    ):
        assert refused(result) is LogRefusalCode.NOT_FOUND_IN_TIME
    async with bench.store.read() as reading:
        assert await tallies.find_subject(reading, HERE.owner, link("5MP, 2MP")) is None
        assert await tallies.subject_of(reading, HERE.owner, 1) is None


async def test_nothing_that_fits_is_an_answer_with_what_narrowed_it(finder: RouteFinder) -> None:
    found = await finder.find(HERE, Wanted("5MP", at_least=99_999, gauge="none"), EVENT)
    assert isinstance(found, Finding)
    assert found.routes == ()
    assert found.limits == (Limit.DAMAGE, Limit.GAUGE)


async def test_routes_are_looked_for_with_the_member_s_own_hands(finder: RouteFinder, bench: Bench) -> None:
    typical = some(await finder.find(HERE, Wanted("5MP", gauge="none"), EVENT))
    early = Drops(early=50)
    for hours in (1, 2, 3):
        made = NOW - timedelta(hours=hours)
        await bench.log(Tally(link("5MP, 2MP"), made, 60, 10, early))
    own = some(await finder.find(HERE, Wanted("5MP", gauge="none"), EVENT))
    assert own.hands.tries == 180
    assert own.hands.bias_frames < 0
    chances = {format_route(one.route): one.chance for one in typical.routes}
    hard = [one for one in own.routes if one.hard and format_route(one.route) in chances]
    assert hard
    assert all(one.chance < chances[format_route(one.route)] for one in hard)
    unknown = some(await finder.find(HERE, Wanted("5MP", gauge="none"), EVENT, own_hands=False))
    assert unknown == typical


async def test_routes_from_one_that_was_looked_at_begin_as_it_does(
    finder: RouteFinder, opener: RouteOpener
) -> None:
    opened = await opener.typed(HERE, "Mirrel: CH 5MP, 5MP", EVENT)
    assert isinstance(opened, OpenRoute)
    found = some(await finder.find_from(HERE, opened.subject_id, EVENT + 1))
    assert (found.character.name, found.starter) == (MIRREL, "counter hit 5MP")
    assert found.aim is Aim.EXPECTED
    assert refused(await finder.find_from(OTHER, opened.subject_id, EVENT)) is LogRefusalCode.GONE_ROUTE


async def test_routes_of_a_control_scheme_open_as_they_were_found(
    finder: RouteFinder, opener: RouteOpener, bench: Bench
) -> None:
    wanted = Wanted("5MP", gauge="none", with_moves="4HP")
    assert refused(await finder.find(HERE, wanted, EVENT)) is LogRefusalCode.NO_MOVE
    assert await bench.desk.choose_own(HERE, None, "one-button") is None
    found = some(await finder.find(HERE, wanted, EVENT))
    for one in found.routes:
        opened = await opener.numbered(HERE, one.subject_id)
        assert isinstance(opened, OpenRoute)
        assert "4HP" in inputs(one)
        assert opened.check.damage == one.damage


# One step up


async def test_who_owns_nothing_begins_with_one_new_thing(finder: RouteFinder) -> None:
    found = up(await finder.next(HERE, "5MP", EVENT))
    assert found.owned == 0
    assert len(found.step.new) == 1
    assert found.step.instead_of is None
    assert found.opened.check.works
    assert found.opened.subject_id
    assert not dict(found.opened.check.spent).get("glow")


async def test_the_next_route_adds_one_thing_to_what_is_owned(finder: RouteFinder, bench: Bench) -> None:
    await land(bench, link("5MP, 2MP"))
    await land(bench, route("5MP, 2MP xx 236HP"))
    await land(bench, link("5MP, 5LP"), landed=30)  # not owned
    await land(bench, link("5MP, 5MP", MIRREL))  # of another character
    await bench.log(Tally(Subject("Saltglass", "", SubjectKind.DRILL, "block"), NOW, 60, 60))
    found = up(await finder.next(HERE, "5MP", EVENT))
    assert found.owned == 2
    assert len(found.step.new) == 1
    assert found.step.instead_of is not None
    assert format_route(found.step.instead_of) == "5MP, 2MP xx 236HP"
    assert found.step.gain_damage > 0
    owned = {("5MP", "2MP", Means.LINK), ("2MP", "236HP", Means.CANCEL)}
    assert not owned & set(found.step.new)
    first, second, means = found.step.new[0]
    steps = found.step.route.route.steps
    joints = {(a.move.input, b.move.input, b.joined) for a, b in pairwise(steps)}
    assert (first, second, means) in joints
    assert joints - {(first, second, means)} <= owned


async def test_a_tally_that_was_taken_out_owns_nothing(finder: RouteFinder, bench: Bench) -> None:
    made = Tally(link("5MP, 2MP"), NOW - timedelta(hours=1), 60, 60)
    kept = await bench.log(made)
    assert up(await finder.next(HERE, "5MP", EVENT)).owned == 1
    await bench.undo(kept)
    assert up(await finder.next(HERE, "5MP", EVENT)).owned == 0


async def test_a_lesson_has_routes_to_choose_from_and_the_next_one_up(
    finder: RouteFinder, bench: Bench
) -> None:
    await land(bench, link("5MP, 2MP"))
    lesson = await finder.learn(HERE, "5MP", EVENT)
    assert isinstance(lesson, Lesson)
    assert 1 <= len(lesson.finding.choices) <= 3
    assert up(lesson.next).owned == 1
    shown = await finder.learn(HERE, "5MP", EVENT, own_hands=False)
    assert isinstance(shown, Lesson)
    assert shown.next is None
    assert shown.finding.hands.tries == 0


# What is typed of gauges


@pytest.mark.parametrize(
    ("typed", "amounts"),
    [
        ("", {}),
        ("full", {}),
        ("none", {"glow": 0, "salt": 0}),
        ("None", {"glow": 0, "salt": 0}),
        ("salt 50", {"salt": 50}),
        ("salt: 50", {"salt": 50}),
        ("50 salt", {"salt": 50}),
        ("Salt 120, glow 0", {"salt": 120, "glow": 0}),
        ("40 salt and 100 glow", {"salt": 40, "glow": 100}),
    ],
)
def test_amounts_of_gauges_are_read_as_members_write_them(typed: str, amounts: dict[str, int]) -> None:
    assert read_gauges(demo("saltglass"), typed) == amounts


@pytest.mark.parametrize(
    "typed",
    [
        "salt" * 2_000,
        "!" * 6_000,
        "salt",
        "50",
        "pepper 50",
        "salt fifty",
        "salt 50 glow 3",
        ",",
        "salt -5 0",
    ],
)
def test_what_is_no_amount_of_a_gauge_is_refused(typed: str) -> None:
    assert refused(read_gauges(demo("saltglass"), typed)) is LogRefusalCode.NO_GAUGE
