"""When a link or a route is a player's own, and how far it is to there."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, sqrt

from core.learning.rates import ENOUGH_TRIES, Rate, TooFew, Z, interval


@dataclass(frozen=True, slots=True)
class Ownership:
    """Whether the rate's lower bound passes `goal` (above 0, below 1), and what it would still take.

    `clean_more`: how many reps without a drop from now on would do; 0 where owned.
    `more_at_this_rate`: how many reps would do if they land as often as so far; None where it would never do,
    because the rate itself does not pass the goal (then it takes a better rate, not more reps of the same),
    and where there are too few tries to speak of a rate.
    """

    owned: bool
    goal: float
    clean_more: int
    more_at_this_rate: int | None


def ownership(rate: Rate | TooFew, goal: float) -> Ownership:
    """Whether this is owned. With too few tries to tell it is not, whatever they were.

    Raises ValueError for a goal that is not above 0 and below 1: no number of tries proves 100 %.
    """
    if not 0 < goal < 1:
        raise ValueError(f"A goal lies above 0 % and below 100 %, not at {goal:.0%}.")
    if _passes(rate.landed, rate.tries, goal):
        return Ownership(True, goal, 0, 0)
    at_this_rate = _more_at_this_rate(rate, goal) if isinstance(rate, Rate) else None
    return Ownership(False, goal, _clean_more(rate, goal), at_this_rate)


def _passes(landed: float, tries: float, goal: float) -> bool:
    return tries >= ENOUGH_TRIES and interval(landed, tries)[0] > goal


def _more_at_this_rate(rate: Rate, goal: float) -> int | None:
    """Wilson's bound passes g where tries > z^2 g (1 - g) / (rate - g)^2."""
    if rate.share <= goal:
        return None
    more = floor(Z * Z * goal * (1 - goal) / (rate.share - goal) ** 2 - rate.tries) + 1
    return max(1, more)


def _clean_more(rate: Rate | TooFew, goal: float) -> int:
    """With m drops in N tries the bound passes g where (1 - g) N - z sqrt(g (1 - g) N) - m > 0."""
    drops = rate.tries - rate.landed
    slope = Z * sqrt(goal * (1 - goal))
    root = (slope + sqrt(slope * slope + 4 * (1 - goal) * drops)) / (2 * (1 - goal))
    more = max(1, ceil(max(root * root, ENOUGH_TRIES) - rate.tries))
    # The bound must pass the goal, not only meet it; and the formula rounds.
    while not _passes(rate.landed + more, rate.tries + more, goal):
        more += 1
    return more
