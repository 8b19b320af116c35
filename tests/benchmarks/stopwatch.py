"""How long a job takes, for the benchmarks beside it."""

from __future__ import annotations

import gc
import resource
import statistics
import time
from collections.abc import Awaitable, Callable, Sequence


def best_ms(job: Callable[[], object], times: int, rounds: int = 7) -> float:
    """Milliseconds of one run of `job`: the best round of `times` runs each."""
    best = float("inf")
    for _ in range(rounds):
        started = time.perf_counter()
        for _ in range(times):
            job()
        best = min(best, (time.perf_counter() - started) / times * 1000)
    return best


async def best_of(job: Callable[[], Awaitable[object]], rounds: int) -> float:
    """Milliseconds of the best run."""
    best = float("inf")
    for _ in range(rounds):
        started = time.perf_counter()
        await job()
        best = min(best, (time.perf_counter() - started) * 1000)
    return best


def middle(times: Sequence[float]) -> float:
    """The median."""
    return statistics.median(times)


def p95(times: Sequence[float]) -> float:
    """What 95 of 100 do not exceed."""
    return sorted(times)[int(len(times) * 0.95)]


def peak_mib() -> float:
    """The most memory this process has held so far (Linux counts it in KiB)."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def set_heap_aside() -> None:
    """Have the garbage collector leave alone what there is now. The simulator keeps every message, and
    looking through those again and again is no cost of the bot's."""
    gc.collect()
    gc.freeze()
