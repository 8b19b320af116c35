"""A scheduler on a clock that is moved by hand, and what it did."""

from __future__ import annotations

from datetime import datetime, timedelta

from scheduling import HandTime
from stored import NOW

from bot.results.job import Job
from bot.scheduler import scheduler as module
from bot.scheduler.scheduler import Scheduler
from bot.services.jobs import JobService
from bot.storage import jobs as rows
from bot.storage.store import Store

MINUTE = timedelta(minutes=1)
Did = list[tuple[str, timedelta]]


def job(key: str, minutes: float = 0, kind: str = "note") -> Job:
    return Job(key, kind, NOW + minutes * MINUTE)


class Bench:
    """A scheduler whose handler notes what it did, and when it was late by how much."""

    def __init__(self, store: Store, time: HandTime, did: Did | None = None) -> None:
        self.store = store
        self.time = time
        self.did: Did = [] if did is None else did
        self.jobs = JobService(store, time)
        self.handlers: dict[str, module.Handler] = {"note": self.note}
        self.scheduler = Scheduler(self.jobs, time, self.handlers, time)

    async def note(self, job: Job, late_by: timedelta) -> None:
        self.did.append((job.key, late_by))

    async def add(self, *added: Job) -> None:
        async with self.store.write() as writing:
            for each in added:
                await self.jobs.add(writing, each)

    async def start(self) -> None:
        self.scheduler.start()
        await self.time.pass_by()

    @property
    def keys(self) -> list[str]:
        return [key for key, _ in self.did]


async def left(store: Store) -> datetime | None:
    async with store.read() as reading:
        return await rows.earliest(reading)
