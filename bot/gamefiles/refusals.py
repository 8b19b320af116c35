"""How a file that cannot be used is refused, and what no cell may begin with."""

from __future__ import annotations

import re

from core.gamefile import GameFileError, Problem, shown
from core.text import DASHES, printable

NO_FORMULA = "begins as a formula does"
_NUMBER = re.compile(r"[+-][0-9]+(?:[.,][0-9]+)?(?: *\.\. *[+-]?[0-9]+)?")
_DASHES = frozenset(f"-{DASHES}")


def problem(file: str, row: str, wrong: str, right: str, field: str = "", table: str = "") -> Problem:
    """One mistake, on one line whatever it quotes."""
    return Problem(*map(printable, (file, table, row, field, wrong, right)))


def refusal(file: str, row: str, wrong: str, right: str) -> GameFileError:
    """One mistake for which a file is not read on."""
    return GameFileError((problem(file, row, wrong, right),))


def is_formula(cell: str) -> bool:
    """Whether a spreadsheet may take the cell for a formula; a number with its sign is none.

    >>> [is_formula(cell) for cell in ("=1+1", "@a", "-2+3", "+4", "-2..3", "5MP", "KD 30")]
    [True, True, True, False, False, False, False]
    """
    begins = cell.strip()[:1]
    if begins in ("+", "-"):
        return not _NUMBER.fullmatch(cell.strip()) and not is_dash(cell)
    return begins in ("=", "@") or cell[:1] in ("\t", "\r")


def is_dash(cell: str) -> bool:
    """Whether a cell holds only dashes, as sheets have them where there is nothing to say."""
    return bool(cell.strip()) and set(cell.strip()) <= _DASHES


def formula(file: str, row: str, field: str, cell: str, table: str = "") -> Problem:
    """The refusal of a cell that a spreadsheet may take for a formula."""
    right = "write a number alone, or begin with another character"
    return problem(file, row, f"{shown(cell)} {NO_FORMULA}", right, field, table)


def is_plain(name: str) -> bool:
    """Whether this is the name of a file in the same folder."""
    return name.isprintable() and not set(name) & set("/\\:") and name not in (".", "..") and len(name) < 200
