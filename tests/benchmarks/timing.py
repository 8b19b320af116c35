"""How fast press timing is worked out, beside scipy.stats in the same run.

Run by hand: `python tests/benchmarks/timing.py`. Each row is the best of several rounds.
"""

from __future__ import annotations

import random
import sys
from pathlib import Path

from scipy import stats

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT)]

from stopwatch import best_ms  # noqa: E402

from core.timing import TYPICAL, Tally, Window, bottleneck, chance, fit  # noqa: E402
from core.timing.fit import Fit  # noqa: E402

MEAN, SPREAD, FIRST, LAST = 24.2, 1.4, 24, 27


def with_scipy() -> tuple[float, float, float]:
    """The same closed form on scipy's normal distribution."""

    def below(edge: float) -> float:
        def h(a: float) -> float:
            z = (MEAN - a) / SPREAD
            return float(SPREAD * (stats.norm.pdf(z) + z * stats.norm.cdf(z)))

        return 1 - (h(edge - 1) - h(edge))

    early, soon = below(FIRST), below(LAST + 1)
    return early, soon - early, 1 - soon


def tallies(links: int, sides: bool, spacing: float = 0.0) -> list[Tally]:
    """200 tallies of ten tries by a player 0.8 frames early, over so many links."""
    rng = random.Random(1)
    windows = [Window(20 + n % 23, 20 + n % 23 + n % 4) for n in range(links)]
    found = []
    for n in range(200):
        window = windows[n % links]
        aim = window.middle_gap - spacing / 2
        presses = [rng.random() + rng.gauss(aim - 0.8, 1.2 * TYPICAL.frames(aim)) for _ in range(10)]
        early = sum(u < window.first_gap - spacing for u in presses)
        late = sum(u >= window.last_gap + 1 for u in presses)
        noted = (early, late) if sides else (0, 0)
        found.append(Tally(window, 10, 10 - early - late, *noted, spacing_frames=spacing))
    return found


def main() -> None:
    ours = best_ms(lambda: chance(MEAN, SPREAD, FIRST, LAST), 5000)
    theirs = best_ms(with_scipy, 200)
    one_cdf = best_ms(lambda: stats.norm.cdf(FIRST, MEAN, SPREAD), 500)
    print(f"chance of a press: {1000 / ours:,.0f} a second")
    print(f"the same on scipy.stats: {1000 / theirs:,.0f} a second: x{theirs / ours:.0f}")
    print(f"one scipy.stats.norm.cdf alone: {1000 / one_cdf:,.0f} a second: x{one_cdf / ours:.0f}")
    for links in (1, 10, 20, 90):
        for sides in (True, False):
            data = tallies(links, sides)
            ms = best_ms(lambda data=data: fit(data), 3)  # type: ignore[misc]
            noted = "noted" if sides else "not noted"
            print(f"fit of 200 tallies over {links} links, sides {noted}: {ms:.1f} ms")
    double = tallies(20, True, 2.0)
    print(f"fit of 200 double-tap tallies over 20 links: {best_ms(lambda: fit(double), 3):.1f} ms")
    found = fit(tallies(10, True))
    assert isinstance(found, Fit)
    route = (Window(22, 27, 25), Window(30, 33, 33), Window(8, 24, 22), Window(22, 27, 25))
    print(f"a route of four presses: {best_ms(lambda: bottleneck(found, route), 3):.1f} ms")


if __name__ == "__main__":
    main()
