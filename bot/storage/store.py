"""The database file: opened once, read and written in transactions."""

from __future__ import annotations

import asyncio
import logging
import sqlite3
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, delete, event, select
from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine, create_async_engine

from bot.storage import schema
from bot.storage.base import upsert
from bot.storage.errors import StorageError, check_place, told
from bot.storage.revision import HEAD, revision_of

__all__ = ["Reading", "StorageError", "Store", "Writing"]

BUSY_TIMEOUT_MS = 5_000
EMPTYING_TIMEOUT_MS = 500
RETRY_SECONDS = 0.02
POOLED = 4
"""Connections kept open; more are opened while they are needed, up to four times as many."""
EVENTS_KEPT = timedelta(days=2)
PRUNED_AT_ONCE = 200
WRITES_TO_PRUNING = 100

log = logging.getLogger(__name__)

BEGIN_WRITE = "BEGIN IMMEDIATE"
"""The execution option `begin` of a transaction that writes; None is for statements outside of any."""
PRAGMAS = (
    f"busy_timeout={BUSY_TIMEOUT_MS}",
    "synchronous=FULL",
    "foreign_keys=ON",
    "secure_delete=ON",  # what a member erases is overwritten, not only unlinked
)


@dataclass(slots=True)
class Reading:
    """A transaction that sees the database as it was when it began."""

    connection: AsyncConnection

    @property
    def dialect(self) -> str:
        """The name of what the database speaks."""
        return self.connection.dialect.name


@dataclass(slots=True)
class Writing(Reading):
    """A transaction that writes. `repeated`: its event was stored before; then nothing must be written.
    `erases`: what it removed must also leave the write-ahead log once it is committed."""

    repeated: bool = False
    erases: bool = False


def _now() -> datetime:
    return datetime.now(UTC)


class Store:
    """One SQLite file. `now` tells when an event was seen, for those past two days to be forgotten."""

    def __init__(self, file: Path, now: Callable[[], datetime] = _now) -> None:
        self.file = file
        self._now = now
        self._engine: AsyncEngine | None = None
        self._writer: AsyncEngine | None = None
        self._one_writer = asyncio.Lock()
        self._writes = 0
        self._log_holds_erased = False

    @property
    def writes(self) -> int:
        """How many transactions wrote since the program began."""
        return self._writes

    async def open(self) -> None:
        """Opens the file, or makes it, and brings its tables up to date. Raises StorageError."""
        if self._engine is not None:
            return
        check_place(self.file)
        engine = connect(self.file)
        writer = engine.execution_options(begin=BEGIN_WRITE)
        try:
            with told(self.file):
                await _keep_log(engine)
                async with engine.connect() as connection, connection.begin():
                    found = await connection.run_sync(revision_of)
                if found != HEAD:
                    # Alembic is slow to import, and a database that is up to date needs none of it.
                    from bot.storage.upgrade import upgrade

                    await upgrade(engine, self.file)
                async with writer.begin() as connection:
                    await self._prune(connection)
        except BaseException:
            await engine.dispose()
            raise
        self._engine, self._writer = engine, writer

    async def close(self) -> None:
        """Closes the file once the last write is done. Does nothing where it is not open."""
        async with self._one_writer:
            engine, self._engine, self._writer = self._engine, None, None
            if engine is not None:
                await engine.dispose()

    @asynccontextmanager
    async def read(self) -> AsyncIterator[Reading]:
        """One consistent view of the database. Raises StorageError."""
        with told(self.file):
            async with _opened(self._engine).begin() as connection:
                yield Reading(connection)

    @asynccontextmanager
    async def write(self, event_id: int | None = None) -> AsyncIterator[Writing]:
        """One transaction, durable when it ends, and undone whole by any exception. `event_id`: the id of the
        interaction or message that it answers, stored with it. The next one waits for its end, so none may
        be opened within it. Raises StorageError."""
        with told(self.file):
            async with self._one_writer:
                async with _opened(self._writer).begin() as connection:
                    writing = Writing(connection)
                    if event_id is not None:
                        writing.repeated = not await self._is_new(connection, event_id)
                    yield writing
                    if self._writes % WRITES_TO_PRUNING == WRITES_TO_PRUNING - 1:
                        await self._prune(connection)
                    self._log_holds_erased |= writing.erases  # before the commit, which may be cancelled
                self._writes += 1
                if self._log_holds_erased:
                    self._log_holds_erased = not await _empty_log(_opened(self._engine))

    async def _is_new(self, connection: AsyncConnection, event_id: int) -> bool:
        """Whether this event was not stored yet; from now on it is."""
        values = {"id": event_id, "seen_at": self._now()}
        insert = upsert(connection.dialect.name, schema.event, ("id",))
        return (await connection.execute(insert, values)).rowcount == 1

    async def _prune(self, connection: AsyncConnection) -> None:
        """Forgets some of the events that are too old to be delivered again."""
        events = schema.event
        old = select(events.c.id).where(events.c.seen_at < self._now() - EVENTS_KEPT).limit(PRUNED_AT_ONCE)
        await connection.execute(delete(events).where(events.c.id.in_(old)))


