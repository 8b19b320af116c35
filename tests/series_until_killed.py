"""Runs a server's weekly drills until it is killed or nothing is due, as jobs_until_killed.py does jobs."""

from __future__ import annotations

import asyncio
from datetime import timedelta
from pathlib import Path

from demo import GAMES, demo
from inline import desk_with
from jobs_until_killed import FileChannel, StoppedClock, live_again_and_again, say

from bot.results.job import Job
from bot.scheduler.scheduler import Scheduler
from bot.services.drill_boards import DrillBoards
from bot.services.drill_watch import DrillWatch
from bot.services.jobs import JobService
from bot.services.notices import NoticeService
from bot.services.posts import PostService
from bot.services.settings import SettingsBook
from bot.storage.address import Address
from bot.storage.store import Store


async def work_off(database: Address, channel: Path, minutes: int) -> None:
    store, clock = Store(database), StoppedClock(minutes)
    await store.open()
    book, jobs = SettingsBook(store, clock), JobService(store, clock)
    await book.load()
    desk = desk_with(store, clock, book, {name: demo(name) for name in GAMES})
    notices, watch = NoticeService(jobs, book, clock), DrillWatch(store)
    boards = DrillBoards(store, desk, book, clock, jobs, notices, watch)
    posts = PostService(store, clock, FileChannel(channel))

    async def open_one(job: Job, _late_by: timedelta) -> None:
        number = job.payload["drill"]
        if await boards.opening(number) is not None:
            await posts.post_once(f"drill:{number}", 9, f"opens {number}")
            say(job.key)

    async def close_one(job: Job, late_by: timedelta) -> None:
        number = job.payload["drill"]
        end = await boards.closing(number, late_by)
        if end is not None:
            await posts.post_once(f"recap:{number}", 9, f"recap {number} of {end.recap.members}")
            say(job.key)

    scheduler = Scheduler(jobs, clock, {"drill-open": open_one, "drill-close": close_one})
    scheduler.start()
    while (due := await jobs.next_due()) is not None and due <= clock.now():
        await asyncio.sleep(0.02)
    await scheduler.stop()
    await store.close()
    say("idle")


if __name__ == "__main__":
    live_again_and_again(work_off)
