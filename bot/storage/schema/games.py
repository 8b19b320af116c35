"""A server's own games, and what was done there."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, Table, UniqueConstraint

from bot.storage.base import BigId, Text, UtcDateTime, metadata
from bot.storage.schema.practice import member, server

edition = Table(
    "edition",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("server_id", BigId, ForeignKey(server.c.id), nullable=False),
    Column("game", Text, nullable=False),
    Column("version", Text, nullable=False),
    Column("content", Text, nullable=False),
    Column("digest", Text, nullable=False),
    Column("made_by", BigId, ForeignKey(member.c.id), index=True),
    Column("made_at", UtcDateTime, nullable=False),
    Column("reason", Text, nullable=False),
    UniqueConstraint("server_id", "game", "version"),
    sqlite_autoincrement=True,
)
"""Versions of the game files of a server; of those of the host's, where the server is `DIRECT_MESSAGES`."""

game = Table(
    "game",
    metadata,
    Column("server_id", BigId, ForeignKey(server.c.id), primary_key=True, autoincrement=False),
    Column("game", Text, primary_key=True),
    Column("edition_id", BigId, ForeignKey(edition.c.id), nullable=False, index=True),
    sqlite_with_rowid=False,
)
"""The version of each of its own games that a server uses."""

channel = Table(
    "channel",
    metadata,
    Column("id", BigId, primary_key=True, autoincrement=False),
    Column("server_id", BigId, ForeignKey(server.c.id), nullable=False, index=True),
    Column("game", Text, nullable=False),
)
"""Channels that are about another game than their server."""

upload = Table(
    "upload",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("owner_id", BigId, ForeignKey(member.c.id), nullable=False, unique=True),
    Column("files", Text, nullable=False),
    Column("columns", Text, nullable=False),
    Column("character", Text),
    Column("reason", Text, nullable=False),
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
    Column("game", Text, nullable=False),
    Column("version", Text, nullable=False),
    Column("character", Text, nullable=False),
    Column("input", Text, nullable=False),
    Column("column", Text, nullable=False),
    Column("found", Text, nullable=False),
    Column("right", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    Column("stage", Text, nullable=False),
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
    Column("deed", Text, nullable=False),
    Column("what", Text, nullable=False),
    Index(None, "server_id", "id"),
    Index(None, "made_at"),
    sqlite_autoincrement=True,
)
"""What moderators and coaches did. `made_by` is null once they have erased what is kept of them."""
