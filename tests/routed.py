"""Routes of the demo games, read and opened as the cards of routes tell them."""

from __future__ import annotations

from demo import demo, owner

from bot.results.route import OpenRoute
from bot.services.opening import terminal_route
from core.notation import Route, book_of
from core.routes import Start

SALT, KITE = demo("saltglass"), demo("kitewind")


def route_of(written: str, who: str = "odrun", game: str = "saltglass") -> Route:
    played = demo(game)
    return book_of(played, owner(played, who)).route(written)


def opened(
    written: str, who: str = "odrun", game: str = "saltglass", start: Start | None = None
) -> OpenRoute:
    played = demo(game)
    return terminal_route(played, owner(played, who), route_of(written, who, game), start)
