"""A player's bias and spread from tallies: the most likely values under a weak prior, and how sure.

Newton's method climbs to the top of the posterior, and a normal curve with its bend there (Laplace)
gives the 95 % credible intervals. Where an early and a late player explain the tallies alike (misses
whose side is not noted, double taps with a hole) the posterior is cut into slices instead, and the
values are its means.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from core.timing.chance import Chance
from core.timing.double_tap import best_aim, press_chance
from core.timing.likelihood import WEAK, Cells, Prior, Score, cells, score
from core.timing.slices import Slice, slices
from core.timing.spread import Spread
from core.timing.tally import Drop, Tally, grouped
from core.timing.window import Window

ENOUGH_TRIES = 10
SURENESS = 0.95
SURENESS_Z = 1.959963984540054
"""How many standard deviations of a normal curve hold that much."""
CLIMBS = 60
CLOSE = 1e-6
NEAR = 0.05
BEND_STEP = 1e-3
LONGEST_BIAS_STEP, LONGEST_SCALE_STEP = 2.0, 0.7


@dataclass(frozen=True, slots=True)
class TooFew:
    """Too few tries to tell anything."""

    tries: int
    needed: int = ENOUGH_TRIES


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its 95 % credible interval."""

    value: float
    low: float
    high: float

    @property
    def signed(self) -> bool:
        """Whether the interval lies on one side of 0."""
        return self.low > 0 or self.high < 0


@dataclass(frozen=True, slots=True)
class Hands:
    """One timing a player may have, and how likely it is."""

    bias_frames: float
    scale: float
    share: float


@dataclass(frozen=True, slots=True)
class Fit:
    """A player's timing. `bias_frames` below 0 is early; `scale`: spread as a multiple of the typical
    hands of the prior. `tries` are counted without weights. `hands`: what predictions average over."""

    tries: int
    bias_frames: Estimate
    scale: Estimate
    prior: Prior
    hands: tuple[Hands, ...]

    @property
    def spread(self) -> Spread:
        """The player's spread, by interval."""
        return self.prior.typical.times(self.scale.value)

    @property
    def likeliest(self) -> Hands:
        """The timing with the largest share; never between an early and a late one, as the means can be."""
        return max(self.hands, key=lambda hands: hands.share)

    def spread_frames(self, interval_frames: float) -> Estimate:
        """The player's spread at an interval."""
        typical = self.prior.typical.frames(interval_frames)
        scale = self.scale
        return Estimate(typical * scale.value, typical * scale.low, typical * scale.high)

    def aim(self, window: Window, spacing_frames: float = 0.0) -> float:
        """The best mean gap of the first press for hands with this spread."""
        return best_aim(self.spread.frames(window.middle_gap), window, spacing_frames)

    def predict(
        self,
        window: Window,
        spacing_frames: float = 0.0,
        aim_gap: float | None = None,
        corrected: bool = False,
    ) -> Chance:
        """The player's chance at a link, tried before or not, aimed at `aim_gap` (None: the best aim).

        `corrected`: as if the bias were gone.
        """
        aim = self.aim(window, spacing_frames) if aim_gap is None else aim_gap
        typical = self.prior.typical.frames(abs(aim))
        early = hit = late = 0.0
        for hands in self.hands:
            mean = aim if corrected else aim + hands.bias_frames
            chance = press_chance(mean, hands.scale * typical, window, spacing_frames)
            early += hands.share * chance.early
            hit += hands.share * chance.hit
            late += hands.share * chance.late
        return Chance(early, hit, late)


def fit(tallies: Sequence[Tally], prior: Prior = WEAK) -> Fit | TooFew:
    """Bias and spread from all tallies; `TooFew` below ten tries. Tallies of weight 0 do not count."""
    counted = [tally for tally in tallies if tally.weight > 0]
    tries = sum(tally.tries for tally in counted)
    if tries < ENOUGH_TRIES:
        return TooFew(tries)
    groups = grouped(counted)
    ready = cells(groups, prior)
    if not any(group.counts[Drop.MISSED] or group.borders.hole_frames for group in groups):
        return _at_the_top(tries, ready, prior)
    return _by_slices(tries, slices(ready, prior), prior)


def _at_the_top(tries: int, groups: Sequence[Cells], prior: Prior) -> Fit:
    bias, log_scale, at = _climb(groups, prior)
    bend = _bend(groups, prior, bias, log_scale) or (at.bias_bias, at.bias_scale, at.scale_scale)
    bb, bk, kk = bend
    determinant = bb * kk - bk * bk
    by_bias = SURENESS_Z * math.sqrt(kk / determinant)
    by_scale = SURENESS_Z * math.sqrt(bb / determinant)
    scale = _scale(log_scale, log_scale - by_scale, log_scale + by_scale)
    hands = (Hands(bias, scale.value, 1.0),)
    return Fit(tries, Estimate(bias, bias - by_bias, bias + by_bias), scale, prior, hands)


