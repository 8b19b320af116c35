"""A process that is killed while it does jobs loses none of them and posts for none of them twice."""

from __future__ import annotations

import asyncio
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing, suppress
from datetime import timedelta
from pathlib import Path

from stored import NOW, new_database, opened

from bot.results.job import Job
from bot.services.jobs import LEASE
from bot.storage import jobs

ROOT = Path(__file__).parents[2]
JOBS = 60
MOST_LIVES = 200
SEED = 20260101
MINUTES_A_LIFE = LEASE // timedelta(minutes=1) + 1
SCRIPT = ROOT / "tests" / "jobs_until_killed.py"


async def add_jobs(folder: Path) -> None:
    async with opened(folder) as store, store.write() as writing:
        for number in range(JOBS):
            due_at = NOW - timedelta(days=1) + number * timedelta(seconds=1)
            await jobs.add(writing, Job(f"job {number}", "first", due_at))


def live_once(worker: subprocess.Popen[str], minutes: int, chance: random.Random) -> bool:
    """Lets a process do some jobs and kills it at some moment; whether it was done before that."""
    assert worker.stdin is not None
    assert worker.stdout is not None
    worker.stdin.write(f"{minutes}\n")
    worker.stdin.flush()
    process_id, over = 0, chance.randint(0, 5)
    for line in iter(lambda: worker.stdout.readline().strip(), "dead"):  # type: ignore[union-attr]
        if line == "idle":
            return worker.stdout.readline().strip() == "dead"
        if line.startswith("started "):
            process_id = int(line.removeprefix("started "))
        else:
            over -= 1
        if over <= 0 and process_id:
            time.sleep(chance.uniform(0, 0.012))  # somewhere between two steps
            with suppress(ProcessLookupError):
                os.kill(process_id, signal.SIGKILL)
            process_id, over = 0, 0
    return False


def test_jobs_of_a_process_that_is_killed_again_and_again_are_each_done_once_in_order(tmp_path: Path) -> None:
    chance = random.Random(SEED)
    database, channel = new_database(tmp_path), tmp_path / "channel"
    channel.touch()
    asyncio.run(add_jobs(tmp_path))
    worker = subprocess.Popen(
        [sys.executable, str(SCRIPT), str(database), str(channel)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with worker:
        lives = 1
        while not live_once(worker, lives * MINUTES_A_LIFE, chance):
            lives += 1
            assert lives < MOST_LIVES
        assert worker.stdin is not None
        worker.stdin.close()
    keys = [f"job {number}" for number in range(JOBS)]
    wanted = keys + [f"after {key}" for key in keys]
    assert [line.split(" ", 1)[1] for line in channel.read_text().splitlines()] == wanted
    with closing(sqlite3.connect(database)) as raw:
        assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        done = [key for (key,) in raw.execute("SELECT key FROM job WHERE done_at NOT NULL ORDER BY due_at")]
        sent = raw.execute("SELECT count(*), count(DISTINCT message_id) FROM post").fetchone()
        waiting = raw.execute("SELECT count(*) FROM job WHERE done_at IS NULL").fetchone()
    assert done == wanted
    assert waiting == (0,)
    assert sent == (2 * JOBS, 2 * JOBS)
    assert lives > 10
