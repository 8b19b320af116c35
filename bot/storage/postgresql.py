"""Connections to a PostgreSQL database. Whoever writes holds one lock that all processes share until the
transaction ends: as with SQLite, what a use case read is still so when it writes."""

from __future__ import annotations

import asyncio
from typing import Any

from asyncpg import PostgresError
from sqlalchemy import URL, Connection, Dialect, event, text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine, create_async_engine

from bot.storage.errors import UnreachableError

LOCK_TIMEOUT_MS = 5_000
STATEMENT_TIMEOUT_MS = 60_000
CONNECT_SECONDS = 10
ANSWER_SECONDS = 70
"""A server that is silent for so long is not there any more; it ends a statement itself before that."""
FATE_PAUSES_SECONDS = (0.1, 0.2, 0.4, 0.8, 1.6, 3.2)
"""Between the looks at what became of a transaction: a server that failed comes back within them."""
POOLED = 4
"""Connections kept open; more are opened while they are needed, up to four times as many."""
WRITERS = 0x636F726E
"""The number of the lock that whoever writes holds."""
# The execution option `begin`: what a transaction does first.
READING: dict[str, Any] = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
BESIDE: dict[str, Any] = {"isolation_level": "READ COMMITTED"}
WRITING: dict[str, Any] = {**BESIDE, "begin": f"SELECT pg_advisory_xact_lock({WRITERS}), txid_current()"}
_NUMBER = "transaction"
_NOT_GIVEN_OUT = "22023"
"""The error code where a transaction's number lies ahead of all that were given out."""


def engine(url: URL) -> AsyncEngine:
    """An engine that by itself begins no transactions. Its connections are tried before they are used: the
    server may have been started anew."""
    made = create_async_engine(
        url,
        isolation_level="AUTOCOMMIT",
        pool_size=POOLED,
        max_overflow=3 * POOLED,
        pool_pre_ping=True,
        hide_parameters=True,  # an error is logged, and what members wrote must not be
        connect_args={
            "timeout": CONNECT_SECONDS,
            "command_timeout": ANSWER_SECONDS,
            "server_settings": {
                "application_name": "cornerman",
                "lock_timeout": str(LOCK_TIMEOUT_MS),
                "statement_timeout": str(STATEMENT_TIMEOUT_MS),
                "idle_in_transaction_session_timeout": str(STATEMENT_TIMEOUT_MS),
                "timezone": "UTC",
            },
        },
    )

    @event.listens_for(made.sync_engine, "do_connect")
    def _connect(dialect: Dialect, _record: Any, given: Any, named: Any) -> Any:
        try:
            return dialect.connect(*given, **named)
        except OSError as error:
            raise UnreachableError(str(error)) from error

    @event.listens_for(made.sync_engine, "begin")
    def _begin(connection: Connection) -> None:
        statement = connection.get_execution_options().get("begin")
        if statement is not None:
            connection.info[_NUMBER] = connection.exec_driver_sql(statement).one()[1]

    return made


def number_of(connection: AsyncConnection) -> int:
    """The server's number of the transaction that a connection of those for writing has begun."""
    assert connection.sync_connection is not None
    number: int = connection.sync_connection.info[_NUMBER]
    return number


async def was_stored(plain: AsyncEngine, number: int, event_id: int | None) -> bool | None:
    """Whether the transaction with this number, which stored this event, was committed: asked where that
    ended in an error. None where the server cannot be asked for a while, and for one that stored no event:
    after a crash the server may give the number out again, so that by itself it proves nothing."""
    for pause in (0.0, *FATE_PAUSES_SECONDS):
        await asyncio.sleep(pause)
        try:
            async with plain.connect() as connection:
                query = text("SELECT txid_status(:number)")
                status = (await connection.execute(query, {"number": number})).scalar_one()
                if status == "committed" and event_id is not None:  # looked for once it must be there
                    event_stored = text("SELECT EXISTS (SELECT FROM event WHERE id = :event_id)")
                    return bool((await connection.execute(event_stored, {"event_id": event_id})).scalar_one())
        except (DBAPIError, PostgresError, UnreachableError, OSError) as error:
            if getattr(getattr(error, "orig", error), "sqlstate", None) == _NOT_GIVEN_OUT:
                return False  # it crashed, and knows nothing of it
            continue  # it is not there, or not yet
        if status == "committed":
            return None
        if status == "aborted":
            return False
    return None
