"""Coaches and students, and what a coach notes of a student for their own eyes."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Row,
    ScalarSelect,
    Select,
    and_,
    delete,
    func,
    insert,
    or_,
    select,
    tuple_,
    update,
)

from bot.results.coaching import Coaching, CoachNote
from bot.results.place import Owner, Place
from bot.storage.rows import enter, new_id, number_of
from bot.storage.schema import coach_note, member, server
from bot.storage.schema import coaching as rows
from bot.storage.store import Reading, Writing

COACH, STUDENT = member.alias("coach"), member.alias("student")
"""The two of a coaching or a homework, in one query."""
ACCEPTED = rows.c.accepted_at.is_not(None)
_WHO = tuple(
    side.c[name].label(f"{side.name}_{name}")
    for side in (COACH, STUDENT)
    for name in ("server_id", "member_id")
)
_COACHINGS = (
    select(rows.c.id, rows.c.asked_at, rows.c.accepted_at, *_WHO)
    .join_from(rows, COACH, rows.c.coach_id == COACH.c.id)
    .join(STUDENT, rows.c.student_id == STUDENT.c.id)
)


def is_who(who: Place, number: ColumnElement[int]) -> ColumnElement[bool]:
    """Whether a row's number is one of who speaks in this place, as `Place.is_of` says."""
    if not who.direct:
        return number == number_of(who.owner)
    everywhere = member.c.server_id.in_(select(server.c.id))  # by the index, which begins with the server
    return number.in_(select(member.c.id).where(everywhere, member.c.member_id == who.member_id))


async def accepted(reading: Reading, students: Collection[Owner] | None = None) -> tuple[Coaching, ...]:
    """All that were accepted; `students`: only those of these, some hundreds at most."""
    query = _COACHINGS.where(ACCEPTED)
    if students is not None:
        pairs = [(owner.server_id, owner.member_id) for owner in students]
        query = query.where(tuple_(STUDENT.c.server_id, STUDENT.c.member_id).in_(pairs))
    return await _all(reading, query)


async def get(reading: Reading, coaching_id: int) -> Coaching | None:
    """The coaching with this number."""
    found = await _all(reading, _COACHINGS.where(rows.c.id == coaching_id))
    return found[0] if found else None


async def between(reading: Reading, coach: Owner, student: Owner) -> Coaching | None:
    """The coaching of these two, also where it is not accepted yet."""
    query = _COACHINGS.where(rows.c.coach_id == number_of(coach), rows.c.student_id == number_of(student))
    found = await _all(reading, query)
    return found[0] if found else None


async def of_coach(reading: Reading, coach: Owner) -> tuple[Coaching, ...]:
    """Whom this coach asked, and who accepted, the first first."""
    return await _all(reading, _COACHINGS.where(rows.c.coach_id == number_of(coach)).order_by(rows.c.id))


async def of_student(reading: Reading, who: Place) -> tuple[Coaching, ...]:
    """The coaches of who speaks here, and those who ask to be, the latest first."""
    return await _all(reading, _COACHINGS.where(is_who(who, rows.c.student_id)).order_by(rows.c.id.desc()))


async def of_member(reading: Reading, number: int) -> tuple[Coaching, ...]:
    """All coachings of the member with this number, on either side."""
    either = or_(rows.c.coach_id == number, rows.c.student_id == number)
    return await _all(reading, _COACHINGS.where(either).order_by(rows.c.id))


async def notes_of(reading: Reading, number: int) -> tuple[tuple[Owner, CoachNote], ...]:
    """What the coach with this number noted, and of whom."""
    query = (
        select(coach_note, STUDENT.c.server_id, STUDENT.c.member_id)
        .join_from(coach_note, STUDENT, coach_note.c.student_id == STUDENT.c.id)
        .where(coach_note.c.coach_id == number)
        .order_by(coach_note.c.id)
    )
    return tuple(
        (Owner(row.server_id, row.member_id), CoachNote(row.id, row.text, row.made_at))
        for row in await reading.connection.execute(query)
    )


async def erase(writing: Writing, number: ScalarSelect[int]) -> None:
    """Removes the member's coachings, and notes by them and of them."""
    for table in (coach_note, rows):
        either = or_(table.c.coach_id == number, table.c.student_id == number)
        await writing.connection.execute(delete(table).where(either))


async def add(writing: Writing, coach: Owner, student: Owner, now: datetime) -> Coaching:
    """A coach asks a member; there must be none between the two."""
    values = {
        "coach_id": await enter(writing, coach),
        "student_id": await enter(writing, student),
        "asked_at": now,
    }
    added = await writing.connection.execute(insert(rows).values(values))
    return Coaching(new_id(added), coach, student, now)


async def accept(writing: Writing, coaching_id: int, now: datetime) -> None:
    """The member says yes."""
    await writing.connection.execute(update(rows).where(rows.c.id == coaching_id).values(accepted_at=now))


async def remove(writing: Writing, coaching_id: int) -> None:
    """It is over."""
    await writing.connection.execute(delete(rows).where(rows.c.id == coaching_id))


async def add_note(writing: Writing, coaching: Coaching, text: str, now: datetime) -> None:
    """The coach notes something of the student."""
    values = {
        "coach_id": number_of(coaching.coach),
        "student_id": number_of(coaching.student),
        "made_at": now,
        "text": text,
    }
    await writing.connection.execute(insert(coach_note).values(values))


async def notes(reading: Reading, coaching: Coaching, most: int) -> tuple[CoachNote, ...]:
    """What the coach noted of the student, the newest first."""
    query = select(coach_note).where(_noted(coaching)).order_by(coach_note.c.id.desc()).limit(most)
    found = await reading.connection.execute(query)
    return tuple(CoachNote(row.id, row.text, row.made_at) for row in found)


async def count_notes(reading: Reading, coaching: Coaching) -> int:
    """How many notes the coach has of the student."""
    query = select(func.count()).select_from(coach_note).where(_noted(coaching))
    return int((await reading.connection.execute(query)).scalar_one())


def _noted(coaching: Coaching) -> ColumnElement[bool]:
    return and_(
        coach_note.c.coach_id == number_of(coaching.coach),
        coach_note.c.student_id == number_of(coaching.student),
    )


async def _all(reading: Reading, query: Select[*tuple[Any, ...]]) -> tuple[Coaching, ...]:
    return tuple(map(_coaching, await reading.connection.execute(query)))


def _coaching(row: Row[*tuple[Any, ...]]) -> Coaching:
    coach = Owner(row.coach_server_id, row.coach_member_id)
    student = Owner(row.student_server_id, row.student_member_id)
    return Coaching(row.id, coach, student, row.asked_at, row.accepted_at)
