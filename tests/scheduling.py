"""A clock and timers that are moved by hand, and a channel that keeps what is posted."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextvars import Context, copy_context
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from stored import NOW


@dataclass(eq=False, slots=True)
class HandTimer:
    """A callback at a moment of `HandTime`, in seconds since it began, in the context in which it was set, as
    an event loop has it."""

    at: float
    callback: Callable[[], object]
    waiting: bool = True
    context: Context = field(default_factory=copy_context)

    def cancel(self) -> None:
        self.waiting = False


class HandTime:
    """A clock that stands still, and the timers that count on another one, which cannot be set: as a machine
    has both."""

    def __init__(self) -> None:
        self.passed = 0.0
        self.set_by = timedelta()
        self._timers: list[HandTimer] = []

    def now(self) -> datetime:
        return NOW + timedelta(seconds=self.passed) + self.set_by

    def call_later(self, delay: float, callback: Callable[[], object]) -> HandTimer:
        timer = HandTimer(self.passed + delay, callback)
        self._timers.append(timer)
        return timer

    @property
    def waiting(self) -> list[HandTimer]:
        return sorted((timer for timer in self._timers if timer.waiting), key=lambda timer: timer.at)

    async def pass_by(self, **duration: float) -> None:
        """Let so much time pass (arguments of timedelta), ringing each timer at its moment."""
        end = self.passed + timedelta(**duration).total_seconds()
        while (first := next(iter(self.waiting), None)) is not None and first.at <= end:
            self.passed = max(self.passed, first.at)
            await self._ring(first)
        self.passed = end

    async def jump(self, **duration: float) -> None:
        """Let so much time pass in which nothing rings: what should have rings at the end of it."""
        self.passed += timedelta(**duration).total_seconds()
        await self.pass_by()

    async def _ring(self, timer: HandTimer) -> None:
        timer.cancel()
        timer.context.run(timer.callback)
        await settled()


async def settled() -> None:
    """Waits until no scheduler is at work; what ended one is raised."""
    while working := [task for task in asyncio.all_tasks() if task.get_name() == "scheduler"]:
        await asyncio.gather(*working)


@dataclass(slots=True)
class Channels:
    """What was posted: (channel, marker, content), the number of each being its place, from 1."""

    posted: list[tuple[int, str, str]] = field(default_factory=list)
    looked_since: list[datetime] = field(default_factory=list)

    async def post(self, channel_id: int, marker: str, content: str) -> int:
        self.posted.append((channel_id, marker, content))
        return len(self.posted)

    async def find(self, channel_id: int, marker: str, since: datetime) -> int | None:
        self.looked_since.append(since)
        found = [number for number, each in enumerate(self.posted, 1) if each[:2] == (channel_id, marker)]
        return found[0] if found else None

    @property
    def contents(self) -> list[str]:
        return [content for _, _, content in self.posted]
