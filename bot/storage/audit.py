"""What moderators and coaches did: written in the transaction in which they did it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ScalarSelect, Select, delete, insert, select, update

from bot.results.audit import WHAT_CHARACTERS, Deed, Entry
from bot.results.place import Owner
from bot.storage.rows import enter
from bot.storage.schema import audit, member
from bot.storage.store import Reading, Writing
from core.text import one_line


async def note(writing: Writing, by: Owner, at: datetime, deed: Deed, what: str = "") -> None:
    """Notes what somebody did, in their server."""
    values = {
        "server_id": by.server_id,
        "made_by": await enter(writing, by),
        "made_at": at,
        "deed": deed.value,
        "what": one_line(what)[:WHAT_CHARACTERS],
    }
    await writing.connection.execute(insert(audit), values)


async def listed(reading: Reading, server_id: int, before: int | None, most: int) -> tuple[Entry, ...]:
    """A server's entries, the newest first, those before this one where it is given."""
    query = select(audit, member.c.member_id).join_from(audit, member, isouter=True)
    query = query.where(audit.c.server_id == server_id)
    if before is not None:
        query = query.where(audit.c.id < before)
    return await _all(reading, query.order_by(audit.c.id.desc()).limit(most))


async def of_member(reading: Reading, number: int) -> tuple[Entry, ...]:
    """What the member with this number did, the first first."""
    query = select(audit, member.c.member_id).join_from(audit, member).where(audit.c.made_by == number)
    return await _all(reading, query.order_by(audit.c.id))


async def erase(writing: Writing, number: ScalarSelect[int]) -> None:
    """What the member with this number did stays, without their name."""
    await writing.connection.execute(update(audit).where(audit.c.made_by == number).values(made_by=None))


async def prune(writing: Writing, before: datetime) -> int:
    """Removes what is older; how much it was."""
    gone = await writing.connection.execute(delete(audit).where(audit.c.made_at < before))
    return gone.rowcount


async def _all(reading: Reading, query: Select[*tuple[Any, ...]]) -> tuple[Entry, ...]:
    rows = await reading.connection.execute(query)
    return tuple(Entry(row.id, row.member_id, row.made_at, Deed(row.deed), row.what) for row in rows)
