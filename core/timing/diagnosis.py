"""What a fit says about one link or route, as values: the sentence is made where words are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from core.timing.chain import in_rhythm, route_chance
from core.timing.chance import Chance
from core.timing.double_tap import TapAdvice, TapCode, TapReason, edges
from core.timing.fit import Estimate, Fit
from core.timing.window import Window
from core.verdict import Answer, Facts

TYPICAL_SPACING_FRAMES = 6.0
"""Of a double tap with one finger: often 5 to 9 frames (common practice, no source); measure it."""
WORTH = 0.02
"""A second press that adds less than this to the chance is not worth it."""
ON_TIME_FRAMES = 0.5


class Tendency(StrEnum):
    """How the player stands to the aim: on time where the bias is surely within half a frame."""

    EARLY = "early"
    LATE = "late"
    ON_TIME = "on time"
    NOT_CLEAR = "not clear"


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """One link and one player. Bias and spread in frames and ms, early below 0.

    `aim_gap`: where one press should fall; `aim_from_start_frames`: the same from the first frame
    on which the move can start, which the player sees as the end of the move before (None: not known).
    `aim_shift_frames`: how much later than now to aim (below 0: earlier). `one` and `two`: the chance as the
    player presses now, with one press and with two; `..._mended`: with the bias gone. `two_aim_gap`:
    where the first of the two should fall. `hole_frames`: the hole between the two. `two_advised`: whether
    to press twice, and why or why not.
    """

    tendency: Tendency
    bias_frames: Estimate
    bias_ms: Estimate
    spread_frames: Estimate
    spread_ms: Estimate
    tries: int
    aim_gap: float
    aim_from_start_frames: float | None
    aim_shift_frames: float
    one: Chance
    one_mended: Chance
    two: Chance
    two_mended: Chance
    two_aim_gap: float
    spacing_frames: float
    hole_frames: float
    two_advised: TapAdvice


def diagnose(
    fit: Fit,
    window: Window,
    fps: float,
    advice: TapAdvice,
    spacing_frames: float = TYPICAL_SPACING_FRAMES,
) -> Diagnosis:
    """The diagnosis of one link, tried before or not. `advice`: what the rules say of a second press."""
    frame_ms = 1000 / fps
    aim = fit.aim(window)
    spread = fit.spread_frames(aim)
    one, two = fit.predict(window), fit.predict(window, spacing_frames)
    return Diagnosis(
        tendency=tendency(fit.bias_frames),
        bias_frames=fit.bias_frames,
        bias_ms=_times(fit.bias_frames, frame_ms),
        spread_frames=spread,
        spread_ms=_times(spread, frame_ms),
        tries=fit.tries,
        aim_gap=aim,
        aim_from_start_frames=None if window.start_gap is None else aim - window.start_gap,
        aim_shift_frames=-fit.bias_frames.value,
        one=one,
        one_mended=fit.predict(window, corrected=True),
        two=two,
        two_mended=fit.predict(window, spacing_frames, corrected=True),
        two_aim_gap=fit.aim(window, spacing_frames),
        spacing_frames=spacing_frames,
        hole_frames=edges(window, spacing_frames).hole_frames,
        two_advised=_worth_it(advice, one, two),
    )


def tendency(bias_frames: Estimate) -> Tendency:
    """Early, late or on time, where the interval says so.

    >>> tendency(Estimate(-1.3, -1.8, -0.8)), tendency(Estimate(0.2, -1, 1.4))
    (<Tendency.EARLY: 'early'>, <Tendency.NOT_CLEAR: 'not clear'>)
    """
    if bias_frames.low >= -ON_TIME_FRAMES and bias_frames.high <= ON_TIME_FRAMES:
        return Tendency.ON_TIME
    if not bias_frames.signed:
        return Tendency.NOT_CLEAR
    return Tendency.EARLY if bias_frames.value < 0 else Tendency.LATE


@dataclass(frozen=True, slots=True)
class Bottleneck:
    """The step of a route that lands least often, once reached, counted from 0; the chance of the
    whole route, and of the whole if that step never dropped."""

    step: int
    steps: tuple[Chance, ...]
    whole: float
    whole_without: float


def bottleneck(fit: Fit, windows: Sequence[Window]) -> Bottleneck:
    """Where a route drops, for a player who presses each step once, in rhythm."""
    hands = fit.likeliest
    steps = in_rhythm(windows, fit.prior.typical.times(hands.scale), hands.bias_frames)
    route = route_chance(steps)
    weakest = route.steps[route.bottleneck].hit
    without = route.whole / weakest if weakest > 0 else 0.0
    return Bottleneck(route.bottleneck, route.steps, route.whole, min(1.0, without))


def _times(estimate: Estimate, factor: float) -> Estimate:
    return Estimate(estimate.value * factor, estimate.low * factor, estimate.high * factor)


def _worth_it(advice: TapAdvice, one: Chance, two: Chance) -> TapAdvice:
    if advice.answer is Answer.NO or two.hit - one.hit >= WORTH:
        return advice
    facts = Facts(one_chance=one.hit, two_chance=two.hit)
    return TapAdvice(Answer.NO, (TapReason(TapCode.NO_GAIN, facts),), advice.missing)
