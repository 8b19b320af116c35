"""What a wake of the scheduler costs with many jobs that wait, beside few: the aim (step 6) is the same.

Each figure is the best of several rounds, those of the sizes in turn. TMPDIR says which disk is measured.
"""

from __future__ import annotations

import asyncio
import tempfile
import time
from collections.abc import Awaitable, Callable
from datetime import timedelta
from functools import partial
from itertools import count
from pathlib import Path

from benchmarks.figures import Figure, beside, ratio_at_most
from databases import new_database
from scheduling import HandTime, settled
from sqlalchemy import insert
from stored import NOW

from bot.results.job import Job
from bot.scheduler.scheduler import Scheduler
from bot.services.jobs import JobService
from bot.storage import schema
from bot.storage.store import Store

SIZES = (10, 1_000, 100_000)
ROUNDS, TIMES, BACKLOG = 40, 20, 200
AHEAD = timedelta(days=30)
SAME = ratio_at_most(1.1)
"""Within a tenth: by so much the best rounds of one size differ from run to run."""


class Measured:
    """A scheduler on a database of its own in which so many jobs wait, a second after each other."""

    def __init__(self, folder: Path, waiting: int) -> None:
        folder.mkdir()
        self.store = Store(new_database(folder))
        self.time = HandTime()
        self.jobs = JobService(self.store, self.time)
        self.scheduler = Scheduler(self.jobs, self.time, {"nothing": self._nothing}, self.time)
        self.waiting = waiting
        self.numbers = count()

    async def _nothing(self, _job: Job, _late_by: timedelta) -> None:
        pass

    async def open(self) -> None:
        await self.store.open()
        moments = ((number, NOW + AHEAD + timedelta(seconds=number)) for number in range(self.waiting))
        waiting = [
            {"key": f"waits {number}", "kind": "nothing", "due_at": at, "payload": "{}", "attempts": 0}
            for number, at in moments
        ]
        async with self.store.write() as writing:
            await writing.connection.execute(insert(schema.job), waiting)
        self.scheduler.start()
        await self.time.pass_by()

    async def wake(self) -> None:
        """Nothing is due: look, and set the timer."""
        (timer,) = self.time.waiting
        timer.cancel()
        timer.callback()
        await settled()

    async def add(self) -> None:
        async with self.store.write() as writing:
            key = f"added {next(self.numbers)}"
            await self.jobs.add(writing, Job(key, "nothing", NOW + timedelta(days=1)))

    async def add_and_do(self) -> None:
        """A job that is due at once: added, woken for, claimed, done; and the timer set again."""
        async with self.store.write() as writing:
            await self.jobs.add(writing, Job(f"added {next(self.numbers)}", "nothing", NOW))
        await self.wake()

    async def backlog(self, jobs: int) -> None:
        """What became due in a downtime: added in one transaction, done one after the other."""
        async with self.store.write() as writing:
            for _ in range(jobs):
                await self.jobs.add(writing, Job(f"added {next(self.numbers)}", "nothing", NOW))
        await self.wake()


async def ms(job: Callable[[], Awaitable[None]], times: int) -> float:
    """Milliseconds of one run."""
    started = time.perf_counter()
    for _ in range(times):
        await job()
    return (time.perf_counter() - started) / times * 1000


async def measure(folder: Path, tiny: bool) -> list[Figure]:
    """Of each size beside the smallest."""
    sizes = (1, 10) if tiny else SIZES
    rounds, times, backlog = (1, 1, 2) if tiny else (ROUNDS, TIMES, BACKLOG)
    benches = [Measured(folder / str(size), size) for size in sizes]
    for bench in benches:
        await bench.open()
    made = []
    for name, what, of, repeats, jobs in (
        ("wake", "waking with nothing due", Measured.wake, times, 1),
        ("add", "adding a job for later", Measured.add, times, 1),
        ("do", "adding a job, waking and doing it", Measured.add_and_do, times, 1),
        (
            "backlog",
            f"each of {backlog} jobs of a backlog",
            partial(Measured.backlog, jobs=backlog),
            1,
            backlog,
        ),
    ):
        best = [float("inf")] * len(benches)
        for _ in range(rounds if jobs == 1 else min(3, rounds)):
            for place, bench in enumerate(benches):
                best[place] = min(best[place], await ms(partial(of, bench), repeats) / jobs)
        aim = SAME if name in ("wake", "do") else None
        for size, found in list(zip(sizes, best, strict=True))[1:]:
            said = f"{what} while {size:,} wait, beside {sizes[0]}"
            made.append(beside(f"scheduler.{name}_{size}", said, found, best[0], aim=aim))
    for bench in benches:
        await bench.scheduler.stop()
        await bench.store.close()
    return made


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of the scheduler."""
    with tempfile.TemporaryDirectory() as name:
        return tuple(asyncio.run(measure(Path(name), tiny)))
