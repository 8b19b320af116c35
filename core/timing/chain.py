"""The chance of a whole route, press after press.

The player keeps a rhythm from press to press; the game measures each gap from the frame on which the
move before started. A press held by the buffer starts its move later than it was pressed, so the
next press, in rhythm, comes that much too soon: a route is not the product of its links. What is
carried on is the distribution of the press, in real frames, from the start frame of its move: below 0
where it was held, else within the frame. Parts of a frame are cells of 1/16; a press is
taken to be uniform within its cell, which costs chances less than 0.001 from a spread of 0.3 frames on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from core.timing.chance import Chance, below, check
from core.timing.spread import Spread
from core.timing.window import Window

CELLS = 16
"""Cells to a frame."""


@dataclass(frozen=True, slots=True)
class Step:
    """One press of a route: what is accepted, counted from the start of the move before, and the
    mean and spread of the gap from the press before."""

    window: Window
    mean_gap: float
    spread_frames: float


@dataclass(frozen=True, slots=True)
class RouteChance:
    """Each step's chance, given that all before it landed, and the chance of the whole.

    A step that is never reached has the chance of a press after a start at once.
    """

    steps: tuple[Chance, ...]
    whole: float

    @property
    def bottleneck(self) -> int:
        """The number, from 0, of the step that lands least often; the first of equal ones."""
        return min(range(len(self.steps)), key=lambda n: self.steps[n].hit)


def in_rhythm(windows: Sequence[Window], spread: Spread, bias_frames: float) -> tuple[Step, ...]:
    """The steps of a player who aims each press at the middle of its window, in one rhythm.

    A move whose press is aimed before it may start starts at once when it may: the gap to the next
    press is that much longer. The bias is added to each gap.
    """
    steps: list[Step] = []
    held = 0.0
    for window in windows:
        aim = window.middle_gap + held
        steps.append(Step(window, aim + bias_frames, spread.frames(aim)))
        held = window.starts(window.middle_gap) - window.middle_gap
    return tuple(steps)


def route_chance(steps: Sequence[Step]) -> RouteChance:
    """The chance of each step and of the whole route; a route needs at least one step."""
    if not steps:
        raise ValueError("A route needs at least two moves, so that there is a press to time.")
    fresh = dict.fromkeys(range(CELLS), 1 / CELLS)
    offsets, whole, found = fresh, 1.0, []
    for step in steps:
        check(step.mean_gap, step.spread_frames)
        chance, carried = _press(offsets, step)
        found.append(chance)
        whole *= chance.hit
        total = sum(carried.values())
        offsets = {cell: mass / total for cell, mass in carried.items()} if total > 0 else fresh
    return RouteChance(tuple(found), whole)


def _press(offsets: dict[int, float], step: Step) -> tuple[Chance, dict[int, float]]:
    """One press after those offsets (cell -> chance): how it ends, and its own offsets where it lands."""
    window = step.window
    first, end = window.first_gap * CELLS, (window.last_gap + 1) * CELLS
    low, high = first - max(offsets), end - min(offsets)
    mean, spread = step.mean_gap * CELLS, step.spread_frames * CELLS
    lower = [below(cell - mean, spread) for cell in range(low, high + 1)]
    within = [after - before for before, after in pairwise(lower)]
    early = sum(mass * lower[first - cell - low] for cell, mass in offsets.items())
    late = sum(mass * (1 - lower[end - cell - low]) for cell, mass in offsets.items())
    landed = [0.0] * (end - first)
    for cell, mass in offsets.items():
        shift = first - cell - low
        for n in range(end - first):
            landed[n] += mass * within[n + shift]
    start = first if window.start_gap is None else window.start_gap * CELLS
    carried: dict[int, float] = {}
    for n, mass in enumerate(landed):
        at = first + n
        offset = at - start if at < start else at % CELLS
        carried[offset] = carried.get(offset, 0.0) + mass
    hit = sum(landed)
    return Chance(early, hit, late), carried
