"""Group drills as services over a real store, with the jobs that open and close them."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

from inline import HERE, Bench, InlineWorker, bench_at
from logged import service_of

from bot.results.drills import (
    DrillAsked,
    DrillBoard,
    DrillEnd,
    DrillEntry,
    DrillList,
    DrillPart,
    DrillRefusal,
    Exercise,
    KeptDrill,
    Series,
)
from bot.results.job import Job
from bot.results.place import Place
from bot.services.drill_boards import DrillBoards
from bot.services.drill_desk import DrillDesk
from bot.services.drill_judging import DrillJudging
from bot.services.drill_part import DrillPartService
from bot.services.drill_watch import DrillWatch
from bot.services.jobs import JobService
from bot.services.log import LogService
from bot.services.notices import NoticeService
from bot.services.privacy import PrivacyService
from core.drills.drill import Scoring

MONDAY = datetime(2026, 3, 2, 18, tzinfo=UTC)
"""The Monday on which the tests begin, at 18:00 UTC."""
CHANNEL = 55
COACH = replace(HERE, member_id=900)
WHAT = "Odrun: 5MP, 2MP"
OTHER_WHAT = "Mirrel: 5MP, 2MP"
DAY, HOUR = timedelta(days=1), timedelta(hours=1)


@dataclass
class Group:
    """A server with its drills. `touched`: the drills whose posts were to be refreshed, in order; `ends`:
    what was posted at their ends."""

    bench: Bench
    jobs: JobService
    watch: DrillWatch
    log: LogService
    desk: DrillDesk
    part: DrillPartService
    boards: DrillBoards
    judging: DrillJudging
    privacy: PrivacyService
    touched: list[int] = field(default_factory=list)
    ends: list[DrillEnd] = field(default_factory=list)
    told: list[tuple[str, int]] = field(default_factory=list)
    _events: Any = field(default_factory=lambda: count(1_000))

    def event(self) -> int:
        """The id of an interaction that was not seen before."""
        return int(next(self._events))

    async def open(self, scoring: Scoring = Scoring.TOTAL_CLEAN, days: int = 7, **asked: Any) -> KeptDrill:
        """A drill of Odrun's link that is open."""
        wanted = DrillAsked(**{"what": WHAT, "scoring": scoring} | asked)
        drill = await self.desk.open(COACH, wanted, CHANNEL, days, self.event())
        assert isinstance(drill, KeptDrill), drill
        await self.run()
        return drill

    async def tally(
        self, member_id: int, result: str, drill_id: int = 0, run: str = "", event_id: int | None = None
    ) -> int:
        """A tally that this member logs on a drill; its number."""
        entry = DrillEntry(result, run)
        done = await self.part.log(member(member_id), drill_id, entry, event_id or self.event())
        assert isinstance(done, tuple), done
        return done[0].kept.id

    async def board(self, drill: KeptDrill) -> DrillBoard:
        """The drill as its post shows it now."""
        board = await self.boards.board(drill.id)
        assert board is not None
        return board

    async def run(self) -> None:
        """Do what is due, as the scheduler does."""
        while True:
            claimed, _ = await self.jobs.claim()
            if claimed is None:
                return
            await self._do(claimed.job, self.bench.clock.now() - claimed.job.due_at)
            await self.jobs.done(claimed)

    async def go(self, by: timedelta) -> None:
        """Let time go by, with every job done at the moment at which it is due."""
        end = self.bench.clock.time + by
        while (due := await self.jobs.next_due()) is not None and due <= end:
            self.bench.clock.time = max(due, self.bench.clock.time)
            await self.run()
        self.bench.clock.time = end

    async def _do(self, job: Job, late: timedelta) -> None:
        match job.kind:
            case "drill-open":
                await self.boards.opening(job.payload["drill"])
            case "drill-close":
                end = await self.boards.closing(job.payload["drill"], late)
                if end is not None:
                    self.ends.append(end)
            case "notice":
                self.told.append((job.payload["kind"], job.payload["number"]))


def member(member_id: int, server_id: int = 1) -> Place:
    """Where this member speaks."""
    return Place(server_id, 10, member_id)


def part(result: object) -> DrillPart:
    assert isinstance(result, DrillPart), result
    return result


def refusal(result: object) -> str:
    """The code of a refusal."""
    assert isinstance(result, DrillRefusal), result
    return result.code.value


def order(board: DrillBoard) -> list[tuple[int | None, int]]:
    """The places of the standings, and whose they are."""
    return [(row.place, row.entry.member) for row in board.standings.rows]


async def plan(group: Group, *whats: str) -> None:
    """A list of drills for the series."""
    for what in whats:
        asked = DrillAsked(what, Scoring.TOTAL_CLEAN)
        assert isinstance(await group.desk.add(COACH, asked, group.event()), Exercise)


async def weekly(group: Group, weekday: int = 1, at: str = "18:00", channel: int = CHANNEL) -> KeptDrill:
    """A weekly series, and its drill."""
    started = await group.desk.start_weekly(COACH, channel, weekday, at, group.event())
    assert isinstance(started, tuple), started
    await group.run()
    assert isinstance(started[0], Series)
    return started[1]


async def live(group: Group) -> list[KeptDrill]:
    """The drills that are open."""
    found = await group.desk.listed(COACH)
    assert isinstance(found, DrillList), found
    return list(found.open)


async def the_open_one(group: Group) -> KeptDrill:
    (drill,) = await live(group)
    return drill


async def in_log(group: Group, member_id: int) -> list[int]:
    """What stands in a member's log."""
    return [kept.id for kept in (await group.log.listed(member(member_id))).tallies]


async def landed(group: Group, drill: KeptDrill) -> int:
    """The reps that count in a drill, of all."""
    return sum(entry.landed for entry in (await group.board(drill)).standings.entries)


@asynccontextmanager
async def group_at(folder: Path, now: datetime = MONDAY) -> AsyncIterator[Group]:
    """A server with nothing open."""
    async with bench_at(folder, now) as bench:
        yield await group_on(bench)


async def group_on(bench: Bench) -> Group:
    """The services of group drills on a bench, as after a start of the bot."""
    jobs, watch = JobService(bench.store, bench.clock), DrillWatch(bench.store)
    notices = NoticeService(jobs, bench.book, bench.clock)
    log = service_of(bench, InlineWorker())
    parts = (bench.store, bench.desk, bench.book, bench.clock)
    group = Group(
        bench,
        jobs,
        watch,
        log,
        DrillDesk(*parts, jobs, watch),
        DrillPartService(*parts, log, watch),
        DrillBoards(*parts, jobs, notices, watch),
        DrillJudging(bench.store, bench.book, bench.clock, notices, watch),
        PrivacyService(bench.store, bench.book),
    )
    watch.listen(group.touched.append)
    log.listen(watch.changed)
    group.privacy.listen(watch.touch)
    await watch.load()
    return group
