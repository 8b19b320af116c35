"""Pictures of the practice log and of routes: PNG bytes out of plain values, and the same in words.

The `..._picture` functions are drawn in a worker process; only there is matplotlib imported. Their
values can be sent to one. Equal values make equal bytes.
"""

from __future__ import annotations

from bot.render.board_lines import BoardLine
from bot.render.pictures.alt import (
    beside_alt,
    board_alt,
    front_alt,
    progress_alt,
    rhythm_alt,
    rhythm_lines,
    sheet_alt,
    sides_alt,
)
from bot.results.conversion import StarterRow
from bot.results.finding import Finding
from bot.results.practice import Beside, LinkSides, WeekPoint
from core.learning.rates import Rate
from core.rhythm import Schedule
from core.situations import Situation

__all__ = [
    "beside_alt",
    "beside_picture",
    "board_alt",
    "board_picture",
    "front_alt",
    "front_picture",
    "progress_alt",
    "progress_picture",
    "rhythm_alt",
    "rhythm_lines",
    "rhythm_picture",
    "sheet_alt",
    "sheet_picture",
    "sides_alt",
    "sides_picture",
    "warm_up",
]


def progress_picture(name: str, points: tuple[WeekPoint, ...], goal: float) -> bytes:
    """The share landed by week with its interval, in training and in matches, and the goal (0 to 1)."""
    from bot.render.pictures.progress import draw

    return draw(name, points, goal).png()


def sides_picture(sides: tuple[LinkSides, ...]) -> bytes:
    """Where the presses of the first `alt.ROWS` links fall around what the game accepts."""
    from bot.render.pictures.sides import draw

    return draw(sides).png()


def beside_picture(rows: tuple[Beside, ...]) -> bytes:
    """How often the first `alt.ROWS` subjects land in training, and how often in matches."""
    from bot.render.pictures.beside import draw

    return draw(rows).png()


def board_picture(subtitle: str, lines: tuple[BoardLine, ...]) -> bytes:
    """A coach's students: homework, last practice, what is less in matches, and what they are stuck on."""
    from bot.render.pictures.board import draw

    return draw(subtitle, lines).png()


def front_picture(found: Finding) -> bytes:
    """The first `alt.ROWS` routes of a search: their damage against how often they land."""
    from bot.render.pictures.front import draw

    return draw(found).png()


def rhythm_picture(name: str, schedule: Schedule) -> bytes:
    """The rhythm sheet of a route: its first `alt.RHYTHM_ROWS` presses, and what is accepted."""
    from bot.render.pictures.rhythm import draw

    return draw(name, schedule).png()


def sheet_picture(name: str, rows: tuple[StarterRow, ...], columns: tuple[Situation, ...]) -> bytes:
    """What a character does when the first `alt.ROWS` starters land in the situations of `columns`."""
    from bot.render.pictures.sheet import draw

    return draw(name, rows, columns).png()


def warm_up() -> None:
    """Import what pictures need and draw one, so that the first that somebody waits for is quick."""
    beside_picture((Beside("", Rate(1, 2, 0.1, 0.9), None),))
