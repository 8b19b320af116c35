"""Rows from one database into another, page by page in the order of their keys, and what shows that they came
over whole: a count and a checksum of each table, and the last number that each gave out."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from hashlib import sha256
from typing import Any

from sqlalchemy import Float, Row, Table, func, insert, select, text, tuple_
from sqlalchemy.exc import SQLAlchemyError

from bot.storage.errors import StorageError, told
from bot.storage.held import Held
from bot.storage.schema import edition, metadata, upload

PAGE = 1_000
PAGE_OF_FILES = 10
"""Rows read at once, and those of tables that hold whole game files."""
PAGES_AT_ONCE = 10
"""Pages written in one transaction."""
TABLES: tuple[Table, ...] = tuple(metadata.sorted_tables)
"""All tables, each after those that its rows point to."""
COUNTED: tuple[Table, ...] = tuple(table for table in TABLES if table.autoincrement_column is not None)
"""Tables that number their rows, and use no number twice."""

Key = tuple[Any, ...]


class Part(StrEnum):
    """What is done with a table."""

    COPIED = "copied"
    CHECKED = "checked"


@dataclass(frozen=True, slots=True)
class Step:
    """How far a copy is: `rows` of the `of` rows of a table are copied, or checked."""

    part: Part
    table: str
    rows: int
    of: int


Tell = Callable[[Step], None]


@dataclass(frozen=True, slots=True)
class Sum:
    """How many rows a table has, and the SHA-256 of all of them in the order of their keys, in a form that is
    the same for every kind of database."""

    rows: int
    digest: str


async def count(held: Held, table: Table) -> int:
    """How many rows a table has."""
    with _of(held, table, "read in"):
        return int((await held.connection.execute(select(func.count()).select_from(table))).scalar_one())


async def last_key(held: Held, table: Table) -> Key | None:
    """The greatest key in a table; None where it is empty."""
    columns = table.primary_key.columns.values()
    query = select(*columns).order_by(*(column.desc() for column in columns)).limit(1)
    with _of(held, table, "read in"):
        found = (await held.connection.execute(query)).first()
    return None if found is None else tuple(found)


async def copy(source: Held, target: Held, table: Table, tell: Tell) -> None:
    """Writes the rows of a table whose keys are greater than any in the target. What was written stays when
    it is broken off: several transactions follow each other."""
    async with target.reads():
        last, done = await last_key(target, table), await count(target, table)
    of = await count(source, table)
    pages = _pages(source, table, last, None)
    over = False
    while not over:
        async with target.writes():
            for _ in range(PAGES_AT_ONCE):
                page = await anext(pages, None)
                if page is None:
                    over = True
                    break
                with _of(target, table, "written to"):
                    await target.connection.execute(insert(table), [_values(row, target) for row in page])
                done += len(page)
        tell(Step(Part.COPIED, table.name, done, of))


async def add_up(held: Held, table: Table, end: Key | None = None) -> Sum:
    """The sum of the rows of a table, up to the key `end` where there is one."""
    digest, rows = sha256(), 0
    floats = [index for index, column in enumerate(table.columns) if isinstance(column.type, Float)]
    async for page in _pages(held, table, None, end):
        for row in page:
            digest.update(_line(row, floats))
        rows += len(page)
    return Sum(rows, digest.hexdigest())


async def counters(held: Held) -> Mapping[str, int]:
    """The greatest number that each table gave out, 0 where it gave out none."""
    connection = held.connection
    given: dict[str, int] = {}
    with told(held.address):
        if held.is_file:
            rows = await connection.exec_driver_sql("SELECT name, seq FROM sqlite_sequence")
            given = {row.name: row.seq for row in rows}
        for table in COUNTED:
            if not held.is_file:
                name = (await connection.scalars(_SEQUENCE, {"table": table.name})).one()
                found = await connection.exec_driver_sql(f"SELECT last_value, is_called FROM {name}")
                state = found.one()
                given[table.name] = state.last_value if state.is_called else state.last_value - 1
            greatest = await last_key(held, table)  # a number may have been given by hand
            given[table.name] = max(given.get(table.name, 0), greatest[0] if greatest is not None else 0)
    return {table.name: given[table.name] for table in COUNTED}


async def set_counters(held: Held, given: Mapping[str, int]) -> None:
    """Makes each table go on after these numbers."""
    for name, number in given.items():
        if held.is_file:
            for statement in _SET_IN_FILE:
                await held.connection.execute(statement, {"table": name, "number": number})
        else:
            values = {"table": name, "number": max(number, 1), "used": number > 0}
            await held.connection.execute(_SET_ON_SERVER, values)


async def empty(held: Held) -> None:
    """Removes all rows, in the transaction that is open."""
    if held.is_file:
        for table in reversed(TABLES):
            await held.connection.execute(table.delete())
    else:
        await held.connection.exec_driver_sql("TRUNCATE " + ", ".join(table.name for table in TABLES))


_SEQUENCE = text("SELECT pg_get_serial_sequence(:table, 'id')")
_SET_ON_SERVER = text("SELECT setval(pg_get_serial_sequence(:table, 'id'), :number, :used)")
_SET_IN_FILE = (
    text("DELETE FROM sqlite_sequence WHERE name = :table"),  # it has no key
    text("INSERT INTO sqlite_sequence (name, seq) SELECT :table, :number WHERE :number > 0"),
)


async def _pages(
    held: Held, table: Table, after: Key | None, end: Key | None
) -> AsyncIterator[Sequence[Row[Any]]]:
    """The rows of a table in the order of their keys: those after the one, up to the other."""
    key = tuple_(*table.primary_key.columns)
    indexes = [list(table.columns).index(column) for column in table.primary_key.columns]
    query = select(table).order_by(*table.primary_key.columns)
    query = query.limit(PAGE_OF_FILES if table in (edition, upload) else PAGE)
    if end is not None:
        query = query.where(key <= end)
    while True:
        with _of(held, table, "read in"):
            page = (await held.connection.execute(query if after is None else query.where(key > after))).all()
        if not page:
            return
        yield page
        after = tuple(page[-1][index] for index in indexes)


def _values(row: Row[Any], target: Held) -> dict[str, Any]:
    """A row as it is written. PostgreSQL keeps no text with the character of number 0, which says nothing."""
    values = dict(row._mapping)
    if not target.is_file:
        for name, value in values.items():
            if isinstance(value, str) and "\0" in value:
                values[name] = value.replace("\0", "")
    return values


def _line(row: Row[Any], floats: Sequence[int]) -> bytes:
    """A row in the form in which it is added up. What one kind of database does not keep is left out: the
    character of number 0, and the sign of a zero."""
    values = list(row)
    for index in floats:
        if values[index] is not None:
            values[index] += 0.0
    return _ENCODER.encode(values).replace("\\u0000", "").encode() + b"\n"


def _moment(value: object) -> str:
    assert isinstance(value, datetime)
    return value.isoformat(timespec="microseconds")


_ENCODER = json.JSONEncoder(default=_moment, separators=(",", ":"), check_circular=False)


@contextmanager
def _of(held: Held, table: Table, done: str) -> Iterator[None]:
    """Makes one sentence of what goes wrong with rows of a table, such as a value that does not fit there."""
    try:
        with told(held.address):
            yield
    except SQLAlchemyError as error:
        cause = str(getattr(error, "orig", None) or error).partition("\n")[0].strip().rstrip(".")
        raise StorageError(
            f"A row of the table {table.name} cannot be {done} {held.address}: {cause}."
        ) from error
