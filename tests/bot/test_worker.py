"""The pool of worker processes: what comes back, what goes wrong, and that nothing is left behind."""

from __future__ import annotations

import asyncio
import multiprocessing
import operator
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import AsyncIterator, Callable
from concurrent.futures.process import BrokenProcessPool
from functools import partial
from typing import Any

import pytest
import pytest_asyncio

from bot.ports import WorkerError
from bot.worker import POOLS_TRIED, WorkerPool

UNSENDABLE = """
class Odd(Exception):
    def __init__(self, first, second):
        super().__init__(first)
raise Odd("so it is", 2)
"""


@pytest_asyncio.fixture
async def pool() -> AsyncIterator[WorkerPool]:
    pool = WorkerPool(limit_seconds=1)
    yield pool
    await pool.close()


async def until_it_works(pool: WorkerPool) -> int:
    """The number of a process of the pool, once it has one again."""
    for _ in range(100):
        try:
            return await pool.run(os.getpid)
        except WorkerError:
            await asyncio.sleep(0.05)
    raise AssertionError("the pool did not recover")


async def test_work_is_done_in_another_process_with_its_arguments(pool: WorkerPool) -> None:
    assert await pool.run(os.getpid) != os.getpid()
    assert await pool.run(sorted, [2, 3, 1], reverse=True) == [3, 2, 1]


@pytest.mark.parametrize(
    ("work", "arguments", "told"),
    [
        (operator.truediv, (1, 0), "truediv failed: ZeroDivisionError: division by zero"),
        (sys.exit, (2,), "exit failed: SystemExit: 2"),
        (exec, (UNSENDABLE,), "exec failed: Odd: so it is"),
        (os._exit, (3,), r"The process of _exit died \(exit code 3\)\."),
        (os.abort, (), r"The process of abort died \(exit code -6\)\."),
        (time.sleep, (60,), r"sleep was given up after 1 seconds\."),
        (lambda: 1, (), "<lambda> could not be done: Can't pickle"),
    ],
    ids=["error", "exit", "unsendable", "crash", "abort", "timeout", "unpicklable"],
)
async def test_what_goes_wrong_is_a_worker_error_with_its_cause_and_the_pool_goes_on(
    pool: WorkerPool, work: Callable[..., Any], arguments: tuple[Any, ...], told: str
) -> None:
    with pytest.raises(WorkerError, match=told) as caught:
        await pool.run(work, *arguments)
    assert caught.value.__cause__ is not None
    assert await pool.run(operator.add, 2, 3) == 5


async def test_the_traceback_of_the_work_comes_along(pool: WorkerPool) -> None:
    with pytest.raises(WorkerError) as caught:
        await pool.run(exec, "def inner():\n    return {}['salt']\ninner()")
    assert "in inner" in str(caught.value.__cause__)


async def test_two_tasks_run_while_others_crash(pool: WorkerPool) -> None:
    tasks = [pool.run(operator.mul, number, number) for number in range(20)]
    crashes = [pool.run(os._exit, 1) for _ in range(3)]
    done = await asyncio.gather(*tasks, *crashes, return_exceptions=True)
    assert done[:20] == [number * number for number in range(20)]
    assert [type(one) for one in done[20:]] == [WorkerError] * 3


async def test_what_waits_in_a_pool_that_breaks_is_done_in_the_next_one(pool: WorkerPool) -> None:
    """It breaks where a process dies while none is known to be at work."""
    inner = await pool._pool()
    waiting = [asyncio.ensure_future(pool.run(operator.mul, number, number)) for number in range(6)]
    while len(pool._waited_for) < 6:
        await asyncio.sleep(0)
    while len(inner._pool_manager.task_manager.tasks) < 6:
        await asyncio.sleep(0)
    assert not any(each.done() for each in waiting), "the processes have only begun"
    inner._pool_manager.handle_broken_pool(BrokenProcessPool("All workers expired"))
    assert await asyncio.gather(*waiting) == [number * number for number in range(6)]
    assert await pool._pool() is not inner


