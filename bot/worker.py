"""A pool of processes for slow work: pictures, fits, searches. Nothing is spawned before it is needed.

What cannot be done comes as `WorkerError`, and the pool goes on: a process that crashed, or was stopped for
taking too long or too much memory, is replaced, and where a pool broke, its tasks are done in a new one. Who
comes when too many tasks wait is refused at once. A thread of its own opens and closes the processes, so that
the event loop never waits for them. Close the pool before the event loop ends.
"""

from __future__ import annotations

import asyncio
import atexit
import logging
import multiprocessing
import os
import signal
from collections.abc import Callable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from time import monotonic
from typing import Any, ParamSpec, TypeVar

from pebble import ProcessExpired, ProcessFuture, ProcessPool
from pebble.pool.process import WORKERS_NAME

from bot.ports import WorkerError, acting_for

try:
    import resource
except ImportError:  # Windows has no such limits
    resource = None  # type: ignore[assignment]

log = logging.getLogger(__name__)

P = ParamSpec("P")
Result = TypeVar("Result")

WORKERS = 2
LIMIT_SECONDS = 10.0
TERMINATION_SECONDS = 3.0
PATIENCE_SECONDS = 60.0
"""A task that is not done by then is given up, even where it was not begun. Where none was done for as long
as a task may take, the processes stand still (one that is killed may leave them waiting for each other):
then they are all replaced."""
TASKS_OF_A_PROCESS = 200
"""After so many tasks a process is replaced, so that what it leaks stays small."""
MEMORY_BYTES = 1_536 * 2**20
"""What a process may have of memory, the program itself included, which takes about 240 MiB."""
TASKS_AT_ONCE = 64
"""So many tasks run or wait: whoever came later would wait for longer than anybody reads on."""
TASKS_OF_A_MEMBER = 4
"""So many of those are one member's, so that nobody keeps the processes to themselves."""

POOLS_TRIED = 3
"""A process that dies at an unlucky moment breaks the pool, and everybody's tasks with it; they are then done
in the next one. A task changes nothing, so it may be done twice."""

OUT_OF_MEMORY = 77  # the exit code of a process whose task asked for more than it may have
CLOSED = "The worker processes are closed."


class WorkerPool:
    """Does slow work in other processes; the `Worker` of bot/ports.

    `warm_up` is a function of some module: each process calls it once, before its first task. A task that
    runs for longer than `limit_seconds` is given up, and one whose process would need more than
    `memory_bytes`, where the system can limit that.
    """

    def __init__(
        self,
        warm_up: Callable[[], object] | None = None,
        limit_seconds: float = LIMIT_SECONDS,
        memory_bytes: int = MEMORY_BYTES,
    ) -> None:
        self._warm_up = warm_up
        self._limit_seconds = limit_seconds
        self._memory_bytes = memory_bytes
        self._keeper = ThreadPoolExecutor(1, "worker-pool", initializer=_leave_interrupts_to_others)
        self._opening: Future[ProcessPool] | None = None
        self._waited_for: dict[Future[Any], int | None] = {}
        """What runs or waits, and for which member where it is for one."""
        self._last_done_at = monotonic()
        self._closed = False

    def start(self) -> None:
        """Begin to spawn and warm up the processes, in the background; `run` does so too."""
        if self._opening is None and not self._closed:
            atexit.register(self._stop)
            self._opening = self._keeper.submit(self._open)

    async def run(self, work: Callable[P, Result], *args: P.args, **kwargs: P.kwargs) -> Result:
        """What a function of some module makes of plain values. Raises WorkerError, and logs why.

        Whoever is cancelled here stops waiting; the process finishes the task.
        """
        try:
            return await self._run(work, args, kwargs)
        except WorkerError as error:
            if not self._closed:
                log.error("%s", error, exc_info=error.__cause__)
            raise

    async def _run(
        self,
        work: Callable[..., Result],
        args: tuple[object, ...],
        kwargs: Mapping[str, object],
        more_pools: int = POOLS_TRIED - 1,
    ) -> Result:
        pool = await self._pool()
        name = getattr(work, "__name__", str(work))
        self._refuse_where_too_many(name)
        try:
            task = (self._limit_seconds, work, args, kwargs)
            future = pool.schedule(_do, args=task, timeout=self._limit_seconds)
            self._waited_for[future] = acting_for.get()
            future.add_done_callback(self._forget)
            return await self._answer(pool, future, name)
        except WorkerError:
            raise
        except TimeoutError as error:
            raise WorkerError(f"{name} was given up after {self._limit_seconds:g} seconds.") from error
        except ProcessExpired as error:
            if error.exitcode == OUT_OF_MEMORY:
                megabytes = self._memory_bytes // 2**20
                raise WorkerError(f"{name} was given up: it needed more than {megabytes} MiB.") from error
            raise WorkerError(f"The process of {name} died (exit code {error.exitcode}).") from error
        except Exception as error:
            if more_pools and isinstance(error, BrokenProcessPool):
                return await self._run(work, args, kwargs, more_pools - 1)
            raise WorkerError(CLOSED if self._closed else f"{name} could not be done: {error}") from error

    async def _answer(self, pool: ProcessPool, future: ProcessFuture[Result], name: str) -> Result:
        """What comes of a task, if it does in time."""
        answer = asyncio.wrap_future(future)
        answer.add_done_callback(_hear)
        await asyncio.wait((answer,), timeout=PATIENCE_SECONDS)
        if answer.done():
            return answer.result()
        if monotonic() - self._last_done_at > self._limit_seconds + TERMINATION_SECONDS:
            self._replace(pool)
        future.cancel()  # type: ignore[no-untyped-call]
        raise WorkerError(f"{name} was given up: it waited for {PATIENCE_SECONDS:g} seconds.")

    def _forget(self, future: Future[Any]) -> None:
        self._waited_for.pop(future, None)
        self._last_done_at = monotonic()

    def _refuse_where_too_many(self, name: str) -> None:
        """Raises WorkerError where another task would be one too many, of all or of a member's."""
        member_id, waiting = acting_for.get(), tuple(self._waited_for.values())
        if len(waiting) >= TASKS_AT_ONCE:
            raise WorkerError(f"{name} was not begun: {len(waiting)} tasks run or wait already.")
        if member_id is not None and waiting.count(member_id) >= TASKS_OF_A_MEMBER:
            raise WorkerError(f"{name} was not begun: {TASKS_OF_A_MEMBER} tasks of member {member_id} wait.")

    async def close(self) -> None:
        """End all processes; whoever waits for work gets WorkerError. Closing twice does no harm."""
        self._closed = True
        if self._opening is not None:
            await asyncio.to_thread(self._stop)

    async def _pool(self) -> ProcessPool:
        """The pool in working order: opened where it is not yet, and anew where it broke."""
        while not self._closed:
            self.start()
            opening = self._opening
            assert opening is not None
            try:
                pool = await asyncio.shield(asyncio.wrap_future(opening))
                if pool.active:
                    return pool
            except Exception as error:
                if self._opening is opening:
                    self._opening = None  # the next one tries again
                raise WorkerError(f"No worker process could be started: {error}") from error
            if self._opening is opening:
                self._replace(pool)
        raise WorkerError(CLOSED)

    def _replace(self, pool: ProcessPool) -> None:
        """Open another instead, unless that was done already."""
        opening = self._opening
        if not self._closed and opening is not None and opening.done() and opening.result() is pool:
            self._opening = self._keeper.submit(self._open, instead_of=pool)

    def _open(self, instead_of: ProcessPool | None = None) -> ProcessPool:
        """A pool with its processes, in the keeper's thread."""
        if instead_of is not None:
            _end(instead_of)
        pool = ProcessPool(
            max_workers=WORKERS,
            max_tasks=TASKS_OF_A_PROCESS,
            initializer=_begin,
            initargs=(self._warm_up, self._memory_bytes),
            context=multiprocessing.get_context("spawn"),
        )
        assert pool.active  # asking is what starts it
        return pool

    def _stop(self) -> None:
        """Close, in a thread that may wait: also called when the interpreter ends."""
        self._closed = True
        atexit.unregister(self._stop)
        self._keeper.shutdown()
        if self._opening is not None and self._opening.exception() is None:
            _end(self._opening.result())
        for future in tuple(self._waited_for):
            if not future.done():
                future.set_exception(WorkerError(CLOSED))


