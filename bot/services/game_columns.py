"""What the columns of a sheet were taken for, as lines that a moderator reads and changes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from bot.results.files import ColumnGuess
from bot.results.games import GameRefusalCode
from core.gamefile.schema import COLUMNS
from core.text import clipped, nearest_few, one_line
from core.verdict import Facts

LEAVE_OUT = "leave out"
"""What is written for a column that is not to be read."""
WHOSE = "character"
"""The column of a sheet of several characters that says whose move it is."""
NEAR = 3
_KNOWN = (WHOSE, *COLUMNS)
_OF_STATES = "on_"
"""How the columns of a game's own hit states begin; whether it has the state is known when it is read."""


@dataclass(frozen=True, slots=True)
class BadLine:
    """A line that cannot be read, and why."""

    code: GameRefusalCode
    facts: Facts


def column_lines(columns: Iterable[ColumnGuess]) -> str:
    """Each column of the sheets, once, and what it was taken for.

    >>> print(column_lines([ColumnGuess("a.csv", "Start-up", "startup", True),
    ...                     ColumnGuess("a.csv", "Notes", None, True)]))
    Start-up = startup
    Notes = leave out
    """
    taken = {one.header: one.column for one in columns}
    return "\n".join(f"{header} = {column or LEAVE_OUT}" for header, column in taken.items())


def read_columns(text: str, headers: Sequence[str]) -> Mapping[str, str | None] | BadLine:
    """What a moderator says that columns with these headers are; None for one that is left out. What no line
    speaks of is guessed. The `=` that parts a line is its last one, so that a header may hold one.

    >>> read_columns("Start-up = Startup\\n\\nnotes=leave out", ["Start-up", "Notes"])
    {'Start-up': 'startup', 'Notes': None}
    """
    by_name = {_folded(header): header for header in headers}
    said: dict[str, str | None] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        header, parted, column = line.rpartition("=")
        if not parted or not header.strip() or not column.strip():
            return BadLine(GameRefusalCode.BAD_COLUMN_LINE, Facts(line=number, typed=clipped(one_line(line))))
        theirs, ours = by_name.get(_folded(header)), "_".join(_folded(column).split())
        if theirs is None:
            return _no_such(GameRefusalCode.NO_SUCH_HEADER, header, headers)
        if ours != "_".join(LEAVE_OUT.split()) and ours not in _KNOWN and not ours.startswith(_OF_STATES):
            return _no_such(GameRefusalCode.NO_SUCH_COLUMN, column, _KNOWN)
        said[theirs] = None if ours == "_".join(LEAVE_OUT.split()) else ours
    return said


def _folded(name: str) -> str:
    return one_line(name).casefold()


def _no_such(code: GameRefusalCode, typed: str, known: Sequence[str]) -> BadLine:
    near = ", ".join(map(clipped, nearest_few(_folded(typed), known, NEAR)))
    return BadLine(code, Facts(typed=clipped(one_line(typed)), near=near))
