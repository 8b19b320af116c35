"""The pool of worker processes under tasks that never end, take all memory, or are too many."""

from __future__ import annotations

import asyncio
import multiprocessing
import operator
import os
import signal
import subprocess
import sys
import time
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
import pytest_asyncio
from scheduling import HandTime

from bot import worker
from bot.client.work import Doing, Work
from bot.ports import WorkerError, acting_for
from bot.scheduler.refresher import Refresher
from bot.worker import WorkerPool

MEBIBYTE = 2**20
HUNGRY = "kept = [bytes(16 * 2**20) for _ in range(10_000)]"
"""Asks for 160 GB, 16 MiB at a time."""
SLOW_SECONDS = 0.3
ENDLESS = "while True: pass"
NOTED = "import os; open({note!r}, 'w').write(str(os.getpid()) + '!')\nwhile True: pass"


@pytest_asyncio.fixture
async def pool() -> AsyncIterator[WorkerPool]:
    pool = WorkerPool(limit_seconds=20, memory_bytes=400 * MEBIBYTE)
    yield pool
    await pool.close()


async def test_a_task_that_wants_too_much_memory_is_given_up_with_its_process(pool: WorkerPool) -> None:
    before = {await pool.run(os.getpid) for _ in range(2)}
    with pytest.raises(WorkerError, match=r"exec was given up: it needed more than 400 MiB\."):
        await pool.run(exec, HUNGRY)
    assert await pool.run(operator.add, 2, 3) == 5
    alive = {process.pid for process in multiprocessing.active_children()}
    assert not before <= alive


async def test_a_process_has_the_memory_that_a_picture_needs() -> None:
    """What is drawn peaks at about 300 MiB; the usual budget holds a task of 1 GiB."""
    pool = WorkerPool()
    try:
        assert await pool.run(eval, "len(bytes(2**30))") == 2**30
    finally:
        await pool.close()


async def test_a_task_without_an_end_is_given_up_and_its_process_replaced() -> None:
    pool = WorkerPool(limit_seconds=0.5)
    try:
        for _ in range(3):
            with pytest.raises(WorkerError, match=r"exec was given up after 0\.5 seconds\."):
                await pool.run(exec, ENDLESS)
        assert await pool.run(operator.add, 2, 3) == 5
    finally:
        await pool.close()


async def test_a_process_that_is_killed_at_work_costs_its_own_task_alone(
    pool: WorkerPool, tmp_path: Path
) -> None:
    note = tmp_path / "note"
    begun = asyncio.ensure_future(pool.run(exec, NOTED.format(note=str(note))))
    while not (note.exists() and note.read_text().endswith("!")):
        await asyncio.sleep(0.01)
    assert await pool.run(operator.add, 2, 3) == 5
    os.kill(int(note.read_text()[:-1]), signal.SIGKILL)
    with pytest.raises(WorkerError, match=r"The process of exec died \(exit code -9\)\."):
        await begun
    assert await pool.run(operator.add, 2, 3) == 5


async def test_processes_that_stand_still_are_replaced(
    pool: WorkerPool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As they do where one of them was killed while it held what all of them need."""
    monkeypatch.setattr(worker, "PATIENCE_SECONDS", 0.5)
    monkeypatch.setattr(worker, "TERMINATION_SECONDS", 0.2)
    pool._limit_seconds = 0.2
    await pool.run(os.getpid)
    still = {process.pid for process in multiprocessing.active_children()}
    for number in still:
        assert number is not None
        os.kill(number, signal.SIGSTOP)
    with pytest.raises(WorkerError, match=r"add was given up: it waited for 0\.5 seconds\."):
        await pool.run(operator.add, 2, 3)
    monkeypatch.setattr(worker, "PATIENCE_SECONDS", 20)
    assert await pool.run(os.getpid) not in still


async def test_one_too_many_is_refused_at_once_and_the_others_are_done(
    pool: WorkerPool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(worker, "TASKS_AT_ONCE", 5)
    done = await asyncio.gather(
        *(pool.run(time.sleep, SLOW_SECONDS) for _ in range(7)), return_exceptions=True
    )
    assert done.count(None) == 5
    assert [str(one) for one in done if one] == ["sleep was not begun: 5 tasks run or wait already."] * 2
    assert await pool.run(operator.add, 2, 3) == 5


async def test_no_member_keeps_the_processes_to_themselves(pool: WorkerPool) -> None:
    async def asks(member_id: int) -> None:
        assert Work().begin(Doing("command route find", 1, member_id))
        await pool.run(time.sleep, SLOW_SECONDS)

    tasks = [asyncio.create_task(asks(member_id)) for member_id in (7, 7, 7, 7, 7, 7, 8, 8)]
    done = await asyncio.gather(*tasks, return_exceptions=True)
    assert [str(one) for one in done[:6] if one] == [
        f"sleep was not begun: {worker.TASKS_OF_A_MEMBER} tasks of member 7 wait."
    ] * 2
    assert done[6:] == [None, None]
    await asyncio.create_task(asks(7))
    assert acting_for.get() is None


ORPHAN = """
import asyncio
from bot import worker

worker.TERMINATION_SECONDS = 0.2

async def main():
    pool = worker.WorkerPool(limit_seconds=1)
    await pool.run(exec, "import os; os.kill(os.getppid(), 9)\\nwhile True: pass")

asyncio.run(main())
"""


@pytest.mark.skipif(not hasattr(signal, "setitimer"), reason="this system has no alarms")
def test_a_task_without_an_end_does_not_outlive_a_bot_that_is_killed() -> None:
    """The processes hold this end of the pipe open: reading it ends when the last of them does."""
    begun = [sys.executable, "-c", ORPHAN]
    done = subprocess.run(begun, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, timeout=60, check=False)
    assert done.returncode == -signal.SIGKILL


async def test_what_is_refreshed_is_work_of_nobody() -> None:
    seen: list[int | None] = []

    async def refresh(_: int) -> None:
        seen.append(acting_for.get())

    time = HandTime()
    refresher = Refresher(refresh, time)
    acting_for.set(7)
    refresher.touch(1)
    await time.pass_by(seconds=60)
    await asyncio.sleep(0)
    assert seen == [None]
    await refresher.stop()
