"""Work that is due at some moment: added where it is decided on, and taken by whoever does it."""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import datetime, timedelta
from uuid import uuid4

from bot.ports import Clock
from bot.results.job import Claim, Job
from bot.storage import jobs as stored
from bot.storage.store import Store, Writing

LEASE = timedelta(minutes=3)
"""How long a job is its claimer's: after a crash, so much later it is done by another."""
FIRST_REST = timedelta(minutes=1)
LONGEST_REST = timedelta(hours=1)
MOST_FAILURES = 30
"""With the rests between them more than a day."""
KEPT_DONE = timedelta(days=30)


def rest_after(failures: int) -> timedelta:
    """How long a job rests that failed so often: each time twice as long, and never long.

    >>> [rest_after(failures) // timedelta(minutes=1) for failures in (1, 2, 3, 20)]
    [1, 2, 4, 60]
    """
    return min(FIRST_REST * 2.0 ** (failures - 1), LONGEST_REST)


class JobService:
    """Jobs are rows: what was added is done, whatever happens to the process in between."""

    def __init__(self, store: Store, clock: Clock) -> None:
        self._store = store
        self._clock = clock
        self._alarm: Callable[[datetime], None] | None = None

    def ring(self, alarm: Callable[[datetime], None]) -> None:
        """Have this called with the moment of each job that is added here."""
        self._alarm = alarm

    async def add(self, writing: Writing, job: Job) -> None:
        """Add a job in the transaction that decides on it, or move the one with its key; the very same again
        changes nothing, also where it was done."""
        await stored.add(writing, job)
        if self._alarm is not None:
            self._alarm(job.due_at)  # before the commit: whoever claims waits for the end of this transaction

    async def cancel(self, writing: Writing, key: str) -> bool:
        """Forget the job with this key; whether there was one. One that somebody is at goes on."""
        return await stored.cancel(writing, key)

    async def cancel_all(self, writing: Writing, prefix: str) -> int:
        """Forget all jobs whose keys begin so; how many there were."""
        return await stored.cancel_all(writing, prefix)

    async def next_due(self, leaving_out: Collection[str] = ()) -> datetime | None:
        """When the next job is due, or may be tried again, those of some kinds left out; None where none
        waits."""
        async with self._store.read() as reading:
            return await stored.earliest(reading, leaving_out)

    async def waiting(self) -> tuple[int, int]:
        """How many jobs are due by now and not done, and how many are to come."""
        async with self._store.read() as reading:
            return await stored.waiting(reading, self._clock.now())

    async def claim(self) -> tuple[Claim | None, datetime | None]:
        """Take the job that is due first, for LEASE; None where none is, with the moment of the next look."""
        async with self._store.write_beside() as writing:
            taken = await stored.claim(writing, uuid4().hex, self._clock.now(), LEASE)
            if taken:
                return taken[0], None
            return None, await stored.earliest(writing)

    async def done(self, claimed: Claim) -> bool:
        """Note that it is done; False where it is no longer the claimer's."""
        now = self._clock.now()
        async with self._store.write() as writing:
            await stored.prune(writing, now - KEPT_DONE)
            return await stored.done(writing, claimed, now)

    async def failed(self, claimed: Claim) -> datetime | None:
        """Note that it failed, and until when it rests; None where it has failed too often, and is given
        up."""
        now = self._clock.now()
        retry_at = now + rest_after(claimed.failures + 1)
        async with self._store.write() as writing:
            if claimed.failures + 1 >= MOST_FAILURES:
                await stored.given_up(writing, claimed, now)
                return None
            await stored.failed(writing, claimed, retry_at)
        return retry_at