def _hear(answer: asyncio.Future[Any]) -> None:
    """Take note of an error: whoever asked may be gone."""
    if not answer.cancelled():
        answer.exception()


def _end(pool: ProcessPool) -> None:
    pool.stop()  # type: ignore[no-untyped-call]
    # First of all the processes: one that is still starting would find the pool's pipes gone, and say so.
    for process in multiprocessing.active_children():
        if process.name == WORKERS_NAME:
            process.terminate()
            process.join(TERMINATION_SECONDS)
    pool.join()


def _leave_interrupts_to_others() -> None:
    """Block SIGINT in this thread, and so in all threads and processes begun in it: Ctrl-C in a terminal
    reaches the processes as well, also while they are still starting."""
    with suppress(AttributeError):  # Windows
        signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})


def _begin(warm_up: Callable[[], object] | None, memory_bytes: int) -> None:
    """What a new process does first. What goes wrong here will go wrong, and be told, in a task."""
    if resource is not None:
        with suppress(OSError, ValueError):  # the system allows less already
            resource.setrlimit(resource.RLIMIT_AS, (memory_bytes, memory_bytes))
    if warm_up is not None:
        with suppress(Exception):
            warm_up()


def _do(
    limit_seconds: float,
    work: Callable[..., Result],
    args: tuple[object, ...],
    kwargs: Mapping[str, object],
) -> Result:
    """The work, in the process. Its exception is put into words here, for not every one can be sent; the
    traceback comes along as the cause. A process that ran out of memory ends: it may have kept most of it."""
    _end_by_alarm(limit_seconds + TERMINATION_SECONDS)
    try:
        return work(*args, **kwargs)
    except MemoryError:
        os._exit(OUT_OF_MEMORY)
    except BaseException as error:
        raise WorkerError(f"{work.__name__} failed: {type(error).__name__}: {error}") from error
    finally:
        _end_by_alarm(0)


def _end_by_alarm(seconds: float) -> None:
    """Let the system end this process after so many seconds; 0: never. The pool ends it sooner, unless the
    bot was killed: then nobody else would end a task that goes on for ever."""
    if hasattr(signal, "setitimer"):
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        signal.setitimer(signal.ITIMER_REAL, seconds)
