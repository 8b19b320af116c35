"""The tables, portable between SQLite and PostgreSQL, with an index for each query that is made.

Sized for ten million tallies: rows name their owner by a small number, and what is practised is written once
for each member. The migrations make the same tables; a test compares them.
"""

from bot.storage.base import metadata
from bot.storage.schema import told  # noqa: F401 - with which the tables get their triggers
from bot.storage.schema.games import audit, channel, edition, game, patch_notice, report, upload
from bot.storage.schema.groups import (
    clip_comment,
    coach_note,
    coaching,
    drill,
    drill_tally,
    entry,
    exercise,
    homework,
    series,
)
from bot.storage.schema.practice import (
    conversion,
    library,
    member,
    quiz,
    route,
    server,
    subject,
    tally,
    total,
)
from bot.storage.schema.work import event, job, post

__all__ = [
    "audit",
    "channel",
    "clip_comment",
    "coach_note",
    "coaching",
    "conversion",
    "drill",
    "drill_tally",
    "edition",
    "entry",
    "event",
    "exercise",
    "game",
    "homework",
    "job",
    "library",
    "member",
    "metadata",
    "patch_notice",
    "post",
    "quiz",
    "report",
    "route",
    "series",
    "server",
    "subject",
    "tally",
    "total",
    "upload",
]
