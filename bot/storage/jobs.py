"""Jobs: what is due, who is at it, and what is done. No row names a member.

A job waits until `due_at`, or, where it has one, until `lease_until`: so long nobody else may take one that
is being done, and so long one that failed rests. Who holds it proves that by the token of the claim.
"""

from __future__ import annotations

import json
from collections.abc import Collection
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Row, and_, delete, func, insert, select, true, update

from bot.results.job import Claim, Job
from bot.storage.schema import job as rows
from bot.storage.store import Reading, Writing

LONGEST_LEASE = timedelta(hours=1)
"""No lease and no rest is given for longer: one that is was given by a clock that has been set back."""
_FREE: dict[str, Any] = {"lease_until": None, "claimed_by": None}
_WAITING = rows.c.done_at.is_(None)
_PRUNED_AT_ONCE = 200


async def add(writing: Writing, job: Job) -> None:
    """Adds a job, in place of the one with its key, and then it is yet to be done, even if that one was. The
    very same job again changes nothing: who adds one may be interrupted and begin anew."""
    values = {
        "kind": job.kind,
        "due_at": job.due_at,
        "payload": json.dumps(dict(job.payload), sort_keys=True),
        "server_id": job.server_id,
    }
    found = (await writing.connection.execute(select(rows).where(rows.c.key == job.key))).one_or_none()
    if found is None:
        await writing.connection.execute(insert(rows).values(**values, key=job.key, attempts=0))
    elif any(getattr(found, name) != value for name, value in values.items()):
        moved = update(rows).where(rows.c.id == found.id)
        await writing.connection.execute(moved.values(**values, **_FREE, attempts=0, done_at=None))


async def cancel(writing: Writing, key: str) -> bool:
    """Removes the job with this key, whether or not it is done; whether there was one."""
    return (await writing.connection.execute(delete(rows).where(rows.c.key == key))).rowcount == 1


async def cancel_all(writing: Writing, prefix: str) -> int:
    """Removes all jobs whose keys begin so, whether or not they are done; how many. `prefix`: not empty."""
    return (await writing.connection.execute(delete(rows).where(_begins(prefix)))).rowcount


async def unfinished(reading: Reading, prefix: str) -> tuple[Job, ...]:
    """The jobs whose keys begin so and that are yet to be done. `prefix`: not empty."""
    found = await reading.connection.execute(select(rows).where(_begins(prefix), _WAITING))
    return tuple(map(_job, found))


async def earliest(reading: Reading, leaving_out: Collection[str] = ()) -> datetime | None:
    """When the next job is to be looked at: due, or held so long that it may be taken; None for never. Those
    of some kinds may be left out."""
    others = rows.c.kind.not_in(leaving_out) if leaving_out else true()
    found = [
        await reading.connection.scalar(query)
        for query in (
            select(rows.c.due_at).where(_unheld(), others).order_by(rows.c.due_at).limit(1),
            select(rows.c.lease_until).where(_held(), others).order_by(rows.c.lease_until).limit(1),
        )
    ]
    return min((moment for moment in found if moment is not None), default=None)


async def waiting(reading: Reading, now: datetime) -> tuple[int, int]:
    """How many jobs that are yet to be done are due by now, those that are held included, and how many are
    not."""
    due = func.count().filter(rows.c.due_at <= now)
    found = (await reading.connection.execute(select(due, func.count()).where(_WAITING))).one()
    return found[0], found[1] - found[0]


async def claim(
    writing: Writing, token: str, now: datetime, lease: timedelta, most: int = 1
) -> tuple[Claim, ...]:
    """Takes the jobs that are due, those due first first, for as long as the lease lasts."""
    await _free_impossible(writing, now)
    # What another process is taking at this moment is passed over; SQLite has one writer.
    due = select(rows).where(_unheld(), rows.c.due_at <= now).order_by(rows.c.due_at, rows.c.id)
    free_again = (
        select(rows)
        .where(_held(), rows.c.lease_until <= now)
        .order_by(rows.c.lease_until, rows.c.due_at, rows.c.id)
    )
    found = [
        row
        for query in (due, free_again)
        for row in await writing.connection.execute(query.limit(most).with_for_update(skip_locked=True))
    ]
    taken = sorted(found, key=lambda row: (row.due_at, row.id))[:most]
    if taken:
        mine = update(rows).where(rows.c.id.in_([row.id for row in taken]))
        await writing.connection.execute(mine.values(lease_until=now + lease, claimed_by=token))
    return tuple(Claim(row.id, token, _job(row), row.attempts) for row in taken)


async def done(writing: Writing, claimed: Claim, now: datetime) -> bool:
    """Notes that a job is done; False, and nothing noted, where it is no longer the claimer's: it was moved,
    cancelled, or the lease was over and somebody else took it."""
    return await _settle(writing, claimed, done_at=now)


async def failed(writing: Writing, claimed: Claim, retry_at: datetime) -> bool:
    """Notes that a job failed and rests until `retry_at`; False, and nothing noted, as in `done`."""
    return await _settle(writing, claimed, lease_until=retry_at, attempts=claimed.failures + 1)


async def given_up(writing: Writing, claimed: Claim, now: datetime) -> bool:
    """Notes that a job failed for good: it counts as done; False, and nothing noted, as in `done`."""
    return await _settle(writing, claimed, done_at=now, attempts=claimed.failures + 1)


async def prune(writing: Writing, before: datetime) -> None:
    """Forgets some of the jobs that were done before this moment."""
    old = select(rows.c.id).where(rows.c.done_at < before).limit(_PRUNED_AT_ONCE)
    await writing.connection.execute(delete(rows).where(rows.c.id.in_(old)))


def _begins(prefix: str) -> ColumnElement[bool]:
    after = prefix[:-1] + chr(ord(prefix[-1]) + 1)  # a range, which the index serves; LIKE reads the table
    return and_(rows.c.key >= prefix, rows.c.key < after)


def _unheld() -> ColumnElement[bool]:
    return and_(_WAITING, rows.c.lease_until.is_(None))


def _held() -> ColumnElement[bool]:
    return and_(_WAITING, rows.c.lease_until.is_not(None))


async def _free_impossible(writing: Writing, now: datetime) -> None:
    lies_ahead = and_(_WAITING, rows.c.lease_until > now + LONGEST_LEASE)
    await writing.connection.execute(update(rows).where(lies_ahead).values(_FREE))


async def _settle(writing: Writing, claimed: Claim, **values: Any) -> bool:
    mine = update(rows).where(rows.c.id == claimed.id, rows.c.claimed_by == claimed.token)
    return (await writing.connection.execute(mine.values(_FREE | values))).rowcount == 1


def _job(row: Row[Any]) -> Job:
    return Job(row.key, row.kind, row.due_at, json.loads(row.payload), row.server_id)
