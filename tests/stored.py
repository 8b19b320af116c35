"""An open store on a database of its own, and tallies to put into it."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from databases import database_at

from bot.results.place import Owner
from bot.results.tally import Subject, SubjectKind, Tally
from bot.storage.address import address_of
from bot.storage.store import Store

NOW = datetime(2026, 1, 1, 12, tzinfo=UTC)
WREN = Owner(server_id=5, member_id=70)
LINK = Subject("Saltglass", "Mirrel", SubjectKind.LINK, "5A > 5B")
ROUTE = Subject("Saltglass", "Mirrel", SubjectKind.ROUTE, "5A > 5B > 5C")
DRILL = Subject("Saltglass", "", SubjectKind.DRILL, "block ten")


@asynccontextmanager
async def opened(folder: Path, **options: Any) -> AsyncIterator[Store]:
    """A store on the database of this folder, a new one where there is none; closed at the end."""
    store = Store(address_of(database_at(folder)), **options)
    await store.open()
    try:
        yield store
    finally:
        await store.close()


def tally(landed: int = 7, tries: int = 10, subject: Subject = LINK, **others: Any) -> Tally:
    """A tally made now, of a link where nothing else is said."""
    return Tally(subject=subject, tries=tries, landed=landed, **{"made_at": NOW, **others})
