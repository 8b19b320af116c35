"""Does the jobs of a database as fast as can be, and says which, until it is killed or none is left.

Run with a database, a file's path or a URL, and with the path of a file that stands for a channel: for each
line on its standard input, by how many minutes the clock is ahead, a process is forked, which has everything
imported. What is written: "started PID", the key of each job whose handler is over, "idle" where nothing is
left to do, and "dead".
"""

from __future__ import annotations

import asyncio
import os
import sys
from collections.abc import Callable, Coroutine
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from databases import address_named
from stored import NOW

from bot.results.job import Job
from bot.scheduler.scheduler import Scheduler
from bot.services.jobs import JobService
from bot.services.posts import PostService
from bot.storage import jobs as rows
from bot.storage.address import Address
from bot.storage.store import Store


def say(line: str) -> None:
    os.write(sys.stdout.fileno(), f"{line}\n".encode())


class StoppedClock:
    """Stands still while a process lives; each begins later than the one before."""

    def __init__(self, minutes: int) -> None:
        self._now = NOW + timedelta(minutes=minutes)

    def now(self) -> datetime:
        return self._now


class FileChannel:
    """A message is a line, written at once."""

    def __init__(self, file: Path) -> None:
        self._file = file

    async def post(self, _channel_id: int, marker: str, content: str) -> int:
        line = f"{marker} {content}\n".encode()
        with self._file.open("ab", buffering=0) as file:
            file.write(line)
            return file.tell()  # one past its end: no two messages have the same

    async def find(self, _channel_id: int, marker: str, _since: datetime) -> int | None:
        end = 0
        for line in self._file.read_bytes().splitlines(keepends=True):
            end += len(line)
            if line.startswith(marker.encode()):
                return end
        return None


async def work_off(database: Address, channel: Path, minutes: int) -> None:
    store, clock = Store(database), StoppedClock(minutes)
    await store.open()
    jobs, posts = JobService(store, clock), PostService(store, clock, FileChannel(channel))

    async def post(job: Job, _late_by: timedelta) -> None:
        await posts.post_once(f"post of {job.key}", 9, job.key)
        if job.kind == "first":
            async with store.write() as writing:
                due_at = job.due_at + timedelta(hours=1)
                await jobs.add(writing, Job(f"after {job.key}", "second", due_at, job.payload))
        say(job.key)

    scheduler = Scheduler(jobs, clock, {"first": post, "second": post})
    scheduler.start()
    left: datetime | None = clock.now()
    while left is not None:
        await asyncio.sleep(0.02)
        async with store.read() as reading:
            left = await rows.earliest(reading)
    await scheduler.stop()
    await store.close()
    say("idle")


def live_again_and_again(work: Callable[[Address, Path, int], Coroutine[Any, Any, None]]) -> None:
    """A process for each line that comes in, which does the work."""
    for line in sys.stdin:
        process_id = os.fork()
        if not process_id:
            asyncio.run(work(address_named(sys.argv[1]), Path(sys.argv[2]), int(line)))
            os._exit(0)
        say(f"started {process_id}")
        os.waitpid(process_id, 0)
        say("dead")


if __name__ == "__main__":
    live_again_and_again(work_off)
