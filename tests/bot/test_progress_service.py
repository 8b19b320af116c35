"""Progress as a member asks about it: rates, weeks, what is owned, and the goal."""

from __future__ import annotations

from collections.abc import AsyncIterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from inline import HERE, Bench, bench_at, drill, link, route

from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.practice import (
    Overview,
    PracticeRefusal,
    PracticeRefusalCode,
    SubjectProgress,
    WeekPoint,
)
from bot.results.tally import MemberSettings, ServerSettings, Subject, Tally
from bot.services.progress import ProgressService, read_goal
from core.learning.calendar import Row, Standing, Week
from core.learning.contexts import GapCode
from core.learning.rates import Rate, TooFew, interval, measure
from core.learning.spacing import When
from core.learning.tally import Context

NOW = datetime(2026, 1, 14, 20, tzinfo=UTC)
LINK = link("5MP, 2MP")


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        await bench.book.set_member(HERE.owner, MemberSettings(character="Odrun Vale"))
        yield bench


@pytest.fixture
def service(bench: Bench) -> ProgressService:
    return ProgressService(bench.store, bench.desk, bench.book, bench.clock)


def at(moment: str) -> datetime:
    return datetime.fromisoformat(moment).replace(tzinfo=UTC)


def tally(
    tries: int, landed: int, when: datetime = NOW, context: Context = Context.TRAINING, what: Subject = LINK
) -> Tally:
    return Tally(what, when, tries, landed, context=context)


def point(week: Week, tries: int, landed: int, in_match: bool = False) -> WeekPoint:
    return WeekPoint(week, in_match, tries, landed, *interval(landed, tries))


def one(found: object) -> SubjectProgress:
    assert isinstance(found, SubjectProgress), found
    return found


def overview(found: object) -> Overview:
    assert isinstance(found, Overview), found
    return found


def refused(found: object, code: PracticeRefusalCode) -> PracticeRefusal:
    assert isinstance(found, PracticeRefusal), found
    assert found.code is code
    return found


async def test_rates_stand_by_context_and_training_beside_matches(
    bench: Bench, service: ProgressService
) -> None:
    await bench.log(tally(40, 32))
    await bench.log(tally(20, 18))
    await bench.log(tally(10, 3, context=Context.RANKED))
    await bench.log(tally(10, 2, context=Context.TOURNAMENT))
    await bench.log(tally(4, 1, context=Context.SPARRING))
    found = one(await service.of(HERE, "5MP, 2MP"))
    assert found.by_context[Context.TRAINING] == measure(50, 60)
    assert found.by_context[Context.RANKED] == measure(3, 10)
    assert found.by_context[Context.SPARRING] == TooFew(1, 4)
    assert found.by_context[Context.REACTION] == TooFew(0, 0)
    assert found.gap.code is GapCode.DROPS_IN_MATCHES
    assert found.gap.match == measure(5, 20)
    assert found.tallies == 5
    assert (found.subject, found.last_day, found.next) == (LINK, date(2026, 1, 14), None)


async def test_old_tallies_count_less_in_the_recent_rate(bench: Bench, service: ProgressService) -> None:
    await bench.log(tally(50, 10, NOW - timedelta(days=200)))
    await bench.log(tally(50, 40, NOW - timedelta(hours=2)))
    recent = one(await service.of(HERE, "5MP, 2MP")).recent
    assert isinstance(recent, Rate)
    assert recent.share > 0.55
    assert recent.tries < 100


@pytest.mark.parametrize(("goal", "owned"), [(0.8, True), (0.9, False)])
async def test_a_link_is_owned_when_the_lower_bound_passes_the_member_s_goal(
    bench: Bench, service: ProgressService, goal: float, owned: bool
) -> None:
    # Wilson's 95 % interval of 95 of 100 begins at .888.
    await bench.log(tally(100, 95))
    assert await service.set_goal(HERE, f"{goal}", 1) == goal
    found = one(await service.of(HERE, "5MP, 2MP"))
    assert (found.ownership.owned, found.ownership.goal) == (owned, goal)
    (line,) = overview(await service.of(HERE, None)).practised
    assert line.owned is owned


WEEKS = [
    # 2026-01-01 is a Thursday: the week that began on Monday, 2025-12-29, is the first of 2026 (ISO 8601).
    ("UTC", "2025-12-28T23:30", Week(2025, 52)),
    ("UTC", "2025-12-29T00:30", Week(2026, 1)),
    ("UTC", "2026-01-04T23:30", Week(2026, 1)),
    ("UTC", "2026-01-05T00:00", Week(2026, 2)),
    # Sunday 23:30 in UTC is Monday in Tokyo; Monday 03:00 in UTC is Sunday in New York.
    ("Asia/Tokyo", "2025-12-28T23:30", Week(2026, 1)),
    ("America/New_York", "2025-12-29T03:00", Week(2025, 52)),
]


