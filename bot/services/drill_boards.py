"""Group drills as their posts show them, and the steps of their lives that jobs take."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

from bot.ports import Clock
from bot.results.drills import DrillBoard, DrillEnd, DrillStage, KeptDrill
from bot.results.notice import NoticeKind
from bot.results.place import Owner
from bot.services.desk import AskDesk
from bot.services.drill_scores import board_of, read_rows, recap_of
from bot.services.drill_watch import DrillWatch
from bot.services.drill_weeks import (
    SHORTEST,
    call_off,
    plan_weekly,
    set_jobs,
    week_end,
)
from bot.services.jobs import JobService
from bot.services.notices import NoticeService
from bot.services.settings import SettingsBook
from bot.storage import drills as stored
from bot.storage import series as lists
from bot.storage.store import Store, Writing

LATE = timedelta(minutes=10)
"""From so late on it is said that the bot was away."""


class DrillBoards:
    """Every step may be taken again after a crash, and then gives the same."""

    def __init__(
        self,
        store: Store,
        desk: AskDesk,
        book: SettingsBook,
        clock: Clock,
        jobs: JobService,
        notices: NoticeService,
        watch: DrillWatch,
    ) -> None:
        self._store = store
        self._desk = desk
        self._book = book
        self._clock = clock
        self._jobs = jobs
        self._notices = notices
        self._watch = watch

    async def board(self, drill_id: int) -> DrillBoard | None:
        """A drill in any stage, also one that is over or cancelled: the stage says so. None where there is
        none of this number."""
        async with self._store.read() as reading:
            drill = await stored.get(reading, drill_id)
            if drill is None:
                return None
            rows = await read_rows(reading, drill)
        return await board_of(rows, self._desk, self._book.server_zone(drill.server_id))

    async def opening(self, drill_id: int) -> DrillBoard | None:
        """Open a drill, to be posted; None where it is cancelled, over or gone. One of a series that is
        opened late, and would be open for less than two days, runs a week longer."""
        async with self._store.write() as writing:
            drill = await stored.get(writing, drill_id)
            if drill is not None and drill.stage is DrillStage.PLANNED:
                drill = await self._open(writing, drill)
        if drill is None or drill.stage is not DrillStage.OPEN or drill.closes_at <= self._clock.now():
            return None
        self._watch.opened(drill)
        return await self.board(drill_id)

    async def closing(self, drill_id: int, late: timedelta) -> DrillEnd | None:
        """Close a drill that is at its end, and plan the next one of its series; None where it is cancelled,
        gone or moved, or was never opened. Of one that is over already it gives the same again, as its recap
        is to be now: with `late` of zero for changing the recap that stands."""
        now = self._clock.now()
        async with self._store.write() as writing:
            drill = await stored.get(writing, drill_id)
            if drill is None or (drill.stage is not DrillStage.CLOSED and drill.closes_at > now):
                return None
            if drill.stage in (DrillStage.PLANNED, DrillStage.OPEN):
                drill = await self._close(writing, drill, late)
            following = (
                await stored.weekly_after(writing, drill.server_id, drill.id) if drill.weekly else None
            )
        self._watch.closed(drill)
        if drill.stage is DrillStage.CANCELLED:
            return None
        async with self._store.read() as reading:
            rows = await read_rows(reading, drill)
            before = await stored.earlier_tallies(reading, drill.id)
        board = await board_of(rows, self._desk, self._book.server_zone(drill.server_id))
        return DrillEnd(board, await recap_of(rows, before, board.standings), following, late > LATE)

    async def open_drills(self, of: Callable[[int], bool] = lambda _: True) -> tuple[int, ...]:
        """All drills that are open, in the servers that `of` says yes to."""
        async with self._store.read() as reading:
            return tuple(drill.id for drill in await stored.all_open(reading) if of(drill.server_id))

    def touch(self, drill: KeptDrill) -> None:
        """The post of this drill shows what was read some time ago: it is to be refreshed."""
        self._watch.touch(drill.server_id, (drill.id,))

    async def lost(self, drill_id: int) -> None:
        """A drill, or its recap, could not be posted: whoever opened it is told, once."""
        async with self._store.write() as writing:
            drill = await stored.get(writing, drill_id)
            if drill is not None:
                await self._tell_lost(writing, drill)

    async def _open(self, writing: Writing, drill: KeptDrill) -> KeptDrill:
        now, zone = self._clock.now(), self._book.server_zone(drill.server_id)
        series = await lists.get(writing, drill.server_id) if drill.weekly else None
        late = now - drill.opens_at > LATE
        if series is not None and late and drill.closes_at - now < SHORTEST:
            drill = replace(drill, closes_at=week_end(series, now, zone))
        if drill.closes_at <= now:
            await call_off(writing, self._jobs, drill)
            await self._tell_lost(writing, drill)
            return replace(drill, stage=DrillStage.CANCELLED)
        drill = replace(drill, stage=DrillStage.OPEN)
        await stored.set_stage(writing, drill.id, drill.stage)
        await stored.set_times(writing, drill.id, drill.opens_at, drill.closes_at)
        await set_jobs(writing, self._jobs, drill)
        return drill

    async def _close(self, writing: Writing, drill: KeptDrill, late: timedelta) -> KeptDrill:
        """It is over, or was never opened and is cancelled; the next of its series is opened at once."""
        opened = drill.stage is DrillStage.OPEN
        drill = replace(drill, stage=DrillStage.CLOSED if opened else DrillStage.CANCELLED)
        await stored.set_stage(writing, drill.id, drill.stage)
        if not opened:
            await self._tell_lost(writing, drill)
        series = await lists.get(writing, drill.server_id) if drill.weekly else None
        if series is not None:
            now, zone = self._clock.now(), self._book.server_zone(drill.server_id)
            opens_at = now if late > LATE else drill.closes_at
            await plan_weekly(writing, self._jobs, series, opens_at, zone, now, drill.opened_by)
        return drill

    async def _tell_lost(self, writing: Writing, drill: KeptDrill) -> None:
        if drill.opened_by is not None:
            to = Owner(drill.server_id, drill.opened_by)
            # At a moment that is the same whenever this is called: the same notice again changes nothing.
            await self._notices.tell(writing, NoticeKind.DRILL_LOST, drill.id, to, drill.opens_at)
