"""A route as it is opened for typical hands."""

from __future__ import annotations

from demo import demo
from inline import ODRUN

from bot.results.route import OpenRoute
from bot.services.opening import terminal_route
from core.notation import book_of

ROUTE = "5MP, 2MP xx 236HP"


def opened(text: str, who: str = ODRUN, game: str = "saltglass", scheme: str | None = None) -> OpenRoute:
    """A route for typical hands."""
    read = demo(game)
    character = next(one for one in read.characters if one.name == who)
    return terminal_route(read, character, book_of(read, character, scheme).route(text))
