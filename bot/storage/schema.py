"""The tables, portable between SQLite and PostgreSQL, with an index for each query that is made.

Sized for ten million tallies: rows name their owner by a small number, and what is practised is written once
for each member. The migrations make the same tables; a test compares them.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    SmallInteger,
    String,
    Table,
    UniqueConstraint,
    false,
    text,
)

from bot.storage.base import BigId, UtcDateTime
from bot.storage.base import metadata as metadata

server = Table(
    "server",
    metadata,
    Column("id", BigId, primary_key=True, autoincrement=False),
    Column("game", String),
    Column("zone", String),
    Column("coach_role", BigId),
    Column("notice_channel", BigId),
    Column("moderator_role", BigId),
    Column("patch_channel", BigId),
    Column("notation", String),
    Column("quiet", String),
    Column("keep_days", Integer),
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
    Column("zone", String),
    Column("quiet", String),
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


def _what_is_drilled() -> tuple[Column[Any], ...]:
    """The columns of a drill as it is planned, or as it was when it was opened."""
    return (
        Column("game", String, nullable=False),
        Column("character", String, nullable=False),
        Column("kind", String, nullable=False),
        Column("what", String, nullable=False),
        Column("scoring", String, nullable=False),
        Column("at_least", SmallInteger, nullable=False),
        Column("daily_cap", SmallInteger, nullable=False),
        Column("goal", String, nullable=False),
        Column("dummy", String, nullable=False),
    )


exercise = Table(
    "exercise",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("server_id", BigId, ForeignKey(server.c.id), nullable=False, index=True),
    *_what_is_drilled(),
    Column("used_at", UtcDateTime),
    sqlite_autoincrement=True,
)
"""A server's list of drills, from which its weekly series takes the one that was not used for longest."""

series = Table(
    "series",
    metadata,
    Column("server_id", BigId, ForeignKey(server.c.id), primary_key=True, autoincrement=False),
    Column("channel_id", BigId, nullable=False),
    Column("weekday", SmallInteger, nullable=False),
    Column("at", String, nullable=False),
)
"""When and where a server's weekly drill begins; `at` is HH:MM on the clocks of the server's zone."""

drill = Table(
    "drill",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("server_id", BigId, ForeignKey(server.c.id), nullable=False),
    *_what_is_drilled(),
    Column("weekly", Boolean, nullable=False),
    Column("channel_id", BigId, nullable=False),
    Column("opens_at", UtcDateTime, nullable=False),
    Column("closes_at", UtcDateTime, nullable=False),
    Column("stage", String, nullable=False),
    Column("opened_by", BigId, ForeignKey(member.c.id), index=True),
    Index(None, "server_id", "stage", "id"),
    Index(None, "stage"),
    sqlite_autoincrement=True,
)
"""Drills of a group, from the moment they are decided on. `opened_by`: who opened it, or began its series."""

entry = Table(
    "entry",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("drill_id", BigId, ForeignKey(drill.c.id), nullable=False),
    Column("owner_id", BigId, ForeignKey(member.c.id), nullable=False, index=True),
    Column("joined_at", UtcDateTime, nullable=False),
    Column("left_it", Boolean, nullable=False),
    UniqueConstraint("drill_id", "owner_id"),
    sqlite_autoincrement=True,
)
"""Who takes part in a drill."""

drill_tally = Table(
    "drill_tally",
    metadata,
    Column("tally_id", BigId, ForeignKey(tally.c.id), primary_key=True, autoincrement=False),
    Column("drill_id", BigId, ForeignKey(drill.c.id), nullable=False, index=True),
    Column("run", SmallInteger),
    Column("seen_by", BigId, ForeignKey(member.c.id), index=True),
    Column("seen_at", UtcDateTime),
    Column("struck_by", BigId, ForeignKey(member.c.id), index=True),
    Column("struck_at", UtcDateTime),
    Column("reason", String, nullable=False),
)
"""What a drill knows of a tally beyond the log: the longest run, and what a coach said of it."""

coaching = Table(
    "coaching",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("coach_id", BigId, ForeignKey(member.c.id), nullable=False),
    Column("student_id", BigId, ForeignKey(member.c.id), nullable=False, index=True),
    Column("asked_at", UtcDateTime, nullable=False),
    Column("accepted_at", UtcDateTime),
    UniqueConstraint("coach_id", "student_id"),
    sqlite_autoincrement=True,
)
"""Whom a coach asked, and who accepted. The row goes when either ends it."""

coach_note = Table(
    "coach_note",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("coach_id", BigId, ForeignKey(member.c.id), nullable=False),
    Column("student_id", BigId, ForeignKey(member.c.id), nullable=False, index=True),
    Column("made_at", UtcDateTime, nullable=False),
    Column("text", String, nullable=False),
    Index(None, "coach_id", "student_id", "id"),
    sqlite_autoincrement=True,
)
"""What a coach notes of a student for their own eyes."""

homework = Table(
    "homework",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("coach_id", BigId, ForeignKey(member.c.id)),
    Column("student_id", BigId, ForeignKey(member.c.id), nullable=False),
    Column("game", String, nullable=False),
    Column("character", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("what", String, nullable=False),
    Column("target", String, nullable=False),
    Column("amount", Integer, nullable=False),
    Column("rate", Float),
    Column("note", String, nullable=False),
    Column("set_at", UtcDateTime, nullable=False),
    Column("due_at", UtcDateTime, nullable=False),
    Column("stage", String, nullable=False),
    Column("handed_in_at", UtcDateTime),
    Column("hand_in_note", String, nullable=False),
    Column("clip", String, nullable=False),
    Column("reviewed_at", UtcDateTime),
    Column("review_note", String, nullable=False),
    Column("easier", String),
    Index(None, "student_id", "stage", "id"),
    Index(None, "coach_id", "stage", "id"),
    sqlite_autoincrement=True,
)
"""Homework, a row for each student. `coach_id` is null once that coach has erased what is kept of them."""

clip_comment = Table(
    "clip_comment",
    metadata,
    Column("id", BigId, primary_key=True),
    Column("homework_id", BigId, ForeignKey(homework.c.id), nullable=False, index=True),
    Column("at_seconds", Integer),
    Column("text", String, nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    sqlite_autoincrement=True,
)
"""What the coach says of a clip that was handed in, by the second; both read it."""

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
