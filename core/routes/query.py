"""What is asked of the search for routes, and what it answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import partial

from core.model import Means
from core.notation import Route
from core.routes.state import Start
from core.timing import TYPICAL, Spread, Window, chance

Hands = Callable[[Window], float]
"""The chance that a press with these accepted gaps lands."""
JointKey = tuple[str, str, Means]
"""First move, second move, and the means between them."""


def hands(spread: Spread, bias_frames: float = 0.0) -> Hands:
    """Hands that aim at the middle of a window, and are off by the bias and this spread."""
    return partial(_lands, spread, bias_frames)


def _lands(spread: Spread, bias_frames: float, window: Window) -> float:
    aim = window.middle_gap
    return chance(aim + bias_frames, spread.frames(aim), window.first_gap, window.last_gap).hit


TYPICAL_HANDS = hands(TYPICAL)


class Aim(StrEnum):
    """What makes a route the best: its damage, the damage that lands before a drop on average, the chance
    that all of it lands, or how soon it is over."""

    DAMAGE = "damage"
    EXPECTED = "expected"
    RELIABLE = "reliable"
    SHORTEST = "shortest"


@dataclass(frozen=True, slots=True)
class Query:
    """What is looked for. Moves are called by their inputs, as `scheme` has them.

    `first`: the moves a route may start with, any where empty. `spend`: at most so much of a gauge; of one
    not named, all there is. `least_damage`, `least_moves`: of the whole route. `knockdown`: it must leave
    the defender on the ground. `known`: joints that need not be learnt; with `most_new`, others come in it
    at most so often. `budget`: at most so many labels are made; `most_routes` are given.
    """

    aim: Aim = Aim.DAMAGE
    start: Start = Start()  # noqa: RUF009
    hands: Hands = TYPICAL_HANDS
    most_moves: int = 6
    first: tuple[str, ...] = ()
    require: tuple[str, ...] = ()
    avoid: tuple[str, ...] = ()
    spend: tuple[tuple[str, int], ...] = ()
    least_damage: int = 0
    least_moves: int = 1
    knockdown: bool = False
    known: frozenset[JointKey] = frozenset()
    most_new: int | None = None
    scheme: str | None = None
    budget: int = 300_000
    most_routes: int = 5


@dataclass(frozen=True, slots=True)
class FoundRoute:
    """A route that the check says yes to. `chance`: the product of its presses' chances. `expected_damage`:
    what lands before a drop, on average. `frames`: until the player is free. `spent` in the game's order.
    `new`: joints that are not `known`."""

    route: Route
    damage: int
    chance: float
    expected_damage: float
    frames: int | None
    spent: tuple[int, ...]
    new: tuple[JointKey, ...] = ()


@dataclass(frozen=True, slots=True)
class Found:
    """The best route first, then others on the front of damage against chance, unlike it and each other.

    `complete`: whether nothing better exists within the question's limits; where not, the labels ran out.
    `explored`: labels made. `left_out`: moves not tried, since the file leaves out their damage, or how
    far a movement goes.
    """

    routes: tuple[FoundRoute, ...]
    complete: bool
    explored: int
    left_out: tuple[str, ...] = ()
