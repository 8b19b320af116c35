"""Connections to a database, in the ways in which they are used: for reading, for writing, and beside those
who write."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy.ext.asyncio import AsyncEngine

from bot.storage import postgresql, sqlite
from bot.storage.address import Address


@dataclass(frozen=True, slots=True)
class Connections:
    """`plain`: each statement is a transaction of its own; the others, made of it, begin transactions.

    reading: sees the database as it was when it began. writing: one at a time, of all processes, until its
    end, so that what it read is still so when it writes. beside: writes without waiting for those, where
    each statement is right whatever others write meanwhile (SQLite has one writer all the same).
    """

    plain: AsyncEngine
    reading: AsyncEngine
    writing: AsyncEngine
    beside: AsyncEngine

    async def close(self) -> None:
        """Close them all."""
        await self.plain.dispose()


def connect(address: Address) -> Connections:
    """Ways to a database; none is gone yet. An error that they raise never names what was written."""
    maker = sqlite if address.file is not None else postgresql
    engine = maker.engine(address.url)
    return Connections(
        engine,
        engine.execution_options(**maker.READING),
        engine.execution_options(**maker.WRITING),
        engine.execution_options(**maker.BESIDE),
    )
