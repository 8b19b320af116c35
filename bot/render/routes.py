"""What is said of a member's saved routes."""

from __future__ import annotations

from collections.abc import Sequence

from bot.render.card import Card, Group, source_of
from bot.render.wording import say
from bot.results.tally import SavedRoute
from core.model import Game


def saved_card(route: SavedRoute, game: Game) -> Card:
    """A route that was just saved."""
    lead = say("routes", "saved", name=route.name, notation=route.notation)
    return Card(lead, (Group(say("routes", "how"), (say("routes", "log"),)),), (), source_of(game))


def routes_card(routes: Sequence[SavedRoute], game: Game) -> Card:
    """All of a member's routes in this game."""
    if not routes:
        return Card(say("routes", "none"), (), (), source_of(game))
    lines = tuple(
        say(
            "routes",
            "line",
            name=route.name,
            notation=route.notation,
            character=route.character,
            version=route.game_version,
        )
        for route in routes
    )
    lead = say("routes", "some", count=len(routes))
    return Card(lead, (Group(say("routes", "yours"), lines),), (), source_of(game))


def forgotten_card(route: SavedRoute, game: Game) -> Card:
    """A route that is no longer saved."""
    return Card(say("routes", "forgotten", name=route.name, notation=route.notation), (), (), source_of(game))
