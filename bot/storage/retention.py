"""What is removed because it is old."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import ColumnElement, and_, delete, exists, func, select

from bot.storage.base import upsert
from bot.storage.schema import drill_tally, member, post, tally, total
from bot.storage.store import Reading, Writing

SUMS = ("tallies", "tries", "landed", "early", "late")
NOTICES = "notice:"
"""How the keys of posts begin that told one member something."""


async def old_tallies(reading: Reading, server_id: int, before: datetime) -> int:
    """How many tallies of a server were made before this moment, those taken out of the log too."""
    query = select(func.count()).select_from(tally).join(member, tally.c.owner_id == member.c.id)
    query = query.where(member.c.server_id == server_id, _older(before))
    return int((await reading.connection.execute(query)).scalar_one())


async def with_old(reading: Reading, server_id: int, before: datetime) -> tuple[int, ...]:
    """The members of a server, by their numbers here, who have such tallies."""
    has = exists().where(tally.c.owner_id == member.c.id, _older(before))
    query = select(member.c.id).where(member.c.server_id == server_id, has)
    return tuple(await reading.connection.scalars(query))


async def prune_tallies(writing: Writing, number: int, before: datetime, most: int) -> int:
    """Removes at most so many of a member's tallies from before this moment, with what drills know of them,
    and takes them off the running sums; how many."""
    old = select(tally.c.id).where(tally.c.owner_id == number, _older(before))
    ids = tuple(await writing.connection.scalars(old.limit(most)))
    if ids:
        await _remove(writing, ids)
    return len(ids)


async def prune_notices(writing: Writing, before: datetime) -> int:
    """Forgets where members were told something before this moment: it is not told again, for its job is
    forgotten too. Posts of drills stay known, so that a name can still be taken out of them. How many."""
    after = NOTICES[:-1] + chr(ord(NOTICES[-1]) + 1)
    old = delete(post).where(post.c.key >= NOTICES, post.c.key < after, post.c.made_at < before)
    return (await writing.connection.execute(old)).rowcount


def _older(before: datetime) -> ColumnElement[bool]:
    return and_(tally.c.undone.in_([False, True]), tally.c.made_at < before)  # by the index of both


async def _remove(writing: Writing, ids: Sequence[int]) -> None:
    key = (tally.c.subject_id, tally.c.context)
    sums = [func.count(), *(func.sum(tally.c[name]) for name in SUMS[1:])]
    counted = select(*key, *(-each for each in sums)).where(tally.c.id.in_(ids), tally.c.undone.is_(False))
    taken = [
        dict(zip((*(column.name for column in key), *SUMS), row, strict=True))
        for row in await writing.connection.execute(counted.group_by(*key))
    ]
    if taken:
        less = upsert(writing.dialect, total, ("subject_id", "context"), added=SUMS)
        await writing.connection.execute(less, taken)
    await writing.connection.execute(delete(drill_tally).where(drill_tally.c.tally_id.in_(ids)))
    await writing.connection.execute(delete(tally).where(tally.c.id.in_(ids)))
    writing.erases = True
