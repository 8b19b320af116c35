"""Letting time go by in the room, so that what is due is done at its own time."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial

import simcord

from bot.room.world import RoomClock
from bot.services.jobs import JobService
from bot.services.retention import JOB as RETENTION

SHORTLY_AFTER = timedelta(seconds=5)
"""What comes has come by then."""
UNSEEN = (RETENTION,)
"""Kinds of jobs of which nobody is told."""
RETRY_SECONDS = 0.05


@dataclass(frozen=True, slots=True)
class Passing:
    """The room's time, as its terminal moves it."""

    env: simcord.Env
    clock: RoomClock
    jobs: JobService

    async def by(self, duration: timedelta) -> None:
        """Let so much time go by, in leaps to what is due on the way: the simulator allows so long for all
        that a leap sets going."""
        end = self.clock.now() + duration
        seen: datetime | None = None
        while (due := await self.jobs.next_due()) is not None and due < end and due != seen:
            await self._to(due + SHORTLY_AFTER)
            seen = due  # one that still waits will not be done by waiting for it again
        await self._to(end)

    async def to_next(self) -> bool:
        """Let time go by until shortly after what is due next and can be seen; False where nothing such
        waits."""
        due = await self.jobs.next_due(UNSEEN)
        if due is not None:
            await self.by(due + SHORTLY_AFTER - self.clock.now())
        return due is not None

    async def _to(self, moment: datetime) -> None:
        moment = max(moment, self.clock.now())
        self.clock.hand_over()
        await in_turn(partial(self.env.advance_time, max((moment - self.env.now()).total_seconds(), 0.0)))


async def in_turn(act: Callable[[], Awaitable[None]]) -> None:
    """Do it when nothing that was clicked on the page is still being handled."""
    while True:
        try:
            return await act()
        except simcord.SetupError as error:
            if "overlaps" not in str(error):
                raise
        await asyncio.sleep(RETRY_SECONDS)
