"""The posterior where one top does not tell it: cut into slices by bias.

Misses whose side nobody noted, and double taps with a hole, fit an early and a late player alike. For
each bias the best log scale is climbed to and its bend taken (Laplace, in the scale alone); slices
are added where the posterior is steep and matters.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from core.timing.likelihood import Cells, Prior, score

REACH_SDS = 2.5
"""Biases are looked at as far out as this many standard deviations of the prior."""
NEGLIGIBLE = 9.0
"""What lies this far below the top, in logs, is left out."""
LEAST_SHARE = math.exp(-NEGLIGIBLE)
STEEP = 1.0
FIRST_WIDTH_FRAMES = 2
ROUNDS = 9
CLOSE_SCALE = 0.04
CLIMBS = 15
LONGEST = 0.6


@dataclass(frozen=True, slots=True)
class Slice:
    """All scales at one bias: height (log), its slope by bias, best log scale and its variance."""

    bias_frames: float
    height: float
    slope: float
    log_scale: float
    variance: float


def slices(groups: Sequence[Cells], prior: Prior) -> list[tuple[float, Slice]]:
    """The slices that matter, by bias, each with its share of the posterior."""
    reach = math.ceil(REACH_SDS * prior.bias_sd_frames)
    found: list[Slice] = []
    for bias in range(-reach, reach + 1, FIRST_WIDTH_FRAMES):
        found.append(_cut(groups, prior, float(bias), found[-1].log_scale if found else 0.0))
    for _ in range(ROUNDS):
        top = max(one.height for one in found)
        finer = [found[0]]
        for left, right in pairwise(found):
            if _worth_cutting(left, right, top):
                middle = (left.bias_frames + right.bias_frames) / 2
                finer.append(_cut(groups, prior, middle, (left.log_scale + right.log_scale) / 2))
            finer.append(right)
        if len(finer) == len(found):
            break
        found = finer
    return _shared(found)


def _worth_cutting(left: Slice, right: Slice, top: float) -> bool:
    """Whether the posterior between two slices may be high and bends too much for a straight line."""
    width = right.bias_frames - left.bias_frames
    from_left, from_right = left.height + left.slope * width, right.height - right.slope * width
    highest = max(left.height, right.height, min(from_left, from_right))
    return highest > top - NEGLIGIBLE and max(abs(left.slope), abs(right.slope)) * width > STEEP


def _cut(groups: Sequence[Cells], prior: Prior, bias: float, log_scale: float) -> Slice:
    at = score(groups, prior, bias, log_scale)
    bend = at.scale_scale
    for _ in range(CLIMBS):
        step = max(-LONGEST, min(LONGEST, at.by_scale / bend))
        if abs(step) < CLOSE_SCALE:
            break
        trial = score(groups, prior, bias, log_scale + step)
        seen = (at.by_scale - trial.by_scale) / step
        if trial.value >= at.value:
            log_scale, at = log_scale + step, trial
            bend = seen if seen > 0 else at.scale_scale
        else:
            bend = max(2 * bend, seen)
    return Slice(bias, at.value - 0.5 * math.log(bend), at.by_bias, log_scale, 1 / bend)


def _shared(found: list[Slice]) -> list[tuple[float, Slice]]:
    top = max(one.height for one in found)
    biases = [found[0].bias_frames, *(one.bias_frames for one in found), found[-1].bias_frames]
    masses = [math.exp(one.height - top) * (biases[n + 2] - biases[n]) / 2 for n, one in enumerate(found)]
    kept = [(mass, one) for mass, one in zip(masses, found, strict=True) if mass > LEAST_SHARE * max(masses)]
    whole = sum(mass for mass, _ in kept)
    return [(mass / whole, one) for mass, one in kept]
