"""Pressing twice: the second press mends a first that was too early, and what that costs.

With the second press `spacing_frames` after the first, success is u in [m - spacing, n + 1) for
accepted gaps m..n, while spacing <= n + 1 - m. Past that the middle has a hole, in which the first press
is too early and the second too late: the move comes out late. A spacing of 0 is one press.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from core.model import Character, Contact, ContactKind, Game, Means, Move, MoveKind
from core.permission import permission
from core.timing.chance import Chance, below, between, check
from core.timing.window import Window
from core.verdict import Answer, Code, Facts, Reason

SEARCH_POINTS = 16
GOLDEN = 0.6180339887498949
GOLDEN_STEPS = 24


@dataclass(frozen=True, slots=True)
class Edges:
    """Where u changes the result: early below `early_end`, late from `late_start` and in the hole."""

    early_end: float
    hole_start: float
    hole_end: float
    late_start: float

    @property
    def hole_frames(self) -> float:
        """The width of the hole; 0 where there is none."""
        return self.hole_end - self.hole_start


def edges(window: Window, spacing_frames: float = 0.0) -> Edges:
    """The edges for one press (spacing 0) or two. Where an early press chains, the second mends nothing."""
    if not spacing_frames >= 0:
        raise ValueError(f"The spacing of a double tap must be 0 frames or more, not {spacing_frames}.")
    first, end = window.first_gap, window.last_gap + 1
    if window.early_chains or spacing_frames == 0:
        return Edges(first, first, first, end)
    return Edges(first - spacing_frames, min(first, end - spacing_frames), first, end)


def press_chance(
    mean_gap: float, spread_frames: float, window: Window, spacing_frames: float = 0.0
) -> Chance:
    """The chance of one press or of two; `mean_gap` is the first press's. The hole counts as late."""
    check(mean_gap, spread_frames)
    edge = edges(window, spacing_frames)
    inside = between(edge.early_end - mean_gap, edge.late_start - mean_gap, spread_frames)
    hole = hole_chance(mean_gap, spread_frames, window, spacing_frames)
    late = below(1 - (edge.late_start - mean_gap), spread_frames) + hole
    return Chance(below(edge.early_end - mean_gap, spread_frames), max(0.0, inside - hole), late)


def hole_chance(mean_gap: float, spread_frames: float, window: Window, spacing_frames: float) -> float:
    """The chance that the two presses stand on either side of the window, which looks late."""
    edge = edges(window, spacing_frames)
    if edge.hole_frames == 0:
        return 0.0
    return between(edge.hole_start - mean_gap, edge.hole_end - mean_gap, spread_frames)


def best_aim(spread_frames: float, window: Window, spacing_frames: float = 0.0) -> float:
    """The mean gap of the first press with the best chance.

    For two presses half a spacing before the middle of the window, or, past a hole that pays to
    avoid, the later of two equal aims: there the first press lands and the second is the spare.

    >>> best_aim(1.0, Window(24, 27)), best_aim(1.0, Window(24, 27), 3)
    (25.5, 24.0)
    """
    edge = edges(window, spacing_frames)
    centre = (edge.early_end + edge.late_start - 1) / 2
    if edge.hole_frames == 0:
        return centre
    return _search(spread_frames, window, spacing_frames, centre)


def _search(spread_frames: float, window: Window, spacing_frames: float, centre: float) -> float:
    """The best aim from the centre to the window's middle; the chance mirrors about the centre."""

    def hit(mean_gap: float) -> float:
        return press_chance(mean_gap, spread_frames, window, spacing_frames).hit

    step = (window.middle_gap - centre) / SEARCH_POINTS
    best = max(range(SEARCH_POINTS + 1), key=lambda n: (hit(centre + n * step), n))
    low = centre + max(0, best - 1) * step
    high = centre + min(SEARCH_POINTS, best + 1) * step
    for _ in range(GOLDEN_STEPS):
        left, right = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
        if hit(left) > hit(right):
            high = right
        else:
            low = left
    return max(centre + best * step, (low + high) / 2, key=hit)


class TapCode(StrEnum):
    """Why a second press may be given, or may not."""

    NOTHING_REPEATS = "nothing-repeats"
    REPEATS = "repeats"
    LIGHT = "light"
    EARLY_CHAINS = "early-chains"
    NO_GAIN = "no-gain"


@dataclass(frozen=True, slots=True)
class TapReason:
    """One reason and the facts its sentence needs."""

    code: TapCode
    facts: Facts = Facts()


@dataclass(frozen=True, slots=True)
class TapAdvice:
    """Whether a second press costs nothing, and why. `missing`: what the game file leaves out."""

    answer: Answer
    reasons: tuple[TapReason, ...]
    missing: tuple[Reason, ...] = ()


def tap_advice(
    game: Game, character: Character, second: Move, means: Means, window: Window | None = None
) -> TapAdvice:
    """Whether to press `second` twice where it is reached by these means.

    Facts of REPEATS: `move`, `rule`, `means` and the `contact` on which the second press would give
    the move again; of LIGHT and EARLY_CHAINS: `move`, and `means`. No where a rule lets the move chain or
    cancel into itself, where it is a light that is linked or chained (common practice, no source:
    too fast, and few struggle with them), or where a press too early chains instead.
    """
    facts = Facts(move=second.input, means=means.value)
    against: list[TapReason] = []
    if is_light(game, second) and means in (Means.LINK, Means.CHAIN):
        against.append(TapReason(TapCode.LIGHT, facts))
    if window is not None and window.early_chains:
        against.append(TapReason(TapCode.EARLY_CHAINS, facts))
    repeats, missing = _repeats(game, character, second, means)
    against += repeats
    if against:
        return TapAdvice(Answer.NO, tuple(against))
    if missing:
        return TapAdvice(Answer.UNKNOWN, (), missing)
    return TapAdvice(Answer.YES, (TapReason(TapCode.NOTHING_REPEATS, facts),))


def is_light(game: Game, move: Move) -> bool:
    """Whether the move is a normal of the weakest of several strengths."""
    return move.kind is MoveKind.NORMAL and len(game.strengths) > 1 and move.strength == game.strengths[0]


def _repeats(
    game: Game, character: Character, move: Move, means: Means
) -> tuple[tuple[TapReason, ...], tuple[Reason, ...]]:
    """The first rule on each contact that lets the move follow itself, and what is not known of it."""
    found: list[TapReason] = []
    missing: list[Reason] = []
    for kind in ContactKind:
        spans = (1,) if kind is ContactKind.WHIFF else range(1, len(move.hits) + 1)
        contact = Contact(kind, came_by=means)
        answers = [permission(game, character, move, move, contact, hit) for hit in spans]
        rule = next((rule for answer in answers for rule in answer.rules), None)
        if rule is not None:
            facts = Facts(move=move.input, rule=rule.name, means=rule.means.value, contact=kind.value)
            found.append(TapReason(TapCode.REPEATS, facts))
        for answer in answers:
            if answer.missing is not None:
                missing += answer.missing.verdict.reasons
    if not move.hits and not found:
        missing.append(Reason(Code.NUMBER_MISSING, Facts(move=move.input, field="active")))
    return tuple(found), tuple(dict.fromkeys(missing))
