"""A character's moves as rows, from a CSV table or from inline TOML tables."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from core.gamefile.problems import Place, Problems, ordinal
from core.gamefile.schema import COLUMNS
from core.text import shown

NEEDED_COLUMNS = ("input", "name")


@dataclass(frozen=True, slots=True)
class Table:
    """A CSV table as its reader gives it: the header's cells, then each row's; blank lines are
    empty rows, so that rows count as a spreadsheet shows them (the header is row 1)."""

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows that can be read; `complete`: none of them, and no column, had to be left out."""

    rows: list[Cells]
    complete: bool


@dataclass(frozen=True, slots=True)
class Cells:
    """One move's filled cells by column, and where they stand; `whole`: nothing was left out."""

    place: Place
    values: dict[str, object]
    whole: bool


def table_rows(file: str, table: Table, states: Mapping[str, str] | None, problems: Problems) -> Rows:
    """The filled cells of each row that has any. Notes unknown, unnamed, missing or repeated
    columns and rows of the wrong length."""
    before = len(problems)
    columns = _columns(Place(file, row="row 1"), table, states, problems)
    columns_known = complete = len(problems) == before
    rows = []
    for number, row in enumerate(table.rows, start=2):
        filled = [cell for cell in row if cell.strip()]
        if not filled:
            continue
        values = dict(_filled(zip(columns, row, strict=False)))
        label = f"row {number}" + (f" ({_short(values['input'])})" if "input" in values else "")
        place = Place(file, row=label)
        if len(row) < len(table.header) or any(cell.strip() for cell in row[len(table.header) :]):
            cells = "1 cell" if len(row) == 1 else f"{len(row)} cells"
            problems.add(
                place,
                "",
                f"has {cells} where the header has {len(table.header)}",
                "give every row as many cells as the header, the empty ones included",
            )
            complete = False
            continue
        _check_needed(place, values, columns, problems)
        rows.append(Cells(place, values, columns_known))
    return Rows(rows, complete)


def inline_rows(
    file: str, owner: str, data: object, states: Mapping[str, str] | None, problems: Problems
) -> Rows:
    """The filled keys of each [[character.move]]. Notes unknown keys."""
    table = "[[character.move]]"
    if not isinstance(data, list):
        problems.add(
            Place(file, table, f"of {owner}"), "", f"{shown(data)} is not a list of tables", f"write {table}"
        )
        return Rows([], False)
    rows, complete = [], True
    for number, entry in enumerate(data, start=1):
        label = f"{ordinal(number)} entry of {owner}"
        if not isinstance(entry, dict):
            place = Place(file, table, label)
            problems.add(place, "", f"{shown(entry)} is not a table", "write its keys as key = value")
            complete = False
            continue
        values = dict(_filled(entry.items()))
        if "input" in values:
            label += f" ({_short(values['input'])})"
        place = Place(file, table, label)
        known = {key: value for key, value in values.items() if _known(key, states)}
        for key in [key for key in values if key not in known]:
            problems.unknown(place, "", key, "key of a move", _all_columns(states))
            complete = False
        _check_needed(place, known, NEEDED_COLUMNS, problems)
        rows.append(Cells(place, known, len(known) == len(values)))
    return Rows(rows, complete)


def state_columns(states: Sequence[str]) -> dict[str, str]:
    """The columns of hit states, each with its state.

    >>> state_columns(["counter hit"])
    {'on_counter_hit': 'counter hit'}
    """
    return {"on_" + "_".join(state.casefold().split()): state for state in states}


def _columns(place: Place, table: Table, states: Mapping[str, str] | None, problems: Problems) -> list[str]:
    """The columns' names as keys; an empty string for a column that is not read."""
    columns: list[str] = []
    for index, cell in enumerate(table.header):
        column = "_".join(cell.strip().casefold().split())
        if not column:
            if any(len(row) > index and row[index].strip() for row in table.rows):
                problems.add(
                    place, f"column {index + 1}", "has cells but no name", "name it, or empty its cells"
                )
        elif column in columns:
            problems.add(place, column, "is there twice", "keep one column of this name")
            column = ""
        elif not _known(column, states):
            problems.unknown(place, "", cell.strip(), "column of a table of moves", _all_columns(states))
            column = ""
        columns.append(column)
    for needed in NEEDED_COLUMNS:
        if needed not in columns:
            problems.add(place, needed, "this column is missing", "add it: every move needs its own")
    return columns


def _check_needed(
    place: Place, values: dict[str, object], columns: Sequence[str], problems: Problems
) -> None:
    """Only a row that changes another move may do without; a missing column is noted once, above."""
    for needed in NEEDED_COLUMNS:
        if needed in columns and needed not in values and not values.keys() & {"scheme", "same_as"}:
            problems.add(place, needed, "is missing", "write it: every move needs one")


def _known(column: str, states: Mapping[str, str] | None) -> bool:
    if column in COLUMNS:
        return True
    return column.startswith("on_") if states is None else column in states


def _all_columns(states: Mapping[str, str] | None) -> tuple[str, ...]:
    return (*COLUMNS, *(states or ()))


def _filled(pairs: Iterable[tuple[str, object]]) -> Iterator[tuple[str, object]]:
    """What is neither left out nor unknown."""
    for key, value in pairs:
        written = value.strip() if isinstance(value, str) else value
        if key and written not in ("", "?") and written is not None:
            yield key, written


def _short(value: object) -> str:
    return str(value) if isinstance(value, str) and len(value) <= 20 else shown(value)
