"""Servers, members, and what they practise: tallies, routes and conversions."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    SmallInteger,
    Table,
    UniqueConstraint,
    false,
    text,
)

from bot.storage.base import BigId, Text, UtcDateTime, metadata

server = Table(
    "server",
    metadata,
    Column("id", BigId, primary_key=True, autoincrement=False),
    Column("game", Text),
    Column("zone", Text),
    Column("coach_role", BigId),
    Column("notice_channel", BigId),
    Column("moderator_role", BigId),
    Column("patch_channel", BigId),
    Column("notation", Text),
    Column("quiet", Text),
    Column("keep_days", Integer),
)

member = Table(
    "member",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("server_id", BigId, ForeignKey(server.c.id), nullable=False),
    Column("member_id", BigId, nullable=False),
    Column("character", Text),
    Column("goal", Float),
    Column("side", Text),
    Column("controller", Text),
    Column("controls", Text),
    Column("zone", Text),
    Column("quiet", Text),
    Column("listed", Boolean, nullable=False, server_default=false()),
    Column("muted", Boolean, nullable=False, server_default=false()),
    UniqueConstraint("server_id", "member_id"),
    sqlite_autoincrement=True,
)

subject = Table(
    "subject",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("owner_id", BigId, ForeignKey(member.c.id), nullable=False),
    Column("game", Text, nullable=False),
    Column("character", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("what", Text, nullable=False),
    UniqueConstraint("owner_id", "game", "character", "kind", "what"),
    sqlite_autoincrement=True,
)

total = Table(
    "total",
    metadata,
    Column("subject_id", BigId, ForeignKey(subject.c.id), primary_key=True, autoincrement=False),
    Column("context", Text, primary_key=True),
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
    Column("context", Text, nullable=False),
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
    Column("side", Text),
    Column("controller", Text),
    Column("controls", Text),
    Column("gap_frames", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("game_version", Text, nullable=False),
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
    Column("game", Text, nullable=False),
    Column("character", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("game_version", Text, nullable=False),
    Column("notation", Text, nullable=False),
    Column("saved_at", UtcDateTime, nullable=False),
    Column("tags", Text, nullable=False, server_default=text("''")),
    UniqueConstraint("owner_id", "game", "character", "name"),
    sqlite_autoincrement=True,
)

library = Table(
    "library",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("server_id", BigId, ForeignKey(server.c.id), nullable=False),
    Column("owner_id", BigId, ForeignKey(member.c.id), nullable=False, index=True),
    Column("game", Text, nullable=False),
    Column("character", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("game_version", Text, nullable=False),
    Column("notation", Text, nullable=False),
    Column("tags", Text, nullable=False),
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
    Column("game", Text, nullable=False),
    Column("character", Text, nullable=False),
    Column("starter", Text, nullable=False),
    Column("situation", Text, nullable=False),
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
    Column("route_ids", Text, nullable=False),
    Column("asked_at", UtcDateTime, nullable=False),
    sqlite_autoincrement=True,
)
"""The question that a member has before them, and the routes that they may pick."""
