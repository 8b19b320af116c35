"""The outbox: which messages are to be posted once, and which are known to stand. No row names a member."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select, update

from bot.results.job import Post
from bot.storage.base import upsert
from bot.storage.schema import post as rows
from bot.storage.store import Reading, Writing


async def find(reading: Reading, key: str) -> Post | None:
    """The post with this key."""
    row = (await reading.connection.execute(select(rows).where(rows.c.key == key))).one_or_none()
    return Post(row.key, row.channel_id, row.made_at, row.message_id, row.sent_at) if row else None


async def reserve(writing: Writing, key: str, channel_id: int, now: datetime) -> None:
    """Notes that a post is about to be sent there. One that was reserved before keeps its moment: since then
    it may have been sent."""
    values = {"key": key, "channel_id": channel_id, "made_at": now}
    statement = upsert(writing.dialect, rows, ("key",), replaced=("channel_id",))
    await writing.connection.execute(statement, values)


async def note_sent(writing: Writing, key: str, message_id: int, now: datetime) -> None:
    """Notes which message a reserved post is."""
    sent = update(rows).where(rows.c.key == key).values(message_id=message_id, sent_at=now)
    await writing.connection.execute(sent)
