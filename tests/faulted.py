"""Tallies logged in a database that fails at times, and what is then said and kept."""

from __future__ import annotations

import sqlite3
from collections.abc import Awaitable
from contextlib import closing
from pathlib import Path

import pytest
from stored import NOW, WREN, tally

from bot.storage import tallies
from bot.storage.store import StorageError, Store


async def log(store: Store, event_id: int) -> bool:
    """Whether the event was new."""
    async with store.write(event_id) as writing:
        if not writing.repeated:
            await tallies.add(writing, WREN, tally(note="x" * 200), event_id, NOW)
        return not writing.repeated


async def logged(store: Store) -> list[int]:
    async with store.read() as reading:
        return sorted(mark.id for mark in await tallies.marks(reading, WREN, 10_000))


async def refused(work: Awaitable[object]) -> StorageError:
    with pytest.raises(StorageError) as found:
        await work
    assert "\n" not in str(found.value)
    assert len(found.value.reference) == 6
    return found.value


async def refusal(work: Awaitable[object]) -> str:
    return str(await refused(work))


def events(file: Path) -> set[int]:
    """What the file itself says, beside any store."""
    with closing(sqlite3.connect(file)) as raw:
        assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        stored = {row[0] for row in raw.execute("SELECT event_id FROM tally")}
        assert stored == {row[0] for row in raw.execute("SELECT id FROM event")}
        return stored
