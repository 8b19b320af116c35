"""Connections to a SQLite file: durable, foreign keys on, and a transaction begun as a writer's where it is
one (one that reads first and writes later fails as soon as another wrote)."""

from __future__ import annotations

import asyncio
import logging
import os
import sqlite3
from contextlib import suppress
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, ExceptionContext, event
from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.ext.asyncio import AsyncEngine, create_async_engine

from bot.storage.errors import LostFileError, primary_code

BUSY_TIMEOUT_MS = 5_000
EMPTYING_TIMEOUT_MS = 500
RETRY_SECONDS = 0.02
POOLED = 4
"""Connections kept open; more are opened while they are needed, up to four times as many."""
PRAGMAS = (
    f"busy_timeout={BUSY_TIMEOUT_MS}",
    "synchronous=FULL",
    "foreign_keys=ON",
    "secure_delete=ON",  # what a member erases is overwritten, not only unlinked
)
# The execution option `begin`: what begins a transaction; without it there is none.
READING: dict[str, Any] = {"begin": "BEGIN"}
WRITING: dict[str, Any] = {"begin": "BEGIN IMMEDIATE"}
BESIDE = WRITING
LOST = (
    " was removed or replaced while the bot ran; stop the bot, put that file back, or a backup of it with "
    "`cornerman restore`, and start the bot again."
)
LOST_LOG = (
    "-wal was removed while the bot ran; stop the bot, which then saves what was in it, and start it again."
)
SPOILT = {
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_CORRUPT,
    sqlite3.SQLITE_NOTADB,
}
"""Primary result codes after which connections are made anew: one that was opened while the file was
read-only, say, stays so."""

log = logging.getLogger(__name__)


def engine(url: URL) -> AsyncEngine:
    """An engine whose connections are set up so, and which by itself begins no transactions. Where the file
    is no longer that which its first connection opened, a transaction raises LostFileError: what is written
    to a removed file is gone, and a connection to another one would mix the two."""
    file = Path(url.database or "")
    opened: list[os.stat_result] = []
    made = create_async_engine(
        url,
        pool_size=POOLED,
        max_overflow=3 * POOLED,
        hide_parameters=True,  # an error is logged, and what members wrote must not be
    )

    @event.listens_for(made.sync_engine, "do_connect")
    def _connect(*_: object) -> None:
        if not opened:
            make_private(file)
        elif not _is_there(file, opened[0]):
            # SQLite would make a new file, and with that one's first connection take the other's log away.
            raise LostFileError(LOST)

    @event.listens_for(made.sync_engine, "connect")
    def _set_up(connection: Any, _record: Any) -> None:
        connection.isolation_level = None  # sqlite3 begins no transactions of its own: `_begin` does
        cursor = connection.cursor()
        for pragma in PRAGMAS:
            cursor.execute(f"PRAGMA {pragma}")
        cursor.close()
        if not opened:
            opened.append(file.stat())

    @event.listens_for(made.sync_engine, "begin")
    def _begin(connection: Connection) -> None:
        statement = connection.get_execution_options().get("begin")
        if statement is None:
            return
        if not _is_there(file, opened[0]):
            raise LostFileError(LOST)
        connection.exec_driver_sql(statement)
        if statement == WRITING["begin"] and not file.with_name(f"{file.name}-wal").exists():
            raise LostFileError(LOST_LOG)

    @event.listens_for(made.sync_engine, "invalidate")
    def _let_go(connection: Any, *_: object) -> None:
        # Of a task that was ended, say. Closing is not enough: as long as anybody knows one of its
        # statements, which an exception's traceback does, SQLite would keep its transaction, and its lock.
        with suppress(Exception):
            connection.rollback()

    @event.listens_for(made.sync_engine, "handle_error")
    def _note_spoilt(context: ExceptionContext) -> None:
        if primary_code(context.original_exception) in SPOILT:
            context.is_disconnect = True

    return made


def _is_there(file: Path, opened: os.stat_result) -> bool:
    try:
        return os.path.samestat(file.stat(), opened)
    except OSError:
        return False


def make_private(file: Path) -> None:
    """Makes an empty file where there is none, for a database: it will hold what members wrote, so nobody but
    its owner may read it. Where no file can be made, SQLite is left to say so."""
    with suppress(OSError):
        os.close(os.open(file, os.O_CREAT | os.O_RDWR, 0o600))


async def keep_log(plain: AsyncEngine) -> None:
    """Makes the file keep a write-ahead log, which it then remembers. For that SQLite does not wait until
    others have closed what they do, so we do."""
    loop = asyncio.get_running_loop()
    end = loop.time() + BUSY_TIMEOUT_MS / 1000
    async with plain.connect() as connection:
        while True:
            try:
                await connection.exec_driver_sql("PRAGMA journal_mode=WAL")
                return
            except OperationalError as error:
                if getattr(error.orig, "sqlite_errorcode", None) != sqlite3.SQLITE_BUSY or loop.time() > end:
                    raise
            await asyncio.sleep(RETRY_SECONDS)


async def empty_log(plain: AsyncEngine) -> bool:
    """Moves the write-ahead log into the database and cuts it; whether it could: a reader that needs the log
    is waited for, but not for as long as a member waits for an answer. An error is only noted: what was
    committed is stored, and whoever stored it must take it up."""
    try:
        async with plain.connect() as connection:
            await connection.exec_driver_sql(f"PRAGMA busy_timeout={EMPTYING_TIMEOUT_MS}")
            try:
                emptied = await connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
                return not emptied.one()[0]
            finally:
                if not connection.invalidated:
                    await connection.exec_driver_sql(f"PRAGMA busy_timeout={BUSY_TIMEOUT_MS}")
    except (DBAPIError, sqlite3.Error, LostFileError) as error:
        log.error("The write-ahead log could not be emptied: %s", error)
        return False
