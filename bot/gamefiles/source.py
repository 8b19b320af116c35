"""What a game's files are once they are read: text of rules and tables of moves, and what a reader found.

All are plain values, so that a worker process can take and give them.
"""

from __future__ import annotations

from dataclasses import dataclass

from bot.results.files import ColumnGuess, TableNote, Upload
from core.gamefile import Problem, Table
from core.model import Game

__all__ = ["ColumnGuess", "Reading", "Source", "TableNote", "Upload"]


@dataclass(frozen=True, slots=True)
class Source:
    """A game as it is kept: the rules as TOML text, comments included, and the table of each character's
    moves by the name that the rules give it. No two characters share a table, and no move stands in the
    rules. Each was loaded once without a problem."""

    rules: str
    tables: tuple[tuple[str, Table], ...]


@dataclass(frozen=True, slots=True)
class Reading:
    """What became of uploaded files: the source and its game, or every problem; never both."""

    source: Source | None
    game: Game | None
    problems: tuple[Problem, ...]
    columns: tuple[ColumnGuess, ...]
    notes: tuple[TableNote, ...]
