"""A connection to a PostgreSQL database that hears what the triggers of its tables tell (schema/told.py)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from sqlalchemy import PoolProxiedConnection
from sqlalchemy.ext.asyncio import AsyncEngine

from bot.storage.errors import UnreachableError
from bot.storage.schema.told import CHANNEL

ANSWER_SECONDS = 10.0
"""So long a connection may take to answer; one that takes longer is given up."""


class Listening:
    """One connection, which listens. Nothing waits on it: it calls."""

    def __init__(self, held: PoolProxiedConnection, connection: Any) -> None:
        self._held = held  # the pool takes back what nobody holds
        self._connection = connection

    async def begin(self, hear: Callable[[str], None], lost: Callable[[], None]) -> None:
        """From now on call `hear` with each thing that is told, in the order of the commits; and `lost` once,
        when the connection is gone, whoever ended it."""
        self._connection.add_termination_listener(lambda _: lost())
        await self._connection.add_listener(CHANNEL, lambda _connection, _process, _channel, said: hear(said))

    async def tell(self, said: str) -> None:
        """Tell all who listen, ourselves included."""
        await self._run("SELECT pg_notify($1, $2)", CHANNEL, said)

    async def beat(self) -> None:
        """See whether the other end answers: a connection may die without a word."""
        await self._run("SELECT 1")

    def drop(self) -> None:
        """End it at once; it may be dead already."""
        self._connection.terminate()

    async def _run(self, statement: str, *values: str) -> None:
        try:
            await self._connection.execute(statement, *values, timeout=ANSWER_SECONDS)
        except (OSError, TimeoutError) as error:
            raise UnreachableError(str(error)) from error


async def listening(engine: AsyncEngine) -> Listening:
    """A connection of its own, made as the engine makes its others."""
    held = await engine.raw_connection()
    connection = held.driver_connection
    held.detach()
    return Listening(held, connection)
