"""Quiet hours: the member's own, else the server's, else the usual ones."""

from __future__ import annotations

from collections.abc import AsyncIterator
from datetime import UTC, datetime, time
from pathlib import Path

import pytest
from coached import COACH, WREN, School, school_at

from bot.results.coaching import CoachRefusal, CoachRefusalCode
from bot.results.tally import MemberSettings, ServerSettings
from bot.services.reminders import NEVER
from core.learning.quiet import USUAL, Quiet

NIGHT = Quiet(time(17), time(20))
"""The school begins at 18:00, within them."""
OWN = Quiet(time(1), time(2))


@pytest.fixture
async def school(tmp_path: Path) -> AsyncIterator[School]:
    async with school_at(tmp_path) as school:
        yield school


async def asked_at(school: School) -> datetime:
    """When a member who is asked now is told."""
    await school.coaching.ask(COACH, WREN.member_id, school.event())
    return (await school.waiting())["coach-asks"][1]


async def choose(school: School, typed: str) -> ServerSettings | CoachRefusal:
    return await school.reminders.set_server_quiet(COACH, typed, school.event())


async def test_the_servers_hours_hold_for_who_chose_none(school: School) -> None:
    await choose(school, "17:00-20:00")
    assert school.bench.book.quiet(WREN.owner) == NIGHT
    assert await asked_at(school) == datetime(2026, 3, 2, 20, tzinfo=UTC)


async def test_a_members_own_hours_come_first(school: School) -> None:
    await choose(school, "17:00-20:00")
    await school.bench.book.set_member(WREN.owner, MemberSettings(quiet=OWN))
    assert school.bench.book.quiet(WREN.owner) == OWN
    assert await asked_at(school) == school.bench.clock.now()


async def test_a_member_who_wants_none_at_all_has_none(school: School) -> None:
    await choose(school, "17:00-20:00")
    await school.bench.book.set_member(WREN.owner, MemberSettings(quiet=NEVER))
    assert await asked_at(school) == school.bench.clock.now()


async def test_without_either_they_are_the_usual_ones(school: School) -> None:
    assert school.bench.book.quiet(WREN.owner) == USUAL


async def test_the_servers_hours_are_those_of_one_server_and_outlive_a_restart(school: School) -> None:
    await choose(school, "17-20")
    await school.bench.book.load()
    assert school.bench.book.server(1).quiet == NIGHT
    assert school.bench.book.server(2).quiet is None


async def test_off_is_at_no_hour_and_nothing_is_the_usual(school: School) -> None:
    await choose(school, "off")
    assert school.bench.book.server(1).quiet == NEVER
    assert await asked_at(school) == school.bench.clock.now()
    await choose(school, "  ")
    assert school.bench.book.server(1).quiet is None


@pytest.mark.parametrize("typed", ["at night", "25-26", "22:00", "22:00-", "-", "x" * 500])
async def test_what_are_no_hours_is_refused_and_changes_nothing(school: School, typed: str) -> None:
    await choose(school, "17-20")
    refused = await choose(school, typed)
    assert isinstance(refused, CoachRefusal)
    assert refused.code is CoachRefusalCode.BAD_QUIET
    assert school.bench.book.server(1).quiet == NIGHT


async def test_the_same_event_again_changes_nothing(school: School) -> None:
    await school.reminders.set_server_quiet(COACH, "17-20", 7)
    await school.reminders.set_server_quiet(COACH, "1-2", 7)
    assert school.bench.book.server(1).quiet == NIGHT
