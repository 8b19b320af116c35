"""What a coach's students practised lately, in one query for all of them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import case, func, select

from bot.results.place import Owner
from bot.results.tally import Subject, SubjectKind
from bot.storage.coaching import ACCEPTED, STUDENT
from bot.storage.rows import SUBJECT, number_of, subject_of_row
from bot.storage.schema import coaching, subject, tally
from bot.storage.store import Reading


@dataclass(frozen=True, slots=True)
class Lately:
    """How often one student landed one thing: `newer` from a middle moment on, `older` before it."""

    coaching_id: int
    student: Owner
    subject: Subject
    newer_landed: int
    newer_tries: int
    older_landed: int
    older_tries: int


async def lately(
    reading: Reading,
    coach: Owner,
    game: str,
    since: datetime,
    middle: datetime,
    coaching_ids: Collection[int] | None = None,
) -> tuple[Lately, ...]:
    """What the students who accepted this coach practised of a game since then, without choosing, which is no
    practice of the hands; only those of these coachings, where any are given."""
    newer = tally.c.made_at >= middle
    sums = [
        func.coalesce(func.sum(case((when, column), else_=0)), 0).label(name)
        for name, when, column in (
            ("newer_landed", newer, tally.c.landed),
            ("newer_tries", newer, tally.c.tries),
            ("older_landed", ~newer, tally.c.landed),
            ("older_tries", ~newer, tally.c.tries),
        )
    ]
    query = (
        select(coaching.c.id.label("coaching_id"), STUDENT.c.server_id, STUDENT.c.member_id, *SUBJECT, *sums)
        .join_from(coaching, STUDENT, coaching.c.student_id == STUDENT.c.id)
        .join(subject, subject.c.owner_id == coaching.c.student_id)
        .join(tally, tally.c.subject_id == subject.c.id)
        .where(
            coaching.c.coach_id == number_of(coach),
            ACCEPTED,
            subject.c.game == game,
            subject.c.kind != SubjectKind.CHOICE.value,
            tally.c.undone.is_(False),
            tally.c.made_at >= since,
        )
        .group_by(coaching.c.id, STUDENT.c.id, subject.c.id)
        .order_by(coaching.c.id, subject.c.id)
    )
    if coaching_ids is not None:
        query = query.where(coaching.c.id.in_(coaching_ids))
    return tuple(
        Lately(
            row.coaching_id,
            Owner(row.server_id, row.member_id),
            subject_of_row(row),
            row.newer_landed,
            row.newer_tries,
            row.older_landed,
            row.older_tries,
        )
        for row in await reading.connection.execute(query)
    )


async def last_practice(reading: Reading, coaching_ids: Collection[int]) -> dict[int, datetime]:
    """When the students of these coachings practised last, by the coaching's number; those who never did are
    left out."""
    last = (
        select(func.max(tally.c.made_at))
        .where(tally.c.owner_id == coaching.c.student_id, tally.c.undone.is_(False))
        .scalar_subquery()
    )
    query = select(coaching.c.id, last.label("last")).where(coaching.c.id.in_(coaching_ids))
    found = await reading.connection.execute(query)
    return {row.id: row.last for row in found if row.last is not None}