@pytest.mark.parametrize(("zone", "moment", "week"), WEEKS)
async def test_a_tally_stands_in_the_iso_week_of_the_server_s_zone(
    bench: Bench, service: ProgressService, zone: str, moment: str, week: Week
) -> None:
    await bench.book.set_server(1, ServerSettings(zone=zone))
    await bench.log(tally(10, 7, at(moment)))
    assert one(await service.of(HERE, "5MP, 2MP")).points == (point(week, 10, 7),)
    assert overview(await service.of(HERE, None)).points == (point(week, 10, 7),)


async def test_weeks_over_a_year_s_end_are_added_up_training_and_matches_apart(
    bench: Bench, service: ProgressService
) -> None:
    await bench.log(tally(10, 4, at("2025-12-28T12:00")))
    await bench.log(tally(10, 6, at("2025-12-30T12:00")))
    await bench.log(tally(20, 15, at("2026-01-03T12:00")))
    await bench.log(tally(3, 1, at("2026-01-02T12:00"), Context.RANKED))
    await bench.log(tally(2, 0, at("2026-01-04T12:00"), Context.TOURNAMENT))
    await bench.log(tally(30, 30, at("2026-01-03T13:00"), Context.SPARRING))
    await bench.log(tally(30, 30, at("2026-01-03T13:00"), Context.REACTION))
    await bench.log(tally(5, 5, at("2026-01-05T12:00"), Context.RANKED))
    assert one(await service.of(HERE, "5MP, 2MP")).points == (
        point(Week(2025, 52), 10, 4),
        point(Week(2026, 1), 30, 21),
        point(Week(2026, 1), 5, 1, in_match=True),
        point(Week(2026, 2), 5, 5, in_match=True),
    )


async def test_the_next_practice_is_a_sixth_of_the_way_to_the_named_date(
    bench: Bench, service: ProgressService
) -> None:
    # 24 days from the last practice: 4 days on, 20 are left, of which 4 are 20 % (Cepeda et al. 2008).
    await bench.log(tally(10, 7, at("2026-01-13T12:00")))
    for what in ("5MP, 2MP", None):
        found = await service.of(HERE, what, "2026-02-06")
        assert isinstance(found, SubjectProgress | Overview)
        assert found.next is not None
        assert (found.next.code, found.next.day, found.next.left_days) == (
            When.SPACED,
            date(2026, 1, 17),
            20,
        )


@pytest.mark.parametrize(
    ("typed", "code"),
    [("some day", PracticeRefusalCode.NO_DATE), ("2026-01-13", PracticeRefusalCode.DATE_OVER)],
)
async def test_a_date_that_is_none_or_over_is_refused(
    bench: Bench, service: ProgressService, typed: str, code: PracticeRefusalCode
) -> None:
    await bench.log(tally(10, 7))
    assert refused(await service.of(HERE, "5MP, 2MP", typed), code).facts["typed"] == typed


async def test_today_is_the_day_of_the_server_s_zone(bench: Bench, service: ProgressService) -> None:
    await bench.log(tally(10, 7, NOW - timedelta(days=3)))
    assert isinstance(await service.of(HERE, None, "2026-01-14"), Overview)
    await bench.book.set_server(1, ServerSettings(zone="Asia/Tokyo"))
    refused(await service.of(HERE, None, "2026-01-14"), PracticeRefusalCode.DATE_OVER)


async def test_the_overview_lists_what_is_practised_the_latest_first(
    bench: Bench, service: ProgressService
) -> None:
    combo, words = route("5MP, 2MP xx 236HP"), drill("anti-airs on reaction")
    await bench.log(tally(12, 6, at("2026-01-12T12:00"), what=combo))
    await bench.log(tally(3, 0, at("2026-01-05T12:00"), Context.RANKED, combo))
    await bench.log(tally(10, 9, at("2026-01-13T12:00")))
    await bench.log(tally(5, 5, at("2026-01-11T12:00"), what=words))
    found = overview(await service.of(HERE, None))
    assert [(line.subject, line.tries, line.match_tries, line.last_day) for line in found.practised] == [
        (LINK, 10, 0, date(2026, 1, 13)),
        (combo, 15, 3, date(2026, 1, 12)),
        (words, 5, 0, date(2026, 1, 11)),
    ]
    assert isinstance(found.practised[0].recent, Rate)
    assert isinstance(found.practised[2].recent, TooFew)
    assert found.tries == 30
    assert found.days == Row(3, 3, 4, Standing.OPEN)
    assert found.weeks == Row(2, 2, 2, Standing.KEPT)
    assert found.goal == 0.8
    assert found.game.name == "Saltglass"