def _opened(engine: AsyncEngine | None) -> AsyncEngine:
    if engine is None:
        raise RuntimeError("The store is not open.")
    return engine


def connect(file: Path) -> AsyncEngine:
    """An engine whose connections keep section 7's rules: durable, foreign keys on, and a transaction begun
    as a writer's where it is one (one that reads first and writes later fails as soon as another wrote)."""
    engine = create_async_engine(
        URL.create("sqlite+aiosqlite", database=str(file)),
        pool_size=POOLED,
        max_overflow=3 * POOLED,
        hide_parameters=True,  # an error is logged, and what members wrote must not be
    )

    @event.listens_for(engine.sync_engine, "connect")
    def _set_up(connection: Any, _record: Any) -> None:
        connection.isolation_level = None  # sqlite3 begins no transactions of its own: `_begin` does
        cursor = connection.cursor()
        for pragma in PRAGMAS:
            cursor.execute(f"PRAGMA {pragma}")
        cursor.close()

    @event.listens_for(engine.sync_engine, "begin")
    def _begin(connection: Connection) -> None:
        statement = connection.get_execution_options().get("begin", "BEGIN")
        if statement is not None:
            connection.exec_driver_sql(statement)

    return engine


async def _keep_log(engine: AsyncEngine) -> None:
    """Makes the file keep a write-ahead log, which it then remembers. For that SQLite does not wait until
    others have closed what they do, so we do."""
    loop = asyncio.get_running_loop()
    end = loop.time() + BUSY_TIMEOUT_MS / 1000
    async with engine.execution_options(begin=None).connect() as connection:
        while True:
            try:
                await connection.exec_driver_sql("PRAGMA journal_mode=WAL")
                return
            except OperationalError as error:
                if getattr(error.orig, "sqlite_errorcode", None) != sqlite3.SQLITE_BUSY or loop.time() > end:
                    raise
            await asyncio.sleep(RETRY_SECONDS)


async def _empty_log(engine: AsyncEngine) -> bool:
    """Moves the write-ahead log into the database and cuts it; whether it could: a reader that needs the log
    is waited for, but not for as long as a member waits for an answer. An error is only noted: what was
    committed is stored, and whoever stored it must take it up."""
    async with engine.execution_options(begin=None).connect() as connection:
        await connection.exec_driver_sql(f"PRAGMA busy_timeout={EMPTYING_TIMEOUT_MS}")
        try:
            emptied = await connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
            return not emptied.one()[0]
        except DBAPIError as error:
            log.error("The write-ahead log could not be emptied: %s", error.orig)
            return False
        finally:
            await connection.exec_driver_sql(f"PRAGMA busy_timeout={BUSY_TIMEOUT_MS}")
