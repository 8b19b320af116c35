"""Several processes share one PostgreSQL database: each job is done once, and nothing logged is lost."""

from __future__ import annotations

import asyncio
import os
import random
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

import pytest
from databases import name_of, new_on_server, server
from raw import rows_in
from stored import DRILL, LINK, NOW, WREN

from bot.results.drills import DrillPlan
from bot.results.job import Job
from bot.services.jobs import LEASE
from bot.storage import drills, jobs, tallies
from bot.storage.address import Address
from bot.storage.store import Store
from core.drills.drill import Scoring

pytestmark = pytest.mark.postgresql

ROOT = Path(__file__).parents[2]
SCRIPT = ROOT / "tests" / "jobs_shared.py"
SEED = 20260101
JOBS = 400
PROCESSES, KILLED = 4, 2
LOGGED = 60


@contextmanager
def running(*given: object) -> Iterator[subprocess.Popen[str]]:
    """A process that is about to begin."""
    process = subprocess.Popen(
        [sys.executable, str(SCRIPT), *map(str, given)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def line(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    return process.stdout.readline().strip()


def begin(*processes: subprocess.Popen[str]) -> None:
    """Have them begin, all at the same moment."""
    assert [line(process) for process in processes] == ["ready"] * len(processes)
    for process in processes:
        assert process.stdin is not None
        process.stdin.write("\n")
        process.stdin.flush()


def end(process: subprocess.Popen[str]) -> list[str]:
    """What it says until its end, which is none of an error's."""
    said, _ = process.communicate()
    assert process.returncode == 0
    return said.split("\n")[:-1]


async def add_jobs(address: Address) -> None:
    store = Store(address)
    await store.open()
    async with store.write() as writing:
        for number in range(JOBS):
            due_at = NOW - timedelta(days=1) + number * timedelta(seconds=1)
            await jobs.add(writing, Job(f"job {number}", "first", due_at))
    await store.close()


def test_each_of_400_jobs_is_done_once_by_four_processes_two_of_which_are_killed(tmp_path: Path) -> None:
    chance = random.Random(SEED)
    address, channel = new_on_server("shared"), tmp_path / "channel"
    channel.touch()
    asyncio.run(add_jobs(address))
    with (
        running(name_of(address), channel, 0) as first,
        running(name_of(address), channel, 0) as second,
        running(name_of(address), channel, 0) as third,
        running(name_of(address), channel, 0) as fourth,
        running(name_of(address), channel, LEASE // timedelta(minutes=1) + 1) as heir,
    ):
        begin(first, second, third, fourth)
        done = []
        for process in (first, second):
            done += [line(process) for _ in range(chance.randint(1, 5))]
            process.kill()
            assert process.wait() < 0
        survived = [end(process) for process in (third, fourth)]
        begin(heir)
        inherited = end(heir)
    assert [said.pop() for said in (*survived, inherited)] == ["idle"] * 3
    assert all(survived), "both did some of it"
    assert len(inherited) <= 2, "what the killed held, and nothing else"
    said = [*survived[0], *survived[1], *inherited]
    assert len(said) == len(set(said)), "no two of them did the same"
    assert not {*survived[0], *survived[1]} & set(done), "nor what the killed had done"
    wanted = sorted(f"job {number}" for number in range(JOBS))
    posted = [message.split(" ", 1)[1] for message in channel.read_text().splitlines()]
    assert sorted(posted) == wanted, "each was posted once, whoever was killed"
    kept = rows_in(address, "SELECT key FROM job WHERE done_at IS NOT NULL")
    assert sorted(row["key"] for row in kept) == wanted
    sent = rows_in(address, "SELECT DISTINCT message_id FROM post WHERE sent_at IS NOT NULL")
    assert len(sent) == JOBS


async def set_up_drill(address: Address) -> int:
    store = Store(address)
    await store.open()
    async with store.write() as writing:
        await tallies.enter_subject(writing, WREN, DRILL)
        plan = DrillPlan(LINK, Scoring.TOTAL_CLEAN, 1, 100)
        week = timedelta(days=7)
        drill = await drills.add(
            writing, WREN.server_id, plan, 9, NOW - week, NOW + week, weekly=False, opened_by=None
        )
    await store.close()
    return drill.id


def test_processes_that_log_for_one_member_on_one_drill_at_once_lose_nothing() -> None:
    address = new_on_server("shared")
    drill_id = asyncio.run(set_up_drill(address))
    with (
        running(name_of(address), 1, drill_id, LOGGED) as one,
        running(name_of(address), 2, drill_id, LOGGED) as another,
    ):
        begin(one, another)
        assert end(one) == end(another) == []
    counted = (
        "SELECT count(*) AS rows, count(DISTINCT subject_id) AS subjects, sum(landed) AS landed FROM tally"
    )
    assert [tuple(row) for row in rows_in(address, counted)] == [(2 * LOGGED, 1, 2 * LOGGED * 7)]
    sums = "SELECT tallies, tries, landed FROM total"
    assert [tuple(row) for row in rows_in(address, sums)] == [(2 * LOGGED, 2 * LOGGED * 10, 2 * LOGGED * 7)]
    for table, rows in (("entry", 1), ("drill_tally", 2 * LOGGED), ("event", 2 * LOGGED)):
        assert len(rows_in(address, f"SELECT * FROM {table}")) == rows, table


def test_processes_that_start_at_once_on_an_empty_database_both_open_it(tmp_path: Path) -> None:
    server().run("DROP DATABASE IF EXISTS brand_new WITH (FORCE)", "CREATE DATABASE brand_new")
    url = server().url("brand_new")
    try:
        with running(url, tmp_path / "channel", 0) as one, running(url, tmp_path / "channel", 0) as another:
            begin(one, another)
            assert end(one) == end(another) == ["idle"]
    finally:
        server().run("DROP DATABASE brand_new WITH (FORCE)")
