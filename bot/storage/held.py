"""One connection to a database, kept for as long as a copy takes: alone there, or beside a bot that runs."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from sqlite3 import SQLITE_BUSY, SQLITE_LOCKED
from typing import Any

from sqlalchemy.exc import OperationalError
from sqlalchemy.ext.asyncio import AsyncConnection

from bot.storage import postgresql, sqlite
from bot.storage.address import Address
from bot.storage.connections import connect
from bot.storage.errors import StorageError, check_place, primary_code, told

LOOKS = 50
LOOK_SECONDS = 0.1
"""A process that was killed is gone from PostgreSQL's list a moment later."""
_OTHERS = (
    "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() "
    "AND application_name = 'cornerman' AND pid <> pg_backend_pid()"
)
# What begins a transaction: a file that nobody else uses keeps no write-ahead log, and an option that was set
# for reading stays set.
_ALONE: dict[str, Any] = {"begin": "BEGIN EXCLUSIVE"}
_WRITING: dict[str, Any] = {**postgresql.BESIDE, "postgresql_readonly": False}


@dataclass(frozen=True, slots=True)
class Held:
    """A connection that begins transactions as it is told to: `reads` sees one view, `writes` is a
    transaction."""

    address: Address
    connection: AsyncConnection

    @property
    def is_file(self) -> bool:
        """Whether it is a SQLite database."""
        return self.address.file is not None

    @asynccontextmanager
    async def reads(self) -> AsyncIterator[None]:
        """Within, all that is read is of one moment. Raises StorageError."""
        kind = sqlite if self.is_file else postgresql
        with told(self.address):
            await self.connection.execution_options(**kind.READING)
            async with self.connection.begin():
                yield

    @asynccontextmanager
    async def writes(self) -> AsyncIterator[None]:
        """Within, all that is written is one transaction, durable at its end. Raises StorageError."""
        with told(self.address):
            await self.connection.execution_options(**(_ALONE if self.is_file else _WRITING))
            async with self.connection.begin():
                yield


@asynccontextmanager
async def beside(address: Address) -> AsyncIterator[Held]:
    """A connection beside those of a bot that runs. Raises StorageError."""
    connections = connect(address)
    try:
        with told(address):
            async with connections.plain.connect() as connection:
                if address.file is None:  # it waits for long while the other side is read through
                    await connection.exec_driver_sql("SET idle_in_transaction_session_timeout = 0")
                    await connection.rollback()
                yield Held(address, connection)
    finally:
        await connections.close()


@asynccontextmanager
async def alone(address: Address) -> AsyncIterator[Held]:
    """A connection to a database that nobody else uses; until its end nobody writes there. A file is made
    where there is none. Raises StorageError, also where the database is in use."""
    if address.file is not None:
        check_place(address.file)
    async with beside(address) as held:
        with told(address):
            if address.file is not None:
                await _lock_file(held)
            else:
                await _lock_server(held)
        yield held


async def _lock_file(held: Held) -> None:
    """Locks everybody else out, as a restore does; the operating system ends the lock with the process."""
    connection = held.connection
    try:
        await connection.exec_driver_sql("PRAGMA busy_timeout=0")
        await connection.exec_driver_sql("PRAGMA locking_mode=EXCLUSIVE")
        mode = (await connection.exec_driver_sql("PRAGMA journal_mode=DELETE")).scalar_one()
        await connection.exec_driver_sql("BEGIN EXCLUSIVE")
        await connection.exec_driver_sql("COMMIT")
    except OperationalError as error:
        if primary_code(error) not in (SQLITE_BUSY, SQLITE_LOCKED):
            raise
        mode = "in use"
    if mode != "delete":
        raise in_use(held.address)
    await connection.rollback()


async def _lock_server(held: Held) -> None:
    """Takes the writers' lock for the whole session, after which nobody begins to write."""
    connection = held.connection
    await connection.exec_driver_sql(f"SELECT pg_advisory_lock({postgresql.WRITERS})")
    for _ in range(LOOKS):
        if not (await connection.exec_driver_sql(_OTHERS)).scalar_one():
            await connection.rollback()
            return
        await asyncio.sleep(LOOK_SECONDS)
    raise in_use(held.address)


def in_use(address: Address) -> StorageError:
    """What a host reads where somebody else has the database open."""
    return StorageError(f"{address} is in use; stop the bot first, and whatever else writes there.")
