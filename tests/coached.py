"""Coaches, students and homework as services over a real store, with the notices that wait."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import Any

from inline import HERE, Bench, InlineWorker, bench_at
from logged import service_of
from sqlalchemy import select

from bot.results.coaching import (
    Coaching,
    CoachRefusal,
    CoachRefusalCode,
    HomeworkAsked,
    HomeworkSet,
    HomeworkView,
    KeptHomework,
    TargetKind,
)
from bot.results.place import Place
from bot.services.coach_board import BoardService
from bot.services.coaching import CoachingService
from bot.services.homework import HomeworkService
from bot.services.homework_review import ReviewService
from bot.services.jobs import JobService
from bot.services.log import LogService
from bot.services.notices import NoticeService
from bot.services.privacy import PrivacyService
from bot.services.reminders import ReminderService
from bot.storage.schema import job

MONDAY = datetime(2026, 3, 2, 18, tzinfo=UTC)
"""The Monday on which the tests begin, at 18:00 UTC."""
COACH = replace(HERE, member_id=900)
OTHER_COACH = replace(HERE, member_id=901)
WREN, PELL, TAM = (replace(HERE, member_id=number) for number in (100, 101, 102))
"""Three members who may become students."""
ELSEWHERE = replace(COACH, server_id=2)
"""The coach, in another server."""
WHAT = "Odrun: 5MP, 2MP"
ROUTE = "Odrun: 5MP, 2MP xx 236HP"
CLEAN = HomeworkAsked(WHAT, TargetKind.CLEAN_REPS, 20, "in 3 days")


@dataclass
class School:
    """A server with coaches and students."""

    bench: Bench
    jobs: JobService
    notices: NoticeService
    log: LogService
    coaching: CoachingService
    homework: HomeworkService
    reviews: ReviewService
    boards: BoardService
    reminders: ReminderService
    privacy: PrivacyService
    _events: Any = field(default_factory=lambda: count(1_000))

    def event(self) -> int:
        """The id of an interaction that was not seen before."""
        return int(next(self._events))

    async def coached(self, student: Place = WREN, coach: Place = COACH) -> Coaching:
        """A student who accepted a coach."""
        asked = await self.coaching.ask(coach, student.member_id, self.event())
        assert isinstance(asked, Coaching), asked
        accepted = await self.coaching.answer(student, asked.id, True, self.event())
        assert isinstance(accepted, Coaching), accepted
        return accepted

    async def given(self, student: Place = WREN, coach: Place = COACH, **asked: Any) -> KeptHomework:
        """Homework of a student, as `CLEAN` but for what is named."""
        done = await self.homework.set(coach, [student.member_id], replace(CLEAN, **asked), self.event())
        assert isinstance(done, HomeworkSet), done
        return done.homework[0]

    async def handed_in(self, homework: KeptHomework, clip: str = "", student: Place = WREN) -> HomeworkView:
        """The homework, handed in."""
        return viewed(await self.homework.hand_in(student, homework.id, "", clip, self.event()))

    async def waiting(self) -> dict[str, tuple[int, datetime]]:
        """The notices that wait, by kind: their number and moment."""
        async with self.bench.store.read() as reading:
            query = select(job).where(job.c.done_at.is_(None)).order_by(job.c.id)
            found = (await reading.connection.execute(query)).all()
        told = ((json.loads(row.payload), row.due_at) for row in found)
        return {payload["kind"]: (payload["number"], due_at) for payload, due_at in told}


@asynccontextmanager
async def school_at(folder: Path, now: datetime = MONDAY) -> AsyncIterator[School]:
    """A school whose store is a new file of this folder."""
    async with bench_at(folder, now) as bench:
        jobs = JobService(bench.store, bench.clock)
        notices = NoticeService(jobs, bench.book, bench.clock)
        log = service_of(bench, InlineWorker())
        parts = (bench.store, bench.desk, bench.book, bench.clock)
        school = School(
            bench,
            jobs,
            notices,
            log,
            CoachingService(bench.store, bench.book, bench.clock, notices),
            HomeworkService(*parts, notices, log),
            ReviewService(*parts, notices),
            BoardService(*parts),
            ReminderService(bench.store, bench.book, bench.clock, notices),
            PrivacyService(bench.store, bench.book),
        )
        school.privacy.forget_with(school.coaching.drop)
        await school.coaching.load()
        yield school


def viewed(result: object) -> HomeworkView:
    assert isinstance(result, HomeworkView), result
    return result


def refusal(result: object) -> CoachRefusalCode:
    assert isinstance(result, CoachRefusal), result
    return result.code
