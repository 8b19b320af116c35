"""How the database finds what is asked of it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import Any

from sqlalchemy import event

from bot.storage.store import Store

KINDS = ("SELECT", "UPDATE", "DELETE")


def statements_of(store: Store) -> dict[str, Any]:
    """What the store asks from now on, with the values it was asked with last."""
    asked: dict[str, Any] = {}
    assert store._engine is not None

    @event.listens_for(store._engine.sync_engine, "before_cursor_execute")
    def keep(_c: Any, _cursor: Any, sql: str, parameters: Any, _context: Any, _many: bool) -> None:
        if sql.startswith(KINDS):
            asked[sql] = parameters

    return asked


def scans(store: Store, asked: dict[str, Any]) -> dict[str, list[str]]:
    """The statements that read a whole table, with what SQLite says of them."""
    with closing(sqlite3.connect(store.file)) as raw:
        plans = {
            sql: raw.execute(f"EXPLAIN QUERY PLAN {sql}", given).fetchall() for sql, given in asked.items()
        }
    found = {sql: [row[3] for row in rows if row[3].startswith("SCAN")] for sql, rows in plans.items()}
    return {sql: each for sql, each in found.items() if each}
