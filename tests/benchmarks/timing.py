"""How fast press timing is worked out, beside scipy.stats. Aims (step 4): 20 times scipy, 20 ms a fit."""

from __future__ import annotations

import random

from benchmarks.figures import Figure, alone, at_most, ratio_at_least, times_as_fast
from benchmarks.stopwatch import best_ms
from scipy import stats

from core.timing import TYPICAL, Tally, Window, bottleneck, chance, fit
from core.timing.fit import Fit

MEAN, SPREAD, FIRST, LAST = 24.2, 1.4, 24, 27
TALLIES = 200
FIT_MS = at_most(20)


def with_scipy() -> tuple[float, float, float]:
    """The same closed form on scipy's normal distribution."""

    def below(edge: float) -> float:
        def h(a: float) -> float:
            z = (MEAN - a) / SPREAD
            return float(SPREAD * (stats.norm.pdf(z) + z * stats.norm.cdf(z)))

        return 1 - (h(edge - 1) - h(edge))

    early, soon = below(FIRST), below(LAST + 1)
    return early, soon - early, 1 - soon


def tallies(count: int, links: int, sides: bool, spacing: float = 0.0) -> list[Tally]:
    """So many tallies of ten tries by a player 0.8 frames early, over so many links."""
    rng = random.Random(1)
    windows = [Window(20 + n % 23, 20 + n % 23 + n % 4) for n in range(links)]
    found = []
    for n in range(count):
        window = windows[n % links]
        aim = window.middle_gap - spacing / 2
        presses = [rng.random() + rng.gauss(aim - 0.8, 1.2 * TYPICAL.frames(aim)) for _ in range(10)]
        early = sum(u < window.first_gap - spacing for u in presses)
        late = sum(u >= window.last_gap + 1 for u in presses)
        noted = (early, late) if sides else (0, 0)
        found.append(Tally(window, 10, 10 - early - late, *noted, spacing_frames=spacing))
    return found


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of press timing."""
    scale, count = (1, 20) if tiny else (1000, TALLIES)
    ours = best_ms(lambda: chance(MEAN, SPREAD, FIRST, LAST), 5 * scale)
    theirs = best_ms(with_scipy, 1 if tiny else 200)
    one_cdf = best_ms(lambda: stats.norm.cdf(FIRST, MEAN, SPREAD), 1 if tiny else 500)
    made = [
        times_as_fast(
            "timing.chance",
            "the chance of a press, beside the same on scipy.stats",
            ours,
            theirs,
            aim=ratio_at_least(20),
        ),
        times_as_fast(
            "timing.chance_cdf",
            "the chance of a press, beside one scipy.stats.norm.cdf alone",
            ours,
            one_cdf,
        ),
    ]
    times, rounds = (1, 1) if tiny else (3, 7)
    for links in (1, 10, 20, 90):
        for sides in (True, False):
            data = tallies(count, links, sides)
            ms = best_ms(lambda data=data: fit(data), times, rounds)  # type: ignore[misc]
            noted = "noted" if sides else "not noted"
            what = f"fit of {count} tallies over {links} links, sides {noted}"
            made.append(alone(f"timing.fit_{links}_{noted.replace(' ', '_')}", what, ms, aim=FIT_MS))
    double = tallies(count, 20, True, 2.0)
    ms = best_ms(lambda: fit(double), times, rounds)
    made.append(alone("timing.fit_double_tap", f"fit of {count} double taps over 20 links", ms, aim=FIT_MS))
    found = fit(tallies(count, 10, True))
    assert isinstance(found, Fit)
    route = (Window(22, 27, 25), Window(30, 33, 33), Window(8, 24, 22), Window(22, 27, 25))
    ms = best_ms(lambda: bottleneck(found, route), times, rounds)
    made.append(alone("timing.route", "which of a route's four presses decides", ms))
    return tuple(made)
