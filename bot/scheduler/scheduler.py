"""Doing jobs when they are due: one timer, to the earliest, and no task that waits."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Mapping
from contextvars import copy_context
from datetime import datetime, timedelta
from enum import StrEnum

from bot.ports import Clock, StorageError, Timer, Timers
from bot.results.job import Claim, Handler, Job
from bot.services.jobs import LEASE, JobService

LONGEST_SLEEP_SECONDS = 6 * 3600.0
"""A timer counts the time that the machine is awake, and the clock may be set: we look again before long."""
HANDLER_SECONDS = LEASE.total_seconds() - 60
"""A handler is ended before another process may take its job; the minute is for clocks that differ."""
AFTER_TROUBLE_SECONDS = 60.0
FINISH_SECONDS = 10.0

log = logging.getLogger(__name__)


class Ended(StrEnum):
    """How a try at a job ended; what failed is tried again, what is given up is not."""

    DONE = "done"
    FAILED = "failed"
    GIVEN_UP = "given up"


class Scheduler:
    """Does one job after the other, in the order in which they are due. Several schedulers, in processes of
    their own, may share one database. `handlers`: by the kind of job."""

    def __init__(
        self,
        jobs: JobService,
        clock: Clock,
        handlers: Mapping[str, Handler],
        timers: Timers | None = None,
    ) -> None:
        self._jobs = jobs
        self._clock = clock
        self._handlers = handlers
        self._timers = timers
        self._timer: Timer | None = None
        self._rings_at: datetime | None = None
        self._pass: asyncio.Task[None] | None = None
        self._asked: datetime | None = None
        self._running = False
        self._context = copy_context()
        self._listeners: list[Callable[[str, Ended], None]] = []

    def listen(self, listener: Callable[[str, Ended], None]) -> None:
        """Have this called after each try at a job, with its kind."""
        self._listeners.append(listener)

    def start(self) -> None:
        """Do what is due, what became due while nobody was there first; then whatever becomes due. Called in
        the event loop, which does the waiting unless other timers were given."""
        self._timers = self._timers or asyncio.get_running_loop()
        self._context = copy_context()
        self._running = True
        self._jobs.ring(self.arm)
        self.arm(self._clock.now())

    def arm(self, at: datetime) -> None:
        """See to it that we look at this moment, or before."""
        if self._pass is not None:
            self._asked = min(self._asked or at, at)  # it may have looked already: see to it when it is over
        elif self._running:
            # Anew in any case: the clock may have been set. In our own context: a job is not done in that of
            # whoever added it.
            self._context.run(self._ring_at, min(at, self._rings_at or at))

    async def stop(self, seconds: float = FINISH_SECONDS) -> None:
        """Begin no other job, and let the one that is being done finish; after so many seconds it is given
        up, to be done later by whoever comes next."""
        self._running = False
        self._disarm()
        if self._pass is None:
            return
        end = asyncio.get_running_loop().call_later(seconds, self._pass.cancel)
        try:
            await asyncio.gather(self._pass, return_exceptions=True)
        finally:
            end.cancel()

    def _ring_at(self, at: datetime) -> None:
        assert self._timers is not None
        self._disarm()
        delay = (at - self._clock.now()).total_seconds()
        self._rings_at = at
        self._timer = self._timers.call_later(min(max(delay, 0.0), LONGEST_SLEEP_SECONDS), self._wake)

    def _disarm(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
        self._timer = self._rings_at = None

    def _wake(self) -> None:
        self._disarm()
        self._asked = None
        self._pass = asyncio.get_running_loop().create_task(self._do_due(), name="scheduler")

    async def _do_due(self) -> None:
        """Does all that is due, and arms the timer to what comes next."""
        next_at: datetime | None = None
        try:
            next_at = await self._work_off()
        except Exception as error:
            told = isinstance(error, StorageError)  # by the database itself
            log.log(
                logging.WARNING if told else logging.ERROR,
                "the scheduler could not go on, and tries again in %.0f s: %r",
                AFTER_TROUBLE_SECONDS,
                error,
                exc_info=not told,
            )
            next_at = self._clock.now() + timedelta(seconds=AFTER_TROUBLE_SECONDS)
        finally:
            self._pass = None
        asleep = self._clock.now() + timedelta(seconds=LONGEST_SLEEP_SECONDS)
        self.arm(min(next_at or asleep, self._asked or asleep))

    async def _work_off(self) -> datetime | None:
        """Does what is due until nothing is; when there is something again."""
        while self._running:
            claimed, next_at = await self._jobs.claim()
            if claimed is None:
                return next_at
            await self._do(claimed)
        return None

    async def _do(self, claimed: Claim) -> None:
        job = claimed.job
        late_by = max(self._clock.now() - job.due_at, timedelta())
        try:
            await self._handle(job, late_by)
        except Exception as error:
            retry_at = await self._jobs.failed(claimed)
            if retry_at is None:
                log.exception("job %s is given up: it failed %d times", job.key, claimed.failures + 1)
            else:
                log.warning("job %s failed, to be tried again at %s: %r", job.key, retry_at, error)
            self._tell(job, Ended.FAILED if retry_at else Ended.GIVEN_UP)
            return
        if not await self._jobs.done(claimed):
            log.info("job %s was moved, cancelled or taken by another while it was done", job.key)
        self._tell(job, Ended.DONE)

    def _tell(self, job: Job, ended: Ended) -> None:
        for listener in self._listeners:
            listener(job.kind, ended)

    async def _handle(self, job: Job, late_by: timedelta) -> None:
        """Has the job done. Raises TimeoutError where that takes too long."""
        handler = self._handlers.get(job.kind)
        if handler is None:
            raise LookupError(f"nobody does jobs of the kind {job.kind}")
        loop = asyncio.get_running_loop()
        work = asyncio.ensure_future(handler(job, late_by))
        end = loop.call_later(HANDLER_SECONDS, work.cancel)
        try:
            await work
        except asyncio.CancelledError:
            task = asyncio.current_task()
            if task is not None and task.cancelling():
                raise  # we are stopped, not the handler
            raise TimeoutError(f"its handler was ended, as it is after {HANDLER_SECONDS:.0f} s") from None
        finally:
            end.cancel()
