"""An open store on a database of its own, and tallies to put into it."""

from __future__ import annotations

import asyncio
import tempfile
import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

from bot.results.place import Owner
from bot.results.tally import Subject, SubjectKind, Tally
from bot.storage.store import Store

NOW = datetime(2026, 1, 1, 12, tzinfo=UTC)
WREN = Owner(server_id=5, member_id=70)
LINK = Subject("Saltglass", "Mirrel", SubjectKind.LINK, "5A > 5B")
ROUTE = Subject("Saltglass", "Mirrel", SubjectKind.ROUTE, "5A > 5B > 5C")
DRILL = Subject("Saltglass", "", SubjectKind.DRILL, "block ten")


@cache
def migrated() -> bytes:
    """An empty database with its tables, made once: migrating takes longer than most tests."""

    async def make(file: Path) -> None:
        store = Store(file)
        await store.open()
        await store.close()

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "template.db"
        thread = threading.Thread(target=lambda: asyncio.run(make(file)))  # the tests' loop may be running
        thread.start()
        thread.join()
        return file.read_bytes()


def new_database(folder: Path) -> Path:
    """The file of an empty database in this folder."""
    file = folder / "cornerman.db"
    file.write_bytes(migrated())
    return file


@asynccontextmanager
async def opened(folder: Path, **options: Any) -> AsyncIterator[Store]:
    """A store on the database in this folder, a new one where there is none; closed at the end."""
    file = folder / "cornerman.db"
    store = Store(file if file.exists() else new_database(folder), **options)
    await store.open()
    try:
        yield store
    finally:
        await store.close()


def tally(landed: int = 7, tries: int = 10, subject: Subject = LINK, **others: Any) -> Tally:
    """A tally made now, of a link where nothing else is said."""
    return Tally(subject=subject, tries=tries, landed=landed, **{"made_at": NOW, **others})
