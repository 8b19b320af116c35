"""The next route to learn: the one that adds least to what is owned, and of those gains most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from core.model import Character, Game
from core.notation import Route
from core.routes.check import check, in_player_time
from core.routes.checked import RouteCheck
from core.routes.joints import Judge
from core.routes.query import Aim, FoundRoute, JointKey, Query
from core.routes.search import joint_key, search
from core.timing import Window

MOST_NEW = 3


@dataclass(frozen=True, slots=True)
class NextStep:
    """A route to learn next. `new`: what in it is not yet in any owned route. `gain_damage`: how much more it
    brings on average than `instead_of`, the owned route that brings most (None: nothing is owned that works).
    `builds_on`: the owned route it shares its longest beginning with, and of how many moves; None where
    it begins like none. `complete`: whether nothing with less new gains anything."""

    route: FoundRoute
    new: tuple[JointKey, ...]
    gain_damage: float
    instead_of: Route | None
    builds_on: Route | None
    shared_moves: int
    complete: bool


def next_step(game: Game, character: Character, owned: Sequence[Route], query: Query) -> NextStep | None:
    """One step up from the owned routes, within the question's limits; None where nothing gains anything.

    Something new is a move after another by some means, as often as it comes. One is looked for first,
    then two, then three; of routes with as many, that with most expected damage for the
    question's hands, whatever the question aims at.
    """
    judge = Judge(game, character)
    works = [one for one in (check(game, character, route, query.start) for route in owned) if one.works]
    known = frozenset(joint_key(a, b) for one in works for a, b in pairwise(one.route.steps))
    best = max(works, key=lambda one: expected_damage(one, query), default=None)
    base = expected_damage(best, query) if best else 0.0
    complete = True
    for new in range(1, MOST_NEW + 1):
        asked = replace(query, aim=Aim.EXPECTED, known=known, most_new=new, most_routes=1)
        found = search(judge, asked)
        complete = complete and found.complete
        if found.routes and found.routes[0].expected_damage > base and found.routes[0].new:
            route = found.routes[0]
            shared = [(_shared(route.route, one.route), one.route) for one in works]
            count, builds_on = max(shared, key=lambda one: one[0], default=(0, None))
            return NextStep(
                route,
                route.new,
                route.expected_damage - base,
                best.route if best else None,
                builds_on if count else None,
                count,
                complete,
            )
    return None


def expected_damage(check: RouteCheck, query: Query) -> float:
    """The damage that lands before a drop on average, by the question's hands; 0 for a route that fails.

    As in the search each press has a chance of its own, 0 where it is not known what is accepted.
    """
    if not check.works:
        return 0.0
    total, lands = float(check.steps[0].damage or 0), 1.0
    for before, step in pairwise(check.steps):
        window = step.window
        if not isinstance(window, Window):
            return total
        lands *= query.hands(in_player_time(window, before.freeze_frames))
        total += lands * (step.damage or 0)
    return total


def _shared(route: Route, other: Route) -> int:
    """How many moves two routes have in common from the first on."""
    count = 0
    for mine, theirs in zip(route.steps, other.steps, strict=False):
        if (mine.move.input, count and mine.joined) != (theirs.move.input, count and theirs.joined):
            break
        count += 1
    return count