async def test_another_game_counts_for_the_rows_of_days_alone(bench: Bench, service: ProgressService) -> None:
    other = Subject("Kitewind", "Ossily Fenn", LINK.kind, "5X, 5M")
    await bench.log(tally(10, 5, NOW - timedelta(days=1), what=other))
    refused(await service.of(HERE, None), PracticeRefusalCode.NO_TALLIES)
    await bench.log(tally(10, 5))
    found = overview(await service.of(HERE, None))
    assert ([line.subject for line in found.practised], found.tries) == ([LINK], 10)
    assert found.points == (point(Week(2026, 3), 10, 5),)
    assert found.days.now == 2


async def test_what_was_never_logged_or_undone_again_is_not_practised(
    bench: Bench, service: ProgressService
) -> None:
    refused(await service.of(HERE, None), PracticeRefusalCode.NO_TALLIES)
    code = PracticeRefusalCode.NOT_PRACTISED
    assert refused(await service.of(HERE, "5MP, 2MP"), code).facts["what"] == "5MP, 2MP"
    kept = await bench.log(tally(10, 5))
    one(await service.of(HERE, "5MP, 2MP"))
    await bench.undo(kept)
    refused(await service.of(HERE, "5MP, 2MP"), code)
    refused(await service.of(HERE, None), PracticeRefusalCode.NO_TALLIES)


async def test_an_undone_tally_counts_for_nothing(bench: Bench, service: ProgressService) -> None:
    await bench.log(tally(20, 10))
    await bench.undo(await bench.log(tally(500, 0)))
    found = one(await service.of(HERE, "5MP, 2MP"))
    assert found.by_context[Context.TRAINING] == measure(10, 20)
    assert overview(await service.of(HERE, None)).tries == 20


async def test_nobody_else_s_practice_is_told(bench: Bench, service: ProgressService) -> None:
    await bench.log(tally(20, 10))
    for other in (Place(1, 10, 101), Place(2, 10, 100), Place(None, 10, 100)):
        refused(await service.of(other, None), PracticeRefusalCode.NO_TALLIES)
        refused(await service.of(other, "Odrun's 5MP, 2MP"), PracticeRefusalCode.NOT_PRACTISED)


async def test_a_drill_is_found_by_its_words(bench: Bench, service: ProgressService) -> None:
    words = drill("anti-airs on reaction")
    await bench.log(tally(12, 6, what=words))
    assert one(await service.of(HERE, "anti-airs on reaction")).subject == words


async def test_what_cannot_be_read_is_refused_as_in_logging(service: ProgressService) -> None:
    assert isinstance(await service.of(HERE, "5MP, 9XQ"), LogRefusal)


@pytest.mark.parametrize(
    ("typed", "goal"),
    [
        ("80", 0.8),
        ("80 %", 0.8),
        ("80%", 0.8),
        (" 0.8 ", 0.8),
        (".75", 0.75),
        ("50", 0.5),
        ("99 %", 0.99),
        ("66.5 %", 0.665),
        ("49.9", None),
        ("99.5", None),
        ("100 %", None),
        ("1", None),
        ("0.8 %", None),
        ("0.4", None),
        ("-80", None),
        ("8O", None),
        ("", None),
        ("eighty", None),
        ("nan", None),
    ],
)
def test_a_goal_is_a_rate_from_50_to_99_percent(typed: str, goal: float | None) -> None:
    found = read_goal(typed)
    assert found == (None if goal is None else pytest.approx(goal))


async def test_a_goal_is_kept_and_a_wrong_one_changes_nothing(bench: Bench, service: ProgressService) -> None:
    assert await service.set_goal(HERE, "70 %", 5) == pytest.approx(0.7)
    assert (
        refused(await service.set_goal(HERE, "all", 6), PracticeRefusalCode.NO_GOAL).facts["typed"] == "all"
    )
    settings = bench.book.member(HERE.owner)
    assert settings.goal == pytest.approx(0.7)
    assert settings.character == "Odrun Vale"
    assert bench.book.goal(Place(1, 10, 101).owner) == 0.8
