"""The handlers that are running: what they do and for whom, how they came out, and letting them finish before
the bot goes."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from time import perf_counter

from bot.ports import acting_for, may_be_stored

FINISH_SECONDS = 10.0
TYPING = "autocomplete "
"""So begin the actions that nobody waits for, and that come with each key that is pressed."""

log = logging.getLogger(__name__)


class Outcome(StrEnum):
    """How work came out. What a service declines, such as a move that is not there, is done: it was told."""

    DONE = "done"
    REFUSED = "refused"
    TURNED_AWAY = "turned away"
    FAILED = "failed"
    CANCELLED = "cancelled"


@dataclass(frozen=True, slots=True)
class Doing:
    """One piece of work. `action`: as the access table calls it, never what somebody wrote."""

    action: str
    server_id: int | None
    member_id: int


@dataclass(frozen=True, slots=True)
class Done:
    """A piece of work that is over."""

    doing: Doing
    outcome: Outcome
    seconds: float


@dataclass(slots=True)
class _Running:
    doing: Doing
    began_at: float
    outcome: Outcome = Outcome.DONE


class Work:
    """The tasks that answer somebody; each leaves a line in the log. `draining`: whoever comes now is turned
    away."""

    def __init__(self) -> None:
        self.draining = False
        self._running: dict[asyncio.Task[object], _Running] = {}
        self._listeners: list[Callable[[Done], None]] = []

    def listen(self, listener: Callable[[Done], None]) -> None:
        """Have this called with each piece of work that is over."""
        self._listeners.append(listener)

    def begin(self, doing: Doing) -> bool:
        """Count the task that calls this as work until it ends; False where it is to be turned away."""
        acting_for.set(doing.member_id)
        may_be_stored.set(False)
        task = asyncio.current_task()
        if task is not None and task not in self._running:
            self._running[task] = _Running(doing, perf_counter())
            task.add_done_callback(self._end)
        if self.draining:
            self.came_out(Outcome.TURNED_AWAY)
        return not self.draining

    def came_out(self, outcome: Outcome) -> None:
        """Note how the work of the task that calls this came out, where it was not done."""
        task = asyncio.current_task()
        running = None if task is None else self._running.get(task)
        if running is not None:
            running.outcome = outcome

    async def drain(self, seconds: float = FINISH_SECONDS) -> int:
        """Take no more work and wait for what runs, those who are turned away meanwhile included; how many
        are still running after `seconds`."""
        self.draining = True
        loop = asyncio.get_running_loop()
        end = loop.time() + seconds
        while (running := self._running.keys() - {asyncio.current_task()}) and loop.time() < end:
            await asyncio.wait(running, timeout=end - loop.time())
        return len(running)

    def _end(self, task: asyncio.Task[object]) -> None:
        running = self._running.pop(task)
        outcome = Outcome.CANCELLED if task.cancelled() else running.outcome
        done = Done(running.doing, outcome, perf_counter() - running.began_at)
        _write(done)
        for listener in self._listeners:
            listener(done)


def _write(done: Done) -> None:
    doing, duration_ms = done.doing, round(1000 * done.seconds, 1)
    where = "direct messages" if doing.server_id is None else f"server {doing.server_id}"
    log.log(
        logging.DEBUG if doing.action.startswith(TYPING) else logging.INFO,
        "%s: %s in %.0f ms, for member %d in %s",
        doing.action,
        done.outcome.value,
        duration_ms,
        doing.member_id,
        where,
        extra={
            "action": doing.action,
            "server": doing.server_id,
            "member": doing.member_id,
            "duration_ms": duration_ms,
            "outcome": done.outcome.value,
        },
    )
