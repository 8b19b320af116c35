"""The tables, portable between SQLite and PostgreSQL, with an index for each query that is made.

Sized for ten million tallies: rows name their owner by a small number, and what is practised is written once
for each member. The migrations make the same tables; a test compares them.
"""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache
from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    SmallInteger,
    String,
    Table,
    TypeDecorator,
    UniqueConstraint,
    text,
)
from sqlalchemy.dialects import postgresql, sqlite

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
metadata = MetaData(naming_convention=NAMES)

BigId = BigInteger().with_variant(Integer(), "sqlite")
"""A 64-bit key. SQLite counts only a key of type INTEGER up by itself, and it has 64 bits there."""


class UtcDateTime(TypeDecorator[datetime]):
    """A moment: aware when given, always aware and in UTC when read."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.utcoffset() is None:
            raise ValueError(f"A stored moment needs a time zone: {value} has none.")
        utc = value.astimezone(UTC)
        return utc.replace(tzinfo=None) if dialect.name == "sqlite" else utc

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if dialect.name == "sqlite" else value.astimezone(UTC)


server = Table(
    "server",
    metadata,
    Column("id", BigId, primary_key=True, autoincrement=False),
    Column("game", String),
    Column("zone", String),
)

member = Table(
    "member",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("server_id", BigId, ForeignKey(server.c.id), nullable=False),
    Column("member_id", BigId, nullable=False),
    Column("character", String),
    Column("goal", Float),
    Column("side", String),
    Column("controller", String),
    Column("controls", String),
    UniqueConstraint("server_id", "member_id"),
    sqlite_autoincrement=True,
)

subject = Table(
    "subject",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("owner_id", BigId, ForeignKey(member.c.id), nullable=False),
    Column("game", String, nullable=False),
    Column("character", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("what", String, nullable=False),
    UniqueConstraint("owner_id", "game", "character", "kind", "what"),
    sqlite_autoincrement=True,
)

total = Table(
    "total",
    metadata,
    Column("subject_id", BigId, ForeignKey(subject.c.id), primary_key=True, autoincrement=False),
    Column("context", String, primary_key=True),
    Column("tallies", Integer, nullable=False),
    Column("tries", Integer, nullable=False),
    Column("landed", Integer, nullable=False),
    Column("early", Integer, nullable=False),
    Column("late", Integer, nullable=False),
    sqlite_with_rowid=False,
)
"""Running sums over the tallies that are not undone, kept in the same transaction as the rows."""

tally = Table(
    "tally",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("owner_id", BigId, ForeignKey(member.c.id), nullable=False),
    Column("subject_id", BigId, ForeignKey(subject.c.id), nullable=False),
    Column("event_id", BigId, unique=True),
    Column("undone", Boolean, nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    Column("logged_at", UtcDateTime, nullable=False),
    Column("context", String, nullable=False),
    Column("presses", SmallInteger, nullable=False),
    Column("tries", Integer, nullable=False),
    Column("landed", Integer, nullable=False),
    Column("early", Integer, nullable=False),
    Column("late", Integer, nullable=False),
    Column("wrong_state", Integer, nullable=False),
    Column("too_far", Integer, nullable=False),
    Column("wrong_direction", Integer, nullable=False),
    Column("motion_failed", Integer, nullable=False),
    Column("no_gauge", Integer, nullable=False),
    Column("mashed", Integer, nullable=False),
    Column("side", String),
    Column("controller", String),
    Column("controls", String),
    Column("gap_frames", String, nullable=False),
    Column("note", String, nullable=False),
    Column("game_version", String, nullable=False),
    Index(None, "owner_id", "undone", "id"),
    Index(None, "owner_id", "undone", "made_at", "id"),
    Index(None, "subject_id", "undone", "id"),
    Index(None, "subject_id", "undone", "made_at", "id"),
    sqlite_autoincrement=True,  # a button of an erased tally must never mean a later one
)

route = Table(
    "route",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("owner_id", BigId, ForeignKey(member.c.id), nullable=False),
    Column("game", String, nullable=False),
    Column("character", String, nullable=False),
    Column("name", String, nullable=False),
    Column("game_version", String, nullable=False),
    Column("notation", String, nullable=False),
    Column("saved_at", UtcDateTime, nullable=False),
    Column("tags", String, nullable=False, server_default=text("''")),
    UniqueConstraint("owner_id", "game", "character", "name"),
    sqlite_autoincrement=True,
)

library = Table(
    "library",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("server_id", BigId, ForeignKey(server.c.id), nullable=False),
    Column("owner_id", BigId, ForeignKey(member.c.id), nullable=False, index=True),
    Column("game", String, nullable=False),
    Column("character", String, nullable=False),
    Column("name", String, nullable=False),
    Column("game_version", String, nullable=False),
    Column("notation", String, nullable=False),
    Column("tags", String, nullable=False),
    Column("shared_at", UtcDateTime, nullable=False),
    UniqueConstraint("server_id", "game", "character", "name"),
    sqlite_autoincrement=True,
)
"""Routes that members shared with everybody in their server."""

conversion = Table(
    "conversion",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("owner_id", BigId, ForeignKey(member.c.id), nullable=False),
    Column("game", String, nullable=False),
    Column("character", String, nullable=False),
    Column("starter", String, nullable=False),
    Column("situation", String, nullable=False),
    Column("route_id", BigId, ForeignKey(route.c.id), nullable=False, index=True),
    Column("step", SmallInteger, nullable=False),
    Column("due_at", UtcDateTime),
    UniqueConstraint("owner_id", "game", "character", "starter", "situation"),
    sqlite_autoincrement=True,
)
"""What a member does when a starter lands in some situation, and how well they know it."""

quiz = Table(
    "quiz",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("owner_id", BigId, ForeignKey(member.c.id), nullable=False, unique=True),
    Column("conversion_id", BigId, ForeignKey(conversion.c.id), nullable=False, index=True),
    Column("route_ids", String, nullable=False),
    Column("asked_at", UtcDateTime, nullable=False),
    sqlite_autoincrement=True,
)
"""The question that a member has before them, and the routes that they may pick."""

job = Table(
    "job",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("kind", String, nullable=False),
    Column("key", String, nullable=False, unique=True),
    Column("due_at", UtcDateTime, nullable=False),
    Column("payload", String, nullable=False),
    Column("server_id", BigId),
    Column("lease_until", UtcDateTime),
    Column("claimed_by", String),
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
    Column("key", String, nullable=False, unique=True),
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


@cache
def upsert(
    dialect: str,
    table: Table,
    keys: tuple[str, ...],
    replaced: tuple[str, ...] = (),
    added: tuple[str, ...] = (),
) -> postgresql.Insert | sqlite.Insert:
    """Inserts the row that it is run with. Where one with these keys stands already, its columns in
    `replaced` are set to the values, those in `added` grow by them, and the others are left alone."""
    insert = postgresql.insert(table) if dialect == "postgresql" else sqlite.insert(table)
    if not replaced and not added:
        return insert.on_conflict_do_nothing(index_elements=keys)
    changes: dict[str, Any] = {name: insert.excluded[name] for name in replaced}
    changes |= {name: table.c[name] + insert.excluded[name] for name in added}
    return insert.on_conflict_do_update(index_elements=keys, set_=changes)
