"""Bringing something up to date soon after it changed, and not at each change: a post that many log under."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any

from bot.ports import StorageError, Timer, Timers, acting_for

FIRST_SECONDS = 1.5
"""After a change that comes alone: others may follow at once."""
EVERY_SECONDS = 10.0
"""From one refresh of something to its next; the platform takes few changes of a message in a row."""
MOST_RETRIES = 3
FINISH_SECONDS = 10.0

log = logging.getLogger(__name__)


@dataclass(slots=True)
class _Round:
    """Where something is between a change and its rest. `touched`: it changed since its last refresh began;
    `timer`: until a refresh may begin; `failures`: refreshes in a row that failed since it was touched."""

    touched: bool = True
    timer: Timer | None = None
    task: asyncio.Task[None] | None = None
    failures: int = 0


class Refresher:
    """Calls `refresh` with the numbers that were touched: soon, never twice at a time for one number, and for
    each at most once in EVERY_SECONDS. After the last touch there is a refresh that began later; one that
    fails for the database's sake is tried again for as long as that does. `timers`: the event loop's unless
    given."""

    def __init__(self, refresh: Callable[[int], Awaitable[None]], timers: Timers | None = None) -> None:
        self._refresh = refresh
        self._timers = timers
        self._rounds: dict[int, _Round] = {}
        self._at_once: set[asyncio.Task[Any]] = set()
        self._stopped = False

    def touch(self, number: int) -> None:
        """It changed. Called in the event loop; after `stop` nothing comes of it."""
        if self._stopped:
            return
        found = self._rounds.get(number)
        if found is None:
            found = self._rounds[number] = _Round()
            self._arm(number, found, FIRST_SECONDS)
        found.touched, found.failures = True, 0

    async def now(self, number: int) -> None:
        """Refresh it at once, or, where the database cannot be used, once it can. After `stop` nothing comes
        of it."""
        task = asyncio.current_task()
        if self._stopped or task is None:
            return
        self._at_once.add(task)
        try:
            await self._refresh(number)
        except StorageError:
            self.touch(number)
        finally:
            self._at_once.discard(task)

    async def stop(self) -> None:
        """Begin no refresh any more, and let those that run finish; after FINISH_SECONDS they are ended."""
        self._stopped = True
        for found in self._rounds.values():
            if found.timer is not None:
                found.timer.cancel()
        running: list[asyncio.Task[Any]] = [*self._at_once]
        running += [found.task for found in self._rounds.values() if found.task is not None]
        self._rounds.clear()
        ends = [asyncio.get_running_loop().call_later(FINISH_SECONDS, task.cancel) for task in running]
        try:
            await asyncio.gather(*running, return_exceptions=True)
        finally:
            for end in ends:
                end.cancel()

    def _arm(self, number: int, found: _Round, seconds: float) -> None:
        timers = self._timers or asyncio.get_running_loop()
        found.timer = timers.call_later(seconds, lambda: self._rested(number, found))

    def _rested(self, number: int, found: _Round) -> None:
        found.timer = None
        self._go_on(number, found)

    def _go_on(self, number: int, found: _Round) -> None:
        """Begin the next refresh, if there is to be one now."""
        if self._stopped or found.timer is not None or found.task is not None:
            return
        if not found.touched:
            del self._rounds[number]
            return
        found.touched = False
        self._arm(number, found, EVERY_SECONDS)
        found.task = asyncio.get_running_loop().create_task(self._run(number, found), name="refresh")

    async def _run(self, number: int, found: _Round) -> None:
        acting_for.set(None)  # whoever touched it has gone on
        try:
            await self._refresh(number)
            found.failures = 0
        except StorageError:  # which is in the log; once it works again, so does this
            found.touched = True
        except Exception as error:
            found.failures += 1
            if found.failures <= MOST_RETRIES:
                log.warning("number %d was not refreshed, to be tried again: %r", number, error)
                found.touched = True
            else:
                log.exception("number %d is not refreshed: it failed %d times", number, found.failures)
        finally:
            found.task = None
        self._go_on(number, found)
