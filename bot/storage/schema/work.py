"""What is to be done, what was posted, and what was answered."""

from __future__ import annotations

from sqlalchemy import Column, Index, Integer, Table

from bot.storage.base import BigId, Text, UtcDateTime, metadata

job = Table(
    "job",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("key", Text, nullable=False, unique=True),
    Column("due_at", UtcDateTime, nullable=False),
    Column("payload", Text, nullable=False),
    Column("server_id", BigId),
    Column("lease_until", UtcDateTime),
    Column("claimed_by", Text),
    Column("attempts", Integer, nullable=False),
    Column("done_at", UtcDateTime),
    Index(None, "done_at", "lease_until", "due_at", "id"),
    sqlite_autoincrement=True,
)
"""What is to be done at some moment. It names no member, so that erasing one leaves none behind."""

post = Table(
    "post",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("key", Text, nullable=False, unique=True),
    Column("channel_id", BigId, nullable=False),
    Column("message_id", BigId),
    Column("made_at", UtcDateTime, nullable=False),
    Column("sent_at", UtcDateTime),
    sqlite_autoincrement=True,
)
"""Messages that are to be posted once, looked up before any is posted again. It names no member either."""

event = Table(
    "event",
    metadata,
    Column("id", BigId, primary_key=True, autoincrement=False),
    Column("seen_at", UtcDateTime, nullable=False, index=True),
)
"""Interactions and messages that were acted on, so that one delivered twice is acted on once."""
