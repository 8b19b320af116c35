"""Text <-> moves and routes: import from here. How moves and routes are written stands in `parse`."""

from core.notation.errors import NotationError
from core.notation.inputs import MOVE_LIMIT, ParsedInput, Press, read_input
from core.notation.letters import Respell, letters_for
from core.notation.parse import ROUTE_LIMIT, MoveBook, book_of, find_move, parse_route
from core.notation.route import Route, Step
from core.notation.text import format_input, format_route, format_step

__all__ = [
    "MOVE_LIMIT",
    "ROUTE_LIMIT",
    "MoveBook",
    "NotationError",
    "ParsedInput",
    "Press",
    "Respell",
    "Route",
    "Step",
    "book_of",
    "find_move",
    "format_input",
    "format_route",
    "format_step",
    "letters_for",
    "parse_route",
    "read_input",
]
