"""Group drills, coaching and homework."""

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
    Table,
    UniqueConstraint,
)

from bot.storage.base import BigId, Text, UtcDateTime, metadata
from bot.storage.schema.practice import member, server, tally


def _what_is_drilled() -> tuple[Column[Any], ...]:
    """The columns of a drill as it is planned, or as it was when it was opened."""
    return (
        Column("game", Text, nullable=False),
        Column("character", Text, nullable=False),
        Column("kind", Text, nullable=False),
        Column("what", Text, nullable=False),
        Column("scoring", Text, nullable=False),
        Column("at_least", SmallInteger, nullable=False),
        Column("daily_cap", SmallInteger, nullable=False),
        Column("goal", Text, nullable=False),
        Column("dummy", Text, nullable=False),
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
    Column("at", Text, nullable=False),
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
    Column("stage", Text, nullable=False),
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
    Column("reason", Text, nullable=False),
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
    Column("text", Text, nullable=False),
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
    Column("game", Text, nullable=False),
    Column("character", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("what", Text, nullable=False),
    Column("target", Text, nullable=False),
    Column("amount", Integer, nullable=False),
    Column("rate", Float),
    Column("note", Text, nullable=False),
    Column("set_at", UtcDateTime, nullable=False),
    Column("due_at", UtcDateTime, nullable=False),
    Column("stage", Text, nullable=False),
    Column("handed_in_at", UtcDateTime),
    Column("hand_in_note", Text, nullable=False),
    Column("clip", Text, nullable=False),
    Column("reviewed_at", UtcDateTime),
    Column("review_note", Text, nullable=False),
    Column("easier", Text),
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
    Column("text", Text, nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    sqlite_autoincrement=True,
)
"""What the coach says of a clip that was handed in, by the second; both read it."""
