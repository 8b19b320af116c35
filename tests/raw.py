"""What lies in a database of either kind, read through its own driver: without the code that is tested."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import Any

import asyncpg
from databases import in_thread, name_of

from bot.storage.address import Address


def rows_in(address: Address, query: str) -> list[Any]:
    """The rows that a query finds, by the names of their columns."""
    if address.file is not None:
        with closing(sqlite3.connect(address.file)) as raw:
            raw.row_factory = sqlite3.Row
            return raw.execute(query).fetchall()

    async def work() -> list[Any]:
        connection = await asyncpg.connect(name_of(address))
        try:
            return list(await connection.fetch(query))
        finally:
            await connection.close()

    found: list[Any] = in_thread(work())
    return found


def tables_in(address: Address) -> set[str]:
    """The names of all tables there, those of this program and others."""
    query = (
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
        if address.file is not None
        else "SELECT tablename AS name FROM pg_tables WHERE schemaname = 'public'"
    )
    return {row["name"] for row in rows_in(address, query)}
