"""Which few of the routes that a search found are offered, and what each comes to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from bot.results.finding import Choice, HardPress, Role
from bot.results.route import SURE
from bot.services.opening import begun
from bot.services.route_options import Asked
from core.model import Game, milliseconds
from core.routes import Aim, FoundRoute
from core.timing import RouteChance

SUREST = 0.999
"""No hands land anything for certain, whatever rounding says."""

_BEST = {
    Aim.DAMAGE: Role.MOST,
    Aim.EXPECTED: Role.AVERAGE,
    Aim.RELIABLE: Role.SUREST,
    Aim.SHORTEST: Role.SHORTEST,
}


def as_choice(game: Game, asked: Asked, found: FoundRoute, chances: RouteChance | None) -> Choice:
    """A route as it is offered: with the chance that start frames carried from press to press give."""
    names = [gauge.name for gauge in game.gauges]
    seconds = None if found.frames is None else milliseconds(game, found.frames) / 1000
    start = asked.query.start
    return Choice(
        begun(found.route, start.state, start.active_frame),
        found.damage,
        min(SUREST, found.chance if chances is None else chances.whole),
        found.expected_damage,
        seconds,
        tuple((name, spent) for name, spent in zip(names, found.spent, strict=True) if spent),
        _hard(found, chances),
    )


def with_roles(routes: Sequence[Choice], aim: Aim) -> tuple[Choice, ...]:
    """The routes, the best first as they are given, with a role for at most three: the best, the surest, the
    one with most damage, and where one of these is another, the one between that lands most on average."""
    if not routes:
        return ()
    if len(routes) == 1:
        return (replace(routes[0], role=Role.ONLY),)
    roles = {0: _BEST[aim]}
    places = range(1, len(routes))

    def beaten(place: int) -> bool:
        """Whether one with a role does at least as much and lands as often: nobody wants this one then."""
        one, given = routes[place], (routes[other] for other in roles)
        often = round(one.chance, 2)
        return any(it.damage >= one.damage and round(it.chance, 2) >= often for it in given)

    def give(role: Role, worth: Sequence[tuple[float, ...]]) -> None:
        top = max(worth)
        free = [place for place in places if place not in roles and not beaten(place)]
        if len(roles) < 3 and free and role not in roles.values():
            best = max(free, key=lambda place: worth[place])
            if role is Role.MIDDLE or worth[best] >= top:
                roles[best] = role

    give(Role.SUREST, [(round(one.chance, 2), one.damage) for one in routes])
    give(Role.MOST, [(one.damage, one.chance) for one in routes])
    give(Role.MIDDLE, [(one.expected_damage,) for one in routes])
    return tuple(replace(one, role=roles.get(place)) for place, one in enumerate(routes))


def _hard(found: FoundRoute, chances: RouteChance | None) -> HardPress | None:
    if chances is None or not chances.steps:
        return None
    place = chances.bottleneck
    if chances.steps[place].hit >= SURE:
        return None
    first, second = list(pairwise(found.route.steps))[place]
    return HardPress(first.move.input, second.move.input, chances.steps[place].hit)
