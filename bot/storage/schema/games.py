"""A server's own games, and what was done there."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, String, Table, UniqueConstraint

from bot.storage.base import BigId, UtcDateTime, metadata
from bot.storage.schema.practice import member, server

edition = Table(
    "edition",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("server_id", BigId, ForeignKey(server.c.id), nullable=False),
    Column("game", String, nullable=False),
    Column("version", String, nullable=False),
    Column("content", String, nullable=False),
    Column("digest", String, nullable=False),
    Column("made_by", BigId, ForeignKey(member.c.id), index=True),
    Column("made_at", UtcDateTime, nullable=False),
    Column("reason", String, nullable=False),
    UniqueConstraint("server_id", "game", "version"),
    sqlite_autoincrement=True,
)
"""Versions of the game files of a server; of those of the host's, where the server is `DIRECT_MESSAGES`."""

game = Table(
    "game",
    metadata,
    Column("server_id", BigId, ForeignKey(server.c.id), primary_key=True, autoincrement=False),
    Column("game", String, primary_key=True),
    Column("edition_id", BigId, ForeignKey(edition.c.id), nullable=False, index=True),
    sqlite_with_rowid=False,
)
"""The version of each of its own games that a server uses."""

channel = Table(
    "channel",
    metadata,
    Column("id", BigId, primary_key=True, autoincrement=False),
    Column("server_id", BigId, ForeignKey(server.c.id), nullable=False, index=True),
    Column("game", String, nullable=False),
)
"""Channels that are about another game than their server."""

upload = Table(
    "upload",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("owner_id", BigId, ForeignKey(member.c.id), nullable=False, unique=True),
    Column("files", String, nullable=False),
    Column("columns", String, nullable=False),
    Column("character", String),
    Column("reason", String, nullable=False),
    Column("made_at", UtcDateTime, nullable=False, index=True),
    sqlite_autoincrement=True,
)
"""Game files that a moderator sent and has not confirmed yet, one lot each."""

report = Table(
    "report",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("owner_id", BigId, ForeignKey(member.c.id), nullable=False, index=True),
    Column("server_id", BigId, ForeignKey(server.c.id), nullable=False),
    Column("game", String, nullable=False),
    Column("version", String, nullable=False),
    Column("character", String, nullable=False),
    Column("input", String, nullable=False),
    Column("column", String, nullable=False),
    Column("found", String, nullable=False),
    Column("right", String, nullable=False),
    Column("note", String, nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    Column("stage", String, nullable=False),
    Column("decided_by", BigId, ForeignKey(member.c.id), index=True),
    Column("decided_at", UtcDateTime),
    Index(None, "server_id", "stage", "id"),
    sqlite_autoincrement=True,
)
"""Numbers that members say are wrong, and what was decided."""

patch_notice = Table(
    "patch_notice",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("owner_id", BigId, ForeignKey(member.c.id), nullable=False, index=True),
    Column("edition_id", BigId, ForeignKey(edition.c.id), nullable=False),
    Column("before_id", BigId, ForeignKey(edition.c.id), nullable=False, index=True),
    UniqueConstraint("edition_id", "before_id", "owner_id"),
    sqlite_autoincrement=True,
)
"""Who is told, once, what a change from one version to another does to what is theirs."""

audit = Table(
    "audit",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("server_id", BigId, ForeignKey(server.c.id), nullable=False),
    Column("made_by", BigId, ForeignKey(member.c.id), index=True),
    Column("made_at", UtcDateTime, nullable=False),
    Column("deed", String, nullable=False),
    Column("what", String, nullable=False),
    Index(None, "server_id", "id"),
    Index(None, "made_at"),
    sqlite_autoincrement=True,
)
"""What moderators and coaches did. `made_by` is null once they have erased what is kept of them."""
