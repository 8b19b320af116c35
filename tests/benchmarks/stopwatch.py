"""How long a job takes, for the benchmarks beside it."""

from __future__ import annotations

import time
from collections.abc import Callable


def best_ms(job: Callable[[], object], times: int, rounds: int = 7) -> float:
    """Milliseconds of one run of `job`: the best round of `times` runs each."""
    best = float("inf")
    for _ in range(rounds):
        started = time.perf_counter()
        for _ in range(times):
            job()
        best = min(best, (time.perf_counter() - started) / times * 1000)
    return best
