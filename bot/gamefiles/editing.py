"""Looking at one cell of a source, and changing one."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import replace

from bot.gamefiles.columns import states_in
from bot.gamefiles.loading import GAME_FILE, game_of
from bot.gamefiles.refusals import formula, is_formula
from bot.gamefiles.rules import characters_of, parsed, with_label
from bot.gamefiles.source import Source
from core.gamefile import GameFileError, Table, nearest, shown
from core.gamefile.schema import COLUMNS
from core.gamefile.tables import state_columns
from core.model import Game, Move
from core.text import clipped

EDITABLE: tuple[str, ...] = (
    "level", "startup", "cancelled_startup", "freeze", "active", "recovery", "total", "on_hit", "on_block",
    "on_air_hit", "hitstun", "blockstun", "cancellable_hits", "hitstop", "damage", "projectile", "reach",
    "pushback_on_hit", "pushback_on_block", "travel", "juggle_start", "juggle_add", "juggle_limit", "gain",
    "cost",
)  # fmt: skip
"""The columns that hold numbers."""

GIVES_WAY = {"total": "recovery", "hitstun": "on_hit", "blockstun": "on_block"}
"""What the loader may find in disagreement with others, and what then changes where it was itself edited;
else it follows the others."""

ROUNDS = 3

_NUMBER = re.compile(r"[+-]?[0-9]+")
_ROW = re.compile(r"row (\d+)")


class NoSuchCellError(LookupError):
    """The source has no such character, move or column; the message is one sentence."""


def with_version(source: Source, label: str) -> Source:
    """The source with another version, and all else, comments included, as it is."""
    return replace(source, rules=with_label(source.rules, label))


def cell(source: Source, character: str, input: str, column: str) -> str | None:
    """The text of a move's cell; None where it is left out. Raises NoSuchCellError."""
    table = dict(source.tables)[_table_of(source, character, column)]
    row = table.rows[_row_of(table, character, input)]
    return dict(zip(table.header, row, strict=True)).get(column) or None


def with_cell(source: Source, character: str, input: str, column: str, text: str) -> Source:
    """The source with another text in a move's cell; an empty one leaves the cell out. A number that follows
    from it, such as the move's whole length, is brought along where the source has it too. Whether all agrees
    then, `game_of` says. Raises NoSuchCellError, and GameFileError for what a spreadsheet may take for a
    formula."""
    name = _table_of(source, character, column)
    table = dict(source.tables)[name]
    at = _row_of(table, character, input)
    if is_formula(text):
        raise GameFileError((formula(name, f"the row of {input}", column, text),))
    edited = _put(source, name, at, column, text.strip())
    left_out: set[str] = set()
    settled = edited
    for _ in range(ROUNDS):
        try:
            game = game_of(settled)
        except GameFileError as error:
            for problem in error.problems:
                found = _ROW.match(problem.row)
                if problem.file != name or problem.field not in GIVES_WAY or not found:
                    return edited
                giving = GIVES_WAY[column] if problem.field == column else problem.field
                row = int(found[1]) - 2
                known = _open(settled, name, row, giving)
                if known is None:
                    return edited
                settled = _put(settled, name, row, giving, known)
                left_out |= {giving} if row == at else set()
            continue
        return _filled(settled, game, name, at, character, left_out)
    return edited


def _open(source: Source, name: str, row: int, column: str) -> str | None:
    """A cell without the number that is to follow from others; None where it says more than a number."""
    table = dict(source.tables)[name]
    written = table.rows[row][table.header.index(column)]
    if column in ("hitstun", "blockstun"):
        earlier = written.rpartition(";")[0].strip()
        return f"{earlier}; ?" if earlier else ""
    return "" if _NUMBER.fullmatch(written) else None


def _filled(
    source: Source, game: Game, name: str, at: int, character: str, left_out: Collection[str]
) -> Source:
    """The source with the numbers in a row that were left out, as they follow now."""
    table = dict(source.tables)[name]
    input = table.rows[at][table.header.index("input")]
    owner = game.character(character)
    for move in owner.moves if owner else ():
        if move.input == input:
            for column in left_out:
                source = _put(source, name, at, column, _follows(move, column))
    return source


def _follows(move: Move, column: str) -> str:
    match column:
        case "total":
            return _text(move.total_frames)
        case "recovery":
            return _text(move.recovery_frames)
        case "hitstun":
            return "; ".join(_text(hit.hitstun_frames) or "?" for hit in move.hits)
        case "blockstun":
            return "; ".join(_text(hit.blockstun_frames) or "?" for hit in move.hits)
    advantage = move.on_block if column == "on_block" else move.on_hit and move.on_hit.advantage
    return f"{advantage.low:+}" if advantage else ""


def _text(frames: int | None) -> str:
    return "" if frames is None else str(frames)


def _table_of(source: Source, character: str, column: str) -> str:
    """The name of the table of a character, where it may have this column."""
    rules = parsed(GAME_FILE, source.rules)
    known = (*COLUMNS, *state_columns(list(states_in(rules))))
    if column not in known:
        near = nearest(column, known)
        raise NoSuchCellError(
            f"{shown(column)} is no column of moves" + (f"; the nearest is {near}" if near else "")
        )
    for entry in characters_of(rules):
        if entry["name"].strip() == character:
            return str(entry["moves"]).strip()
    raise NoSuchCellError(f"{shown(character)} is no character of this game")


def _row_of(table: Table, character: str, input: str) -> int:
    """The number of the move's row from 0; the move itself goes before what changes it."""
    at = table.header.index("input")
    same_as = table.header.index("same_as") if "same_as" in table.header else None
    found = [number for number, row in enumerate(table.rows) if row[at] == input]
    found.sort(key=lambda number: same_as is not None and bool(table.rows[number][same_as]))
    if not found:
        raise NoSuchCellError(f"{clipped(character)} has no move {shown(input)}")
    return found[0]


def _put(source: Source, name: str, at: int, column: str, text: str) -> Source:
    """The source with a text in a cell, and the column with it where the table lacks it."""
    table = dict(source.tables)[name]
    header, rows = table.header, list(table.rows)
    if column not in header:
        header = (*header, column)
        rows = [(*row, "") for row in rows]
    cells = list(rows[at])
    cells[header.index(column)] = text
    rows[at] = tuple(cells)
    changed = Table(header, tuple(rows))
    return replace(
        source, tables=tuple((one, changed if one == name else kept) for one, kept in source.tables)
    )