async def test_what_breaks_every_pool_is_a_worker_error(
    pool: WorkerPool, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried: list[None] = []

    async def broken(*_: object) -> None:
        tried.append(None)
        raise BrokenProcessPool("All workers expired")

    monkeypatch.setattr(pool, "_answer", broken)
    with pytest.raises(WorkerError, match="mul could not be done: All workers expired"):
        await pool.run(operator.mul, 2, 3)
    assert len(tried) == POOLS_TRIED


async def test_the_pool_opens_anew_when_its_idle_processes_are_killed(pool: WorkerPool) -> None:
    await pool.run(os.getpid)
    killed = {process.pid for process in multiprocessing.active_children()}
    assert killed
    for number in killed:
        assert number is not None
        os.kill(number, signal.SIGKILL)
    assert await until_it_works(pool) not in killed


async def test_an_interrupt_leaves_the_processes_at_work(pool: WorkerPool) -> None:
    before = await pool.run(os.getpid)
    sleeping = asyncio.ensure_future(pool.run(time.sleep, 0.3))
    await asyncio.sleep(0.1)
    for process in multiprocessing.active_children():
        assert process.pid is not None
        os.kill(process.pid, signal.SIGINT)
    await sleeping
    numbers = {process.pid for process in multiprocessing.active_children()}
    assert before in numbers
    assert signal.SIGINT in await pool.run(signal.pthread_sigmask, signal.SIG_BLOCK, [])


async def test_an_interrupt_while_the_processes_start_does_not_end_them(pool: WorkerPool) -> None:
    pool.start()
    while len(starting := multiprocessing.active_children()) < 2:
        await asyncio.sleep(0.001)
    for process in starting:
        assert process.pid is not None
        os.kill(process.pid, signal.SIGINT)
    assert await pool.run(os.getpid) in {process.pid for process in starting}


async def test_interrupts_still_reach_this_process(pool: WorkerPool) -> None:
    await pool.run(os.getpid)
    assert signal.SIGINT not in signal.pthread_sigmask(signal.SIG_BLOCK, [])


async def test_each_process_warms_up_before_its_first_task() -> None:
    pool = WorkerPool(partial(exec, "import sys; sys.warm = True"))
    try:
        assert await pool.run(eval, "__import__('sys').warm") is True
        for _ in range(2):
            with pytest.raises(WorkerError):
                await pool.run(os._exit, 1)
        assert await pool.run(eval, "__import__('sys').warm") is True
    finally:
        await pool.close()


async def test_a_warm_up_that_fails_leaves_other_work_alone() -> None:
    pool = WorkerPool(partial(exec, "1 / 0"))
    try:
        assert await pool.run(operator.add, 2, 3) == 5
    finally:
        await pool.close()


async def test_nothing_is_begun_before_it_is_needed_and_closing_then_leaves_nothing() -> None:
    threads, children = threading.active_count(), multiprocessing.active_children()
    pool = WorkerPool()
    assert (threading.active_count(), multiprocessing.active_children()) == (threads, children)
    await pool.close()
    assert (threading.active_count(), multiprocessing.active_children()) == (threads, children)
    with pytest.raises(WorkerError, match="closed"):
        await pool.run(os.getpid)
    pool.start()
    assert multiprocessing.active_children() == children


async def test_closing_ends_processes_and_threads_and_whoever_waits_is_told() -> None:
    others = set(threading.enumerate())
    pool = WorkerPool()
    pool.start()
    await pool.run(os.getpid)
    waiting = [asyncio.ensure_future(pool.run(time.sleep, 60)) for _ in range(5)]
    await asyncio.sleep(0.1)
    await pool.close()
    told = await asyncio.gather(*waiting, return_exceptions=True)
    assert [str(one) for one in told] == ["The worker processes are closed."] * 5
    assert all(isinstance(one, WorkerError) for one in told)
    assert multiprocessing.active_children() == []
    left = {thread for thread in set(threading.enumerate()) - others if thread.is_alive()}
    assert {thread.name.partition("_")[0] for thread in left} <= {"asyncio"}  # the loop's own executor
    await pool.close()


async def test_closing_while_it_opens_leaves_nothing() -> None:
    pool = WorkerPool()
    pool.start()
    await pool.close()
    assert multiprocessing.active_children() == []


async def test_who_is_cancelled_stops_waiting_and_the_pool_goes_on(pool: WorkerPool) -> None:
    waiting = asyncio.ensure_future(pool.run(time.sleep, 0.5))
    await asyncio.sleep(0.1)
    waiting.cancel()
    with pytest.raises(asyncio.CancelledError):
        await waiting
    assert await pool.run(operator.add, 2, 3) == 5


async def test_the_event_loop_turns_while_the_pool_opens_and_works(pool: WorkerPool) -> None:
    turns = 0

    async def count() -> None:
        nonlocal turns
        while True:
            await asyncio.sleep(0.005)
            turns += 1

    counting = asyncio.ensure_future(count())
    await pool.run(time.sleep, 0.3)
    counting.cancel()
    assert turns >= 10


SCRIPT = """
import asyncio, os
from bot.worker import WorkerPool

async def main():
    pool = WorkerPool()
    {body}

asyncio.run(main())
"""


@pytest.mark.parametrize(
    "body",
    [
        "pass",
        "pool.start()",
        "print(await pool.run(os.getpid))",
        "print(await pool.run(os.getpid)); await pool.close()",
    ],
    ids=["never used", "just started", "left open", "closed"],
)
def test_the_interpreter_ends_cleanly(body: str) -> None:
    command = [sys.executable, "-X", "dev", "-W", "error", "-c", SCRIPT.format(body=body)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    for number in done.stdout.split():
        with pytest.raises(ProcessLookupError):
            os.kill(int(number), 0)
