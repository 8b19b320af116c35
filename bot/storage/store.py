"""The database: opened once, read and written in transactions."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import delete, select
from sqlalchemy.ext.asyncio import AsyncConnection

from bot.ports import may_be_stored
from bot.storage import postgresql, schema, sqlite
from bot.storage.address import Address, address_of
from bot.storage.base import upsert
from bot.storage.connections import Connections, connect
from bot.storage.errors import StorageError, check_not_lost, check_place, told
from bot.storage.faults import Faults
from bot.storage.listening import Listening, listening
from bot.storage.revision import HEAD, revision_of

__all__ = ["Reading", "StorageError", "Store", "Writing"]

EVENTS_KEPT = timedelta(days=2)
PRUNED_AT_ONCE = 200
WRITES_TO_PRUNING = 100


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
    """One database: a SQLite file, or what an address names. `now` tells when an event was seen, for those
    past two days to be forgotten."""

    def __init__(self, database: Path | Address, now: Callable[[], datetime] = _now) -> None:
        self.address = address_of(database) if isinstance(database, Path) else database
        self._now = now
        self._connections: Connections | None = None
        self._one_writer = asyncio.Lock()
        self._faults = Faults(lambda: asyncio.get_running_loop().time())
        self._writes = 0
        self._log_holds_erased = False

    @property
    def file(self) -> Path:
        """The file of a SQLite database."""
        assert self.address.file is not None
        return self.address.file

    @property
    def writes(self) -> int:
        """How many transactions wrote since the program began."""
        return self._writes

    async def open(self) -> None:
        """Opens the database, makes the file where there is none, and brings the tables up to date. Raises
        StorageError."""
        if self._connections is not None:
            return
        if self.address.file is not None:
            check_place(self.address.file)
            check_not_lost(self.address.file)
        connections = connect(self.address)
        try:
            with told(self.address):
                if self.address.file is not None:
                    await sqlite.keep_log(connections.plain)
                async with connections.reading.begin() as connection:
                    found = await connection.run_sync(revision_of, self.address)
                if found != HEAD:
                    # Alembic is slow to import, and a database that is up to date needs none of it.
                    from bot.storage.upgrade import upgrade

                    await upgrade(connections, self.address)
                async with connections.writing.begin() as connection:
                    await self._prune(connection)
        except BaseException:
            await connections.close()
            raise
        self._connections = connections

    async def close(self) -> None:
        """Closes the database once the last write is done. Does nothing where it is not open."""
        async with self._one_writer:
            connections, self._connections = self._connections, None
            if connections is not None:
                await connections.close()

    @asynccontextmanager
    async def read(self) -> AsyncIterator[Reading]:
        """One consistent view of the database. Raises StorageError."""
        with self._used("reading"):
            async with self._opened.reading.begin() as connection:
                yield Reading(connection)

    @asynccontextmanager
    async def write(self, event_id: int | None = None) -> AsyncIterator[Writing]:
        """One transaction, durable when it ends, and undone whole by any exception. `event_id`: the id of the
        interaction or message that it answers, stored with it. The next one waits for its end, so none may
        be opened within it. Raises StorageError."""
        with self._used("writing"):
            async with self._one_writer:
                number: int | None = None
                try:
                    async with self._opened.writing.begin() as connection:
                        writing = Writing(connection)
                        if event_id is not None:
                            writing.repeated = not await self._is_new(connection, event_id)
                        yield writing
                        if self._writes % WRITES_TO_PRUNING == WRITES_TO_PRUNING - 1:
                            await self._prune(connection)
                        self._log_holds_erased |= writing.erases  # before the commit, which may be cancelled
                        if self.address.file is None:
                            number = postgresql.number_of(connection)
                except Exception:
                    if number is None or not await self._was_stored(number, event_id):
                        raise
                if not writing.repeated:
                    may_be_stored.set(True)
                self._writes += 1
                if self._log_holds_erased and self.address.file is not None:
                    self._log_holds_erased = not await sqlite.empty_log(self._opened.plain)

    @asynccontextmanager
    async def write_beside(self) -> AsyncIterator[Writing]:
        """A transaction that need not wait for those of other processes: each of its statements is right
        whatever others write meanwhile. Raises StorageError."""
        with self._used("taking jobs"):
            async with self._one_writer:
                async with self._opened.beside.begin() as connection:
                    yield Writing(connection)
                self._writes += 1

    @asynccontextmanager
    async def settled(self) -> AsyncIterator[Reading]:
        """The same as `read` while no other transaction of this process writes: what is taken up in memory
        from it, within, is not older than what the last one has put there. Raises StorageError."""
        async with self._one_writer, self.read() as reading:
            yield reading

    async def listen(self) -> Listening:
        """A connection that is told of what other processes change; PostgreSQL alone does that. Raises
        StorageError."""
        with told(self.address):
            return await listening(self._opened.plain)

    @property
    def _opened(self) -> Connections:
        if self._connections is None:
            raise RuntimeError("The store is not open.")
        return self._connections

    @contextmanager
    def _used(self, way: str) -> Iterator[None]:
        """Within, the database is used; what goes wrong with it is told, and logged for whoever runs us."""
        try:
            with told(self.address):
                yield
        except StorageError as error:
            if not error.reference:
                error.reference = self._faults.note(way, str(error))
                error.unsure = may_be_stored.get()
            raise
        self._faults.worked(way)

    async def _was_stored(self, number: int, event_id: int | None) -> bool:
        """Whether a transaction of PostgreSQL's, whose end came with an error, was committed all the same."""
        stored = await postgresql.was_stored(self._opened.plain, number, event_id)
        if stored is None:
            may_be_stored.set(True)
        return stored is True

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
