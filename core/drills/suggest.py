"""What to drill next: what most members drop. It names subjects and numbers, never a member."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from core.learning.rates import ENOUGH_TRIES

ENOUGH_MEMBERS = 2
"""Below this many it would be one member's homework, and would point at them."""


@dataclass(frozen=True, slots=True)
class Practised:
    """What one member landed at one link or route so far, and the rate they are to reach (0 to 1)."""

    member: int
    what: str
    tries: int
    landed: int
    goal: float

    @property
    def tells(self) -> bool:
        """Whether the tries are enough to tell."""
        return self.tries >= ENOUGH_TRIES

    @property
    def below(self) -> bool:
        """Whether the tries tell that the goal is not reached: the rate seen is below it."""
        return self.tells and self.landed < self.goal * self.tries


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A subject for a drill: `below` of the `members` who tried it enough land it less often than they are
    to. Those below landed `landed` of `tries`.
    """

    what: str
    below: int
    members: int
    landed: int
    tries: int


def suggest(practised: Iterable[Practised], leave_out: Collection[str] = ()) -> tuple[Suggestion, ...]:
    """Subjects for the next drill, the best first: where at least two members with enough tries are below
    their goal.

    The order: more members below; of as many, the greater part of those who tried it enough; then the lower
    rate of those below; then the name. Give one row for a member and a subject. `leave_out` holds the
    subjects of the last drills.
    """
    by_what: dict[str, list[Practised]] = {}
    for one in practised:
        if one.tells and one.what not in leave_out:
            by_what.setdefault(one.what, []).append(one)
    found = (_suggestion(what, known) for what, known in by_what.items())
    return tuple(sorted((each for each in found if each.below >= ENOUGH_MEMBERS), key=_order))


def _suggestion(what: str, known: Collection[Practised]) -> Suggestion:
    below = [one for one in known if one.below]
    landed, tries = sum(one.landed for one in below), sum(one.tries for one in below)
    return Suggestion(what, len(below), len(known), landed, tries)


def _order(each: Suggestion) -> tuple[int, float, float, str]:
    return -each.below, -each.below / each.members, each.landed / each.tries, each.what
