"""What a wake of the scheduler costs with few jobs that wait and with many: the aim is the same.

Run by hand: `python tests/benchmarks/scheduler.py [FOLDER]`; FOLDER lies on the disk that is measured. Each
figure is the best of several rounds, those of the sizes in turn.
"""

from __future__ import annotations

import asyncio
import os
import sys
import tempfile
import time
from collections.abc import Awaitable, Callable
from datetime import timedelta
from itertools import count
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from scheduling import HandTime, settled  # noqa: E402
from sqlalchemy import insert  # noqa: E402
from stored import NOW, new_database  # noqa: E402

from bot.results.job import Job  # noqa: E402
from bot.scheduler.scheduler import Scheduler  # noqa: E402
from bot.services.jobs import JobService  # noqa: E402
from bot.storage import schema  # noqa: E402
from bot.storage.store import Store  # noqa: E402

SIZES = (10, 1_000, 100_000)
ROUNDS, TIMES, BACKLOG = 15, 20, 200
AHEAD = timedelta(days=30)


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

    async def backlog(self) -> None:
        """What became due in a downtime: added in one transaction, done one after the other."""
        async with self.store.write() as writing:
            for _ in range(BACKLOG):
                await self.jobs.add(writing, Job(f"added {next(self.numbers)}", "nothing", NOW))
        await self.wake()


async def ms(job: Callable[[], Awaitable[None]], times: int) -> float:
    """Milliseconds of one run."""
    started = time.perf_counter()
    for _ in range(times):
        await job()
    return (time.perf_counter() - started) / times * 1000


async def measure(folder: Path) -> None:
    benches = [Measured(folder / str(size), size) for size in SIZES]
    for bench in benches:
        await bench.open()
    print(f"{'jobs that wait':44}" + "".join(f"{size:>10,}" for size in SIZES) + "  last/first")
    for name, of, times in (
        ("wake with nothing due, ms", Measured.wake, TIMES),
        ("add a job for later, ms", Measured.add, TIMES),
        ("add a job, wake and do it, ms", Measured.add_and_do, TIMES),
        (f"add and work off {BACKLOG} jobs, ms a job", Measured.backlog, 1),
    ):
        best = [float("inf")] * len(benches)
        for _ in range(ROUNDS if times > 1 else 3):
            for place, bench in enumerate(benches):
                best[place] = min(best[place], await ms(lambda of=of, bench=bench: of(bench), times))  # type: ignore[misc]
        shown = [each / (1 if times > 1 else BACKLOG) for each in best]
        print(f"{name:44}" + "".join(f"{each:>10.3f}" for each in shown) + f"{shown[-1] / shown[0]:>12.2f}")
    for bench in benches:
        await bench.scheduler.stop()
        await bench.store.close()


async def main() -> None:
    print(f"load {os.getloadavg()[0]:.2f}\n")
    with tempfile.TemporaryDirectory(dir=sys.argv[1] if len(sys.argv) > 1 else None) as name:
        await measure(Path(name))
    print(f"\nload {os.getloadavg()[0]:.2f}")


if __name__ == "__main__":
    asyncio.run(main())
