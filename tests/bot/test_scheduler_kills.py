"""A process that is killed while it does jobs loses none of them and posts for none of them twice."""

from __future__ import annotations

import asyncio
import os
import random
import signal
import subprocess
import sys
import time
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from databases import database_at, name_of
from inline import HERE, bench_at
from raw import rows_in
from stored import NOW, opened
from surviving import check_whole

from bot.results.drills import DrillAsked
from bot.results.job import Job
from bot.results.tally import ServerSettings
from bot.services.drill_desk import DrillDesk
from bot.services.drill_watch import DrillWatch
from bot.services.jobs import LEASE, JobService
from bot.storage import jobs
from bot.storage.address import Address, address_of
from core.drills.drill import Scoring

ROOT = Path(__file__).parents[2]
JOBS = 60
MOST_LIVES = 200
SEED = 20260101
MINUTES_A_LIFE = LEASE // timedelta(minutes=1) + 1
SCRIPT, SERIES_SCRIPT = (ROOT / "tests" / f"{name}_until_killed.py" for name in ("jobs", "series"))
BERLIN = ZoneInfo("Europe/Berlin")
WEEKS = 14
LATEST_MINUTES = 3 * 24 * 60


async def add_jobs(folder: Path) -> None:
    async with opened(folder) as store, store.write() as writing:
        for number in range(JOBS):
            due_at = NOW - timedelta(days=1) + number * timedelta(seconds=1)
            await jobs.add(writing, Job(f"job {number}", "first", due_at))


def started(script: Path, database: Address, channel: Path) -> subprocess.Popen[str]:
    """The program that lets processes live and tells of them."""
    return subprocess.Popen(
        [sys.executable, str(script), name_of(database), str(channel)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


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
    database, channel = address_of(database_at(tmp_path)), tmp_path / "channel"
    channel.touch()
    asyncio.run(add_jobs(tmp_path))
    with started(SCRIPT, database, channel) as worker:
        lives = 1
        while not live_once(worker, lives * MINUTES_A_LIFE, chance):
            lives += 1
            assert lives < MOST_LIVES
        assert worker.stdin is not None
        worker.stdin.close()
    keys = [f"job {number}" for number in range(JOBS)]
    wanted = keys + [f"after {key}" for key in keys]
    assert [line.split(" ", 1)[1] for line in channel.read_text().splitlines()] == wanted
    check_whole(database)
    done = rows_in(database, "SELECT key FROM job WHERE done_at IS NOT NULL ORDER BY due_at")
    assert [row["key"] for row in done] == wanted
    assert rows_in(database, "SELECT key FROM job WHERE done_at IS NULL") == []
    sent = [row["message_id"] for row in rows_in(database, "SELECT message_id FROM post")]
    assert len(sent) == len(set(sent)) == 2 * JOBS
    assert lives > 10


def moment(stored: datetime | str) -> datetime:
    """A moment as SQLite keeps it, or as PostgreSQL does."""
    read = datetime.fromisoformat(stored) if isinstance(stored, str) else stored
    return read.replace(tzinfo=UTC)


async def begin_series(folder: Path) -> None:
    """A list of three drills, and a series that takes one of them each Monday at 18:00 in Berlin."""
    async with bench_at(folder, NOW) as bench:
        await bench.book.set_server(HERE.server_id, ServerSettings(zone=BERLIN.key))
        service, watch = JobService(bench.store, bench.clock), DrillWatch(bench.store)
        desk = DrillDesk(bench.store, bench.desk, bench.book, bench.clock, service, watch)
        for number, words in enumerate(("anti-airs", "throw escapes", "blocking low"), 1):
            await desk.add(HERE, DrillAsked(f"drill: {words}", Scoring.BEST_TALLY), number)
        assert isinstance(await desk.start_weekly(HERE, 9, 1, "18:00", 4), tuple)


def test_a_series_whose_process_is_killed_again_and_again_opens_and_recaps_each_week_once(
    tmp_path: Path,
) -> None:
    chance = random.Random(SEED)
    channel = tmp_path / "channel"
    channel.touch()
    asyncio.run(begin_series(tmp_path))
    database = address_of(database_at(tmp_path))
    minutes = lives = killed = 0
    with started(SERIES_SCRIPT, database, channel) as worker:
        while minutes < WEEKS * 7 * 24 * 60:
            lives += 1
            killed += not live_once(worker, minutes, chance)
            minutes += chance.choice([MINUTES_A_LIFE, 60, chance.randint(60, LATEST_MINUTES)])
        while not live_once(worker, minutes, chance):
            minutes, lives = minutes + MINUTES_A_LIFE, lives + 1
            assert lives < 10 * MOST_LIVES
        assert worker.stdin is not None
        worker.stdin.close()
    said = [line.split(" ", 2)[1:] for line in channel.read_text().splitlines()]
    query = "SELECT id, stage, closes_at, what FROM drill ORDER BY id"
    drills = [tuple(row) for row in rows_in(database, query)]
    closed = [number for number, stage, _, _ in drills if stage == "closed"]
    assert len(closed) >= WEEKS - 2  # a late start may make two weeks one
    assert [number for number, stage, _, _ in drills if stage == "open"] == [closed[-1] + 1]
    # Of each drill the post, then the recap, each once; the last one is open.
    wanted = [["opens", str(closed[0])]]
    for number in closed:
        wanted += [["recap", f"{number} of 0"], ["opens", str(number + 1)]]
    assert said == wanted
    ends = [moment(row[2]).astimezone(BERLIN) for row in drills]
    assert {(end.isoweekday(), end.hour, end.minute) for end in ends} == {(1, 18, 0)}
    assert len({end.utcoffset() for end in ends}) == 2  # the clocks changed on the way
    assert [row[3] for row in drills[:4]] == ["anti-airs", "throw escapes", "blocking low", "anti-airs"]
    assert killed > WEEKS