def _by_slices(tries: int, parts: list[tuple[float, Slice]], prior: Prior) -> Fit:
    bias = sum(share * part.bias_frames for share, part in parts)
    log_scale = sum(share * part.log_scale for share, part in parts)
    tail = (1 - SURENESS) / 2
    far = 1 + prior.bias_sd_frames * 5

    def biases_below(border: float) -> float:
        """Each slice's share lies evenly between the middles of its neighbours."""
        total = 0.0
        for n, (share, part) in enumerate(parts):
            before = parts[n - 1][1].bias_frames if n else part.bias_frames
            after = parts[n + 1][1].bias_frames if n + 1 < len(parts) else part.bias_frames
            low, high = (before + part.bias_frames) / 2, (part.bias_frames + after) / 2
            total += share * (
                min(1.0, max(0.0, (border - low) / (high - low))) if high > low else border >= low
            )
        return total

    def scales_below(border: float) -> float:
        return sum(
            share * 0.5 * math.erfc((part.log_scale - border) / math.sqrt(2 * part.variance))
            for share, part in parts
        )

    biases = [_quantile(biases_below, share, far) for share in (tail, 1 - tail)]
    scales = [_quantile(scales_below, share, far) for share in (tail, 1 - tail)]
    hands = tuple(Hands(part.bias_frames, math.exp(part.log_scale), share) for share, part in parts)
    return Fit(tries, Estimate(bias, *biases), _scale(log_scale, *scales), prior, hands)


def _scale(log_scale: float, low: float, high: float) -> Estimate:
    return Estimate(math.exp(log_scale), math.exp(low), math.exp(high))


def _quantile(below: Callable[[float], float], share: float, far: float) -> float:
    """Where a rising function reaches `share`, between -far and far."""
    low, high = -far, far
    for _ in range(25):
        middle = (low + high) / 2
        low, high = (middle, high) if below(middle) < share else (low, middle)
    return (low + high) / 2


def _climb(groups: Sequence[Cells], prior: Prior) -> tuple[float, float, Score]:
    """Bias, log scale and score of the top, by steps that never go down, from wide hands without bias."""
    bias, log_scale = 0.0, math.log(2)
    at = score(groups, prior, bias, log_scale)
    for _ in range(CLIMBS):
        bend = (at.bias_bias, at.bias_scale, at.scale_scale)
        step_b, step_k = _solve(bend, at.by_bias, at.by_scale)
        if max(abs(step_b), abs(step_k)) < NEAR:
            sharper = _bend(groups, prior, bias, log_scale)
            step_b, step_k = _solve(sharper or bend, at.by_bias, at.by_scale)
        shrink = max(1.0, abs(step_b) / LONGEST_BIAS_STEP, abs(step_k) / LONGEST_SCALE_STEP)
        step_b, step_k = step_b / shrink, step_k / shrink
        trial = score(groups, prior, bias + step_b, log_scale + step_k)
        while trial.value < at.value and max(abs(step_b), abs(step_k)) > CLOSE:
            step_b, step_k = step_b / 2, step_k / 2
            trial = score(groups, prior, bias + step_b, log_scale + step_k)
        if trial.value >= at.value:
            bias, log_scale, at = bias + step_b, log_scale + step_k, trial
        if max(abs(step_b), abs(step_k)) <= CLOSE:
            break
    return bias, log_scale, at


def _bend(
    groups: Sequence[Cells], prior: Prior, bias: float, log_scale: float
) -> tuple[float, float, float] | None:
    """How sharply the score bends down (bias, mixed, scale), from slopes nearby; None where it is no top."""
    right = score(groups, prior, bias + BEND_STEP, log_scale)
    left = score(groups, prior, bias - BEND_STEP, log_scale)
    up = score(groups, prior, bias, log_scale + BEND_STEP)
    down = score(groups, prior, bias, log_scale - BEND_STEP)
    width = 2 * BEND_STEP
    bb, kk = (left.by_bias - right.by_bias) / width, (down.by_scale - up.by_scale) / width
    bk = (left.by_scale - right.by_scale + down.by_bias - up.by_bias) / (2 * width)
    return (bb, bk, kk) if bb > 0 and bb * kk > bk * bk else None


def _solve(bend: tuple[float, float, float], by_bias: float, by_scale: float) -> tuple[float, float]:
    bb, bk, kk = bend
    determinant = bb * kk - bk * bk
    return (kk * by_bias - bk * by_scale) / determinant, (bb * by_scale - bk * by_bias) / determinant
