"""A pool of processes for slow work: pictures, fits, searches. Nothing is spawned before it is needed.

What cannot be done comes as `WorkerError`, and the pool goes on: a process that crashed, or was stopped for
taking too long, is replaced, and a pool that broke is opened anew. A thread of its own opens and closes the
processes, so that the event loop never waits for them. Close the pool before the event loop ends.
"""

from __future__ import annotations

import asyncio
import atexit
import logging
import multiprocessing
import signal
from collections.abc import Callable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from typing import Any, ParamSpec, TypeVar

from pebble import ProcessExpired, ProcessPool
from pebble.pool.process import WORKERS_NAME

from bot.ports import WorkerError

log = logging.getLogger(__name__)

P = ParamSpec("P")
Result = TypeVar("Result")

WORKERS = 2
LIMIT_SECONDS = 10.0
TERMINATION_SECONDS = 3.0
TASKS_OF_A_PROCESS = 200
"""After so many tasks a process is replaced, so that what it leaks stays small."""

CLOSED = "The worker processes are closed."


class WorkerPool:
    """Does slow work in other processes; the `Worker` of bot/ports.

    `warm_up` is a function of some module: each process calls it once, before its first task. A task that
    runs for longer than `limit_seconds` is given up.
    """

    def __init__(
        self, warm_up: Callable[[], object] | None = None, limit_seconds: float = LIMIT_SECONDS
    ) -> None:
        self._warm_up = warm_up
        self._limit_seconds = limit_seconds
        self._keeper = ThreadPoolExecutor(1, "worker-pool", initializer=_leave_interrupts_to_others)
        self._opening: Future[ProcessPool] | None = None
        self._waited_for: set[Future[Any]] = set()
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
        self, work: Callable[..., Result], args: tuple[object, ...], kwargs: Mapping[str, object]
    ) -> Result:
        pool = await self._pool()
        name = getattr(work, "__name__", str(work))
        try:
            future = pool.schedule(_do, args=(work, args, kwargs), timeout=self._limit_seconds)
            self._waited_for.add(future)
            future.add_done_callback(self._waited_for.discard)
            return await asyncio.shield(asyncio.wrap_future(future))
        except WorkerError:
            raise
        except TimeoutError as error:
            raise WorkerError(f"{name} was given up after {self._limit_seconds:g} seconds.") from error
        except ProcessExpired as error:
            raise WorkerError(f"The process of {name} died (exit code {error.exitcode}).") from error
        except Exception as error:
            raise WorkerError(CLOSED if self._closed else f"{name} could not be done: {error}") from error

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
            if self._opening is opening and not self._closed:
                self._opening = self._keeper.submit(self._open, instead_of=pool)
        raise WorkerError(CLOSED)

    def _open(self, instead_of: ProcessPool | None = None) -> ProcessPool:
        """A pool with its processes, in the keeper's thread."""
        if instead_of is not None:
            _end(instead_of)
        pool = ProcessPool(
            max_workers=WORKERS,
            max_tasks=TASKS_OF_A_PROCESS,
            initializer=_begin,
            initargs=(self._warm_up,),
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


def _begin(warm_up: Callable[[], object] | None) -> None:
    """What a new process does first. What goes wrong here will go wrong, and be told, in a task."""
    if warm_up is not None:
        with suppress(Exception):
            warm_up()


def _do(work: Callable[..., Result], args: tuple[object, ...], kwargs: Mapping[str, object]) -> Result:
    """The work, in the process. Its exception is put into words here, for not every one can be sent; the
    traceback comes along as the cause."""
    try:
        return work(*args, **kwargs)
    except BaseException as error:
        raise WorkerError(f"{work.__name__} failed: {type(error).__name__}: {error}") from error
