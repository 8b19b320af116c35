"""Does what is due in a database that several such processes share, or logs in it at once with them.

Run with a database, the path of a file that stands for a channel, and by how many minutes the clock is ahead,
it says "ready", and once a line came in, the key of each job that it did, and "idle" where none is due now.
Run with a database, a number of its own, a drill and how often, it says "ready", and once a line came in,
logs as many tallies on the drill for one member.
"""

from __future__ import annotations

import asyncio
import sys
from datetime import timedelta
from pathlib import Path

from databases import address_named
from jobs_until_killed import FileChannel, StoppedClock, say
from stored import NOW, WREN, tally

from bot.results.job import Job
from bot.scheduler.scheduler import Scheduler
from bot.services.jobs import JobService
from bot.services.posts import PostService
from bot.storage import drills, tallies
from bot.storage.address import Address
from bot.storage.store import Store

PAUSE_SECONDS = 0.01
EVENTS_EACH = 1_000


async def begin(store: Store) -> None:
    """Opens it, and waits for the word."""
    await store.open()
    say("ready")
    await asyncio.to_thread(sys.stdin.readline)


async def work_off(database: Address, channel: Path, minutes: int) -> None:
    store, clock = Store(database), StoppedClock(minutes)
    await begin(store)
    jobs, posts = JobService(store, clock), PostService(store, clock, FileChannel(channel))

    async def post(job: Job, _late_by: timedelta) -> None:
        await posts.post_once(f"post of {job.key}", 9, job.key)
        say(job.key)

    scheduler = Scheduler(jobs, clock, {"first": post})
    scheduler.start()
    while (due := await jobs.next_due()) is not None and due <= clock.now():
        await asyncio.sleep(PAUSE_SECONDS)
    await scheduler.stop()
    await store.close()
    say("idle")


async def log(database: Address, number: int, drill_id: int, times: int) -> None:
    store = Store(database)
    await begin(store)
    for event_id in range(number * EVENTS_EACH, number * EVENTS_EACH + times):
        async with store.write(event_id) as writing:
            kept = await tallies.add(writing, WREN, tally(), event_id, NOW)
            await drills.join(writing, WREN, drill_id, NOW)
            await drills.note_run(writing, kept.id, drill_id, 3)
    await store.close()


if __name__ == "__main__":
    shared, *others = sys.argv[1:]
    if len(others) == 2:
        asyncio.run(work_off(address_named(shared), Path(others[0]), int(others[1])))
    else:
        asyncio.run(log(address_named(shared), *map(int, others)))
