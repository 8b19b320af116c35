"""The chance that one press lands: a normal gap seen through a frame clock of uniform phase.

The gap between two presses is x ~ Normal(mean, spread) in frames. The first press falls anywhere in
its frame, so the game sees floor(u) with u = phase + x, phase uniform on [0, 1). With
H(a) = E[max(0, x - a)], P(u < a) = 1 - (H(a - 1) - H(a)). Differences of H lose digits where a
chance is tiny: chances are good to about 1e-11 absolutely, not relatively.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from core.timing.window import Window

ROOT_HALF = math.sqrt(0.5)
DENSITY_AT_0 = 1 / math.sqrt(2 * math.pi)
WIDE_FRAMES = 1e5
"""From this spread on the phase is worth its mean: the error is below 1e-12, that of H is not."""


@dataclass(frozen=True, slots=True)
class Chance:
    """What a press comes to: too early, in time, too late. The three add up to 1."""

    early: float
    hit: float
    late: float


def ramp(distance: float, spread: float) -> float:
    """E[max(0, distance + e)], e ~ Normal(0, spread): H(a) is ramp(mean - a).

    >>> ramp(2, 0), ramp(-2, 0), round(ramp(0, 1), 6)
    (2, 0, 0.398942)
    """
    if spread == 0:
        return max(0, distance)
    z = distance / spread
    density = DENSITY_AT_0 * math.exp(-0.5 * z * z)
    return max(0.0, spread * density + distance * 0.5 * math.erfc(-z * ROOT_HALF))


def below(distance: float, spread: float) -> float:
    """P(u < mean + distance), the tail on either side taken from its own side.

    >>> below(0.5, 0), round(below(0.5, 3.0), 12), below(2, 0)
    (0.5, 0.5, 1)
    """
    if spread > WIDE_FRAMES:
        return 0.5 * math.erfc((0.5 - distance) / spread * ROOT_HALF)
    if distance > 0.5:
        return 1 - (ramp(1 - distance, spread) - ramp(-distance, spread))
    return ramp(distance, spread) - ramp(distance - 1, spread)


def between(low: float, high: float, spread: float) -> float:
    """P(mean + low <= u < mean + high)."""
    if low > 0.5:
        low, high = 1 - high, 1 - low
    return max(0.0, below(high, spread) - below(low, spread))


def chance(mean_gap: float, spread_frames: float, first_gap: int, last_gap: int) -> Chance:
    """The chance of a press whose gap is Normal(mean, spread), where first..last are accepted.

    A spread of 0 is a machine, an infinite one a guess. ValueError where a number is none.

    >>> chance(24.5, 0, 24, 25)
    Chance(early=0, hit=1, late=0)
    """
    check(mean_gap, spread_frames)
    low, high = first_gap - mean_gap, last_gap + 1 - mean_gap
    late = below(1 - high, spread_frames)
    return Chance(below(low, spread_frames), between(low, high, spread_frames), late)


def best_chance(spread_frames: float, window: Window) -> Chance:
    """The chance of one press aimed at the middle of the window, which no other aim beats."""
    return chance(window.middle_gap, spread_frames, window.first_gap, window.last_gap)


def check(mean_gap: float, spread_frames: float) -> None:
    """Raises ValueError where the mean is not finite, or the spread below 0 or no number."""
    if not math.isfinite(mean_gap):
        raise ValueError(f"The mean gap must be a finite number of frames, not {mean_gap}.")
    if not spread_frames >= 0:
        raise ValueError(f"The spread must be 0 frames or more, not {spread_frames}.")
