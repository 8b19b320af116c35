"""Databases with awkward rows in every table, and what lies in them, read without the code that moves it."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from databases import at_server, new_database, new_on_server, server
from raw import rows_in
from sqlalchemy import Boolean, Column, Float, String, Table, insert

from bot.storage.address import Address, address_of
from bot.storage.base import UtcDateTime
from bot.storage.copying import Step
from bot.storage.held import alone
from bot.storage.moving import move
from bot.storage.schema import metadata
from bot.storage.store import Store

TEXTS = (
    "",
    " ",
    "two\nlines\r\n\ttabs",
    "'quotes\" and \\u0041, \\n and %s :name",
    "\U0001f94a\u200d\u2642\ufe0f flag \U0001f1e8\U0001f1ed",
    "\u202eright to left\u202c e\u0301 \u00e9 \ufffd \U0010ffff",
    "NULL",
    "long " * 4_000,
)
FLOATS = (0.1 + 0.2, 0.0, 1.0, 1e-300, 1.7976931348623157e308, 2 / 3)
MOMENTS = (
    datetime(2026, 1, 14, 20, 0, 0, 1, tzinfo=UTC),
    datetime(1970, 1, 1, tzinfo=UTC),
    datetime(2026, 3, 29, 1, 59, 59, 999_999, tzinfo=UTC),
    datetime(2099, 12, 31, 23, 59, tzinfo=UTC),
)
UNIQUE = ("what", "name", "situation", "version")
ROWS = 20
GONE = 7
"""So many of the last rows of each table were removed again: their numbers are used."""
SNOWFLAKE = 1_300_000_000_000_000_000


def row_of(table: Table, number: int) -> dict[str, Any]:
    """The row of this number, which points to the rows of this number in other tables."""
    return {column.name: _value(column, number, place) for place, column in enumerate(table.columns)}


def _value(column: Column[Any], number: int, place: int) -> Any:
    chosen = number + place
    if column.nullable and not column.foreign_keys and chosen % 3 == 0:
        return None
    if isinstance(column.type, UtcDateTime):
        return MOMENTS[chosen % len(MOMENTS)] + timedelta(seconds=number)
    if isinstance(column.type, Boolean):
        return chosen % 2 == 0
    if isinstance(column.type, Float):
        return FLOATS[chosen % len(FLOATS)]
    if isinstance(column.type, String):
        text = TEXTS[chosen % len(TEXTS)]
        unique = column.primary_key or column.unique or column.name in UNIQUE
        return f"{number} {text[:60]}" if unique else text
    if column.foreign_keys or column.name == "id":
        return number
    return SNOWFLAKE + number if column.name.endswith("_id") else number % 40


async def fill(address: Address, rows: int = ROWS) -> None:
    """So many rows in each table of an empty database, the last of them removed again."""
    async with alone(address) as held, held.writes():
        for table in metadata.sorted_tables:
            made = [row_of(table, number) for number in range(1, rows + 1)]
            await held.connection.execute(insert(table), made)
        for table in reversed(metadata.sorted_tables):
            first = table.primary_key.columns.values()[0]
            await held.connection.execute(table.delete().where(first > rows - GONE))


async def filled_file(folder: Path, rows: int = ROWS) -> Path:
    """A SQLite database in this folder with rows in each table."""
    folder.mkdir(exist_ok=True)
    file = new_database(folder)
    await fill(address_of(file), rows)
    return file


@asynccontextmanager
async def store_at(address: Address) -> AsyncIterator[Store]:
    """An open store, which forgets no event however old it is."""
    store = Store(address, lambda: min(MOMENTS))
    await store.open()
    try:
        yield store
    finally:
        await store.close()


def contents(address: Address) -> dict[str, list[str]]:
    """Every row of every table as JSON, sorted, read through the databases' own drivers."""
    return {
        table.name: sorted(
            json.dumps([_plain(column, row[column.name]) for column in table.columns])
            for row in rows_in(address, f'SELECT * FROM "{table.name}"')
        )
        for table in metadata.sorted_tables
    }


def _plain(column: Column[Any], value: Any) -> Any:
    if value is None:
        return None
    if isinstance(column.type, UtcDateTime):
        moment = datetime.fromisoformat(value) if isinstance(value, str) else value.astimezone(UTC)
        return moment.replace(tzinfo=UTC).timestamp() if moment.tzinfo is None else moment.timestamp()
    return bool(value) if isinstance(column.type, Boolean) else value


class BrokenOffError(Exception):
    """What a test ends a move with, as a crash would."""


def silent(_: Step) -> None:
    """Tells nobody how far it is."""


def after(steps: int) -> Callable[[Step], None]:
    """Breaks off a move after so many steps."""
    seen: list[Step] = []

    def tell(step: Step) -> None:
        seen.append(step)
        if len(seen) == steps:
            raise BrokenOffError

    return tell


def empty(kind: str, folder: Path, name: str = "target") -> Address:
    """An empty database of this kind, without tables."""
    if kind == "file":
        return address_of(folder / f"{name}.db")
    new_on_server(name)
    server().run(f'DROP DATABASE "{name}"', f'CREATE DATABASE "{name}"')
    return at_server(name)


async def filled(kind: str, folder: Path) -> Address:
    """A database of this kind with rows in every table."""
    file = address_of(await filled_file(folder / "filled"))
    if kind == "file":
        return file
    made = empty("server", folder, "filled")
    await move(file, made, silent)
    return made
