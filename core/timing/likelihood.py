"""How well a bias and a scale of spread explain the tallies, with slopes, for the fit to climb.

The two unknowns are the bias b in frames (a press aimed at a comes at a + b) and the logarithm k of
the scale: presses aimed at an interval scatter exp(k) times as much as typical hands.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from core.timing.chance import DENSITY_AT_0, ROOT_HALF
from core.timing.spread import TYPICAL, Spread
from core.timing.tally import Drop, Group

LAPSE = 0.002
"""The part of the tries that end anyhow: a slip of the hand, a miscount. It keeps one odd try from
deciding a fit."""
LAPSED_GAPS = 60
"""The gaps over which a lapse is taken to be spread."""

Cut = tuple[float, float, float]
"""P(u < a) and its slopes by b and by k."""
NEVER: Cut = (0.0, 0.0, 0.0)
ALWAYS: Cut = (1.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Prior:
    """What is believed before any tally: bias ~ Normal(0, sd), log scale ~ Normal(0, sd), and the
    spread of hands with scale 1."""

    name: str
    bias_sd_frames: float
    log_scale_sd: float
    typical: Spread


WEAK = Prior("weak", bias_sd_frames=4.0, log_scale_sd=0.8, typical=TYPICAL)
"""95 % of players within 8 frames of their aim, with 1/5 to 5 times the typical spread: our own guess, wide
enough that a few dozen tries outweigh it."""


@dataclass(frozen=True, slots=True)
class Score:
    """The log of likelihood times prior at one point, its two slopes, and the summed squares of the
    tries' slopes (an estimate of how sharply it bends)."""

    value: float
    by_bias: float
    by_scale: float
    bias_bias: float
    bias_scale: float
    scale_scale: float


@dataclass(frozen=True, slots=True)
class Cells:
    """One group ready for scoring: typical spread, the cuts of u, and weighted counts."""

    spread_frames: float
    early_end: float
    hole: tuple[float, float] | None
    late_start: float
    counts: tuple[float, float, float, float]
    gaps: tuple[tuple[float, float], ...]


def cells(groups: Sequence[Group], prior: Prior) -> list[Cells]:
    """The groups as the score reads them."""
    found = []
    for group in groups:
        edge = group.borders
        hole = (edge.hole_start, edge.hole_end) if edge.hole_frames else None
        counts = group.counts
        found.append(
            Cells(
                prior.typical.frames(group.interval_frames),
                edge.early_end,
                hole,
                edge.late_start,
                (counts[Drop.HIT], counts[Drop.EARLY], counts[Drop.LATE], counts[Drop.MISSED]),
                tuple(group.gaps.items()),
            )
        )
    return found


def score(groups: Sequence[Cells], prior: Prior, bias: float, log_scale: float) -> Score:
    """The score of one bias and log scale."""
    weight_b, weight_k = prior.bias_sd_frames**-2, prior.log_scale_sd**-2
    value = -0.5 * (weight_b * bias * bias + weight_k * log_scale * log_scale)
    by_b, by_k = -weight_b * bias, -weight_k * log_scale
    bb, bk, kk = weight_b, 0.0, weight_k
    scale = math.exp(log_scale)
    for group in groups:
        for p, slope_b, slope_k, count in _results(group, bias, scale):
            value += count * math.log(p)
            slope_b /= p
            slope_k /= p
            by_b += count * slope_b
            by_k += count * slope_k
            bb += count * slope_b * slope_b
            bk += count * slope_b * slope_k
            kk += count * slope_k * slope_k
    return Score(value, by_b, by_k, bb, bk, kk)


def _results(group: Cells, bias: float, scale: float) -> list[tuple[float, float, float, float]]:
    """Chance, slopes and count of every result that was seen, lapses mixed in."""
    spread = group.spread_frames * scale
    hit, early, late, missed = group.counts
    found = []
    if hit or early or late or missed:
        low = _cut(group.early_end - bias, spread)
        high = _cut(group.late_start - bias, spread)
        gone = NEVER
        if group.hole is not None:
            gone = _part(_cut(group.hole[0] - bias, spread), _cut(group.hole[1] - bias, spread))
        landed = _part(gone, _part(low, high))
        seen = (
            (landed, hit, 1 / 3),
            (low, early, 1 / 3),
            (_part(low, _part(landed, ALWAYS)), late, 1 / 3),
            (_part(landed, ALWAYS), missed, 2 / 3),
        )
        found = [_lapsing(part, count, share) for part, count, share in seen if count]
    for gap, count in group.gaps:
        part = _part(_cut(gap - bias, spread), _cut(gap + 1 - bias, spread))
        found.append(_lapsing(part, count, 1 / LAPSED_GAPS))
    return found


def _lapsing(part: Cut, count: float, share: float) -> tuple[float, float, float, float]:
    stays = 1 - LAPSE
    return stays * max(0.0, part[0]) + LAPSE * share, stays * part[1], stays * part[2], count


def _part(low: Cut, high: Cut) -> Cut:
    return high[0] - low[0], high[1] - low[1], high[2] - low[2]


def _cut(distance: float, spread: float) -> Cut:
    """P(u < a), as `core.timing.chance.below` has it, with its slopes."""
    z, y = distance / spread, (distance - 1) / spread
    density_z = DENSITY_AT_0 * math.exp(-0.5 * z * z)
    density_y = DENSITY_AT_0 * math.exp(-0.5 * y * y)
    share_z, share_y = 0.5 * math.erfc(-z * ROOT_HALF), 0.5 * math.erfc(-y * ROOT_HALF)
    steeper = density_z - density_y
    p = spread * steeper + distance * share_z - (distance - 1) * share_y
    return p, share_y - share_z, spread * steeper
