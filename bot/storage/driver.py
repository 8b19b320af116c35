"""An aiosqlite connection that crosses to its thread once for each statement.

aiosqlite makes, runs, reads and closes a cursor in four crossings, and each costs about as much as the
statement itself. A transaction begins in the crossing of its first statement, which is when SQLite takes the
snapshot that a reader sees anyway.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from typing import Any, Self

import aiosqlite


class _Cursor:
    """What SQLAlchemy's adapter asks of an aiosqlite cursor. All rows are read with the statement."""

    def __init__(self, connection: OneCrossing) -> None:
        self._connection = connection
        self._rows: list[Any] = []
        self.arraysize = 1
        self.description: Any = None
        self.rowcount = -1
        self.lastrowid: int | None = None

    async def __aenter__(self) -> Self:
        return self

    async def execute(self, sql: str, parameters: Sequence[Any] = ()) -> Self:
        await self._connection.send(self._run, sqlite3.Cursor.execute, sql, parameters)
        return self

    async def executemany(self, sql: str, parameters: Iterable[Sequence[Any]]) -> Self:
        await self._connection.send(self._run, sqlite3.Cursor.executemany, sql, parameters)
        return self

    async def fetchall(self) -> list[Any]:
        rows, self._rows = self._rows, []
        return rows

    async def close(self) -> None:
        self._rows = []

    def _run(self, cursor: sqlite3.Cursor, execute: Any, sql: str, parameters: Any) -> None:
        execute(cursor, sql, parameters)
        self.description = cursor.description
        self._rows = cursor.fetchall() if cursor.description else []
        self.rowcount, self.lastrowid = cursor.rowcount, cursor.lastrowid


class OneCrossing(aiosqlite.Connection):
    """A connection whose cursors read their rows in the crossing that runs the statement."""

    _beginning: str | None = None
    _used = False
    """Whether a statement was sent since the last transaction ended."""

    def cursor(self) -> Any:
        return _Cursor(self)

    def begin(self, statement: str) -> None:
        """Begins a transaction with this statement, right before the next one."""
        self._beginning = statement

    async def send(self, work: Any, *args: Any) -> None:
        """Does this with a cursor in the connection's thread, after what is to begin there."""
        # What is sent is complete: if the waiting task is cancelled now, the thread does it all the same, and
        # the rollback, which comes after it, undoes it.
        beginning, self._beginning = self._beginning, None
        self._used = True
        await self._execute(self._with_cursor, beginning, work, args)  # type: ignore[no-untyped-call]

    def _with_cursor(self, beginning: str | None, work: Any, args: Any) -> None:
        cursor = self._conn.cursor()
        try:
            if beginning is not None:
                cursor.execute(beginning)
            work(cursor, *args)
        finally:
            cursor.close()

    async def commit(self) -> None:
        """Ends the transaction, if a statement began it."""
        self._beginning = None
        if self._used:
            await super().commit()
            self._used = False

    async def rollback(self) -> None:
        """Undoes the transaction, if a statement began it."""
        self._beginning = None
        if self._used:
            await super().rollback()
            self._used = False


def connect(file: str, **options: Any) -> OneCrossing:
    """A connection to be awaited. Its thread ends with the program, as that of SQLAlchemy's own does."""
    connection = OneCrossing(lambda: sqlite3.connect(file, **options), iter_chunk_size=64)
    connection._thread.daemon = True
    return connection
