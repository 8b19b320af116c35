"""Homework: what was set, where it lies, what was logged on it, and what the coach says of the clip."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Row,
    ScalarSelect,
    Select,
    and_,
    case,
    delete,
    func,
    insert,
    or_,
    select,
    update,
)

from bot.results.coaching import ClipComment, KeptHomework, TargetKind
from bot.results.place import Owner, Place
from bot.results.tally import Mark, Subject
from bot.storage.coaching import ACCEPTED, COACH, STUDENT, is_who
from bot.storage.rows import new_id, number_of, subject_of_row, subject_values
from bot.storage.schema import clip_comment, coaching, tally
from bot.storage.schema import homework as rows
from bot.storage.store import Reading, Writing
from bot.storage.tallies import find_subject
from core.learning.homework import CleanReps, MatchAttempts, RateOver, Stage, Target
from core.learning.tally import Context

MOST_TALLIES = 2_000
"""The latest tallies on a homework that are read: more than any target takes."""
_COACHED = coaching.c.id.is_not(None)
_HOMEWORK = (
    select(
        rows,
        COACH.c.server_id.label("coach_server_id"),
        COACH.c.member_id.label("coach_member_id"),
        STUDENT.c.server_id.label("student_server_id"),
        STUDENT.c.member_id.label("student_member_id"),
        _COACHED.label("coached"),
    )
    .join_from(rows, STUDENT, rows.c.student_id == STUDENT.c.id)
    .join(COACH, rows.c.coach_id == COACH.c.id, isouter=True)
    .join(
        coaching,
        and_(coaching.c.coach_id == rows.c.coach_id, coaching.c.student_id == rows.c.student_id, ACCEPTED),
        isouter=True,
    )
)
_OPEN = rows.c.stage != Stage.ACCEPTED.value
_ASKS_EASIER = and_(_OPEN, rows.c.easier.is_not(None), rows.c.easier != rows.c.what)
_WAITS = or_(rows.c.stage == Stage.HANDED_IN.value, _ASKS_EASIER)


@dataclass(frozen=True, slots=True)
class HomeworkRow:
    """A homework as it is stored. `coached`: whether the student still has the coach who set it."""

    kept: KeptHomework
    coached: bool


async def add(writing: Writing, new: KeptHomework) -> KeptHomework:
    """Stores a new homework of a coach and a student of whom something is kept; it is given back with its
    number."""
    assert new.coach is not None
    values = {
        "coach_id": number_of(new.coach),
        "student_id": number_of(new.student),
        **subject_values(new.subject),
        **_target_values(new.target),
        "note": new.note,
        "set_at": new.set_at,
        "due_at": new.due_at,
        "stage": new.stage.value,
        "hand_in_note": "",
        "clip": "",
        "review_note": "",
    }
    number = new_id(await writing.connection.execute(insert(rows).values(values)))
    found = await get(writing, number)
    assert found is not None
    return found.kept


async def get(reading: Reading, homework_id: int) -> HomeworkRow | None:
    """The homework with this number."""
    found = await _all(reading, _HOMEWORK.where(rows.c.id == homework_id))
    return found[0] if found else None


async def of_student(reading: Reading, who: Place, most: int, skipped: int) -> tuple[HomeworkRow, ...]:
    """At most so many of the homework of who speaks here: open, that due first first; then what is accepted,
    the latest first."""
    done = case((_OPEN, None), else_=rows.c.reviewed_at)
    query = _HOMEWORK.where(is_who(who, rows.c.student_id)).order_by(
        _OPEN.desc(), done.desc(), rows.c.due_at, rows.c.id
    )
    return await _all(reading, query.limit(most).offset(skipped))


async def count_of_student(reading: Reading, who: Place) -> int:
    """How much homework they have and had."""
    query = select(func.count()).select_from(rows).where(is_who(who, rows.c.student_id))
    return int((await reading.connection.execute(query)).scalar_one())


async def open_of_student(reading: Reading, student: Owner) -> tuple[HomeworkRow, ...]:
    """All that is not accepted yet."""
    return await _all(reading, _HOMEWORK.where(rows.c.student_id == number_of(student), _OPEN))


async def to_review(reading: Reading, who: Place) -> tuple[HomeworkRow, ...]:
    """What waits for who speaks here as a coach, that which was handed in first first, then those who ask for
    something easier."""
    query = _HOMEWORK.where(is_who(who, rows.c.coach_id), _COACHED, _WAITS)
    last = rows.c.handed_in_at.is_(None)
    return await _all(reading, query.order_by(last, rows.c.handed_in_at, rows.c.id))


async def open_of_coach(reading: Reading, coach: Owner) -> tuple[HomeworkRow, ...]:
    """What is not accepted yet of all the coach's students, that due first first."""
    query = _HOMEWORK.where(rows.c.coach_id == number_of(coach), _COACHED, _OPEN)
    return await _all(reading, query.order_by(rows.c.due_at, rows.c.id))


async def between(reading: Reading, coach: Owner, student: Owner, most: int) -> tuple[HomeworkRow, ...]:
    """At most so many that this coach set for this student, the last set first."""
    query = _HOMEWORK.where(_of_both(coach, student)).order_by(rows.c.id.desc()).limit(most)
    return await _all(reading, query)


async def open_between(reading: Reading, coach: Owner, student: Owner) -> tuple[HomeworkRow, ...]:
    """What this coach set for this student and has not accepted yet, also where the coaching is over."""
    return await _all(reading, _HOMEWORK.where(_of_both(coach, student), _OPEN).order_by(rows.c.id))


async def last_alike(reading: Reading, coach: Owner, student: Owner, subject: Subject) -> HomeworkRow | None:
    """The last homework on this subject that the coach set for the student."""
    about = (rows.c[name] == value for name, value in subject_values(subject).items())
    query = _HOMEWORK.where(_of_both(coach, student), *about).order_by(rows.c.id.desc()).limit(1)
    found = await _all(reading, query)
    return found[0] if found else None


async def of_member(reading: Reading, number: int) -> tuple[KeptHomework, ...]:
    """All homework of the member with this number, the first first."""
    found = await _all(reading, _HOMEWORK.where(rows.c.student_id == number).order_by(rows.c.id))
    return tuple(row.kept for row in found)


async def set_by_member(reading: Reading, number: int) -> tuple[KeptHomework, ...]:
    """All homework that the coach with this number set, the first first."""
    found = await _all(reading, _HOMEWORK.where(rows.c.coach_id == number).order_by(rows.c.id))
    return tuple(row.kept for row in found)


async def erase(writing: Writing, number: ScalarSelect[int]) -> None:
    """Removes the member's homework with what was said of it. What they set as a coach stays with its
    students, without their name."""
    mine = select(rows.c.id).where(rows.c.student_id == number)
    await writing.connection.execute(delete(clip_comment).where(clip_comment.c.homework_id.in_(mine)))
    await writing.connection.execute(delete(rows).where(rows.c.student_id == number))
    nameless = update(rows).where(rows.c.coach_id == number).values(coach_id=None)
    await writing.connection.execute(nameless)


async def change(writing: Writing, homework_id: int, **values: Any) -> None:
    """Gives columns of a homework other values."""
    await writing.connection.execute(update(rows).where(rows.c.id == homework_id).values(**values))


async def logged(
    reading: Reading, student: Owner, subject: Subject, since: datetime
) -> tuple[int, tuple[Mark, ...]]:
    """The subject's number in the student's log, 0 where it has none, and the tallies made since then, the
    latest first, `MOST_TALLIES` at most."""
    number = await find_subject(reading, student, subject)
    if number is None:
        return 0, ()
    query = (
        select(tally.c.id, tally.c.made_at, tally.c.tries, tally.c.landed, tally.c.context)
        .where(tally.c.subject_id == number, tally.c.undone.is_(False), tally.c.made_at >= since)
        .order_by(tally.c.made_at.desc(), tally.c.id.desc())
        .limit(MOST_TALLIES)
    )
    found = await reading.connection.execute(query)
    return number, tuple(
        Mark(row.id, number, row.made_at, row.tries, row.landed, Context(row.context)) for row in found
    )


async def add_comment(
    writing: Writing, homework_id: int, at_seconds: int | None, text: str, now: datetime
) -> None:
    """The coach says something of the clip."""
    values = {"homework_id": homework_id, "at_seconds": at_seconds, "text": text, "made_at": now}
    await writing.connection.execute(insert(clip_comment).values(values))


async def comments(reading: Reading, homework_id: int) -> tuple[ClipComment, ...]:
    """What the coach said of the clip: of the whole first, then as the clip goes."""
    query = select(clip_comment).where(clip_comment.c.homework_id == homework_id)
    found = await reading.connection.execute(query.order_by(clip_comment.c.id))
    told = [ClipComment(row.at_seconds, row.text, row.made_at) for row in found]
    return tuple(sorted(told, key=lambda one: -1 if one.at_seconds is None else one.at_seconds))


def kept_homework(row: Row[*tuple[Any, ...]]) -> KeptHomework:
    """The record of a row of `HOMEWORK`."""
    coach = None if row.coach_id is None else Owner(row.coach_server_id, row.coach_member_id)
    return KeptHomework(
        row.id,
        coach,
        Owner(row.student_server_id, row.student_member_id),
        subject_of_row(row),
        _target(TargetKind(row.target), row.amount, row.rate),
        row.note,
        row.set_at,
        row.due_at,
        Stage(row.stage),
        row.handed_in_at,
        row.hand_in_note,
        row.clip,
        row.reviewed_at,
        row.review_note,
        row.easier,
    )


def _of_both(coach: Owner, student: Owner) -> ColumnElement[bool]:
    return and_(rows.c.coach_id == number_of(coach), rows.c.student_id == number_of(student))


def _target(kind: TargetKind, amount: int, rate: float | None) -> Target:
    match kind:
        case TargetKind.CLEAN_REPS:
            return CleanReps(amount)
        case TargetKind.MATCHES:
            return MatchAttempts(amount)
        case TargetKind.RATE:
            assert rate is not None
            return RateOver(rate, amount)


def _target_values(target: Target) -> dict[str, Any]:
    match target:
        case CleanReps(reps):
            return {"target": TargetKind.CLEAN_REPS.value, "amount": reps, "rate": None}
        case MatchAttempts(tries):
            return {"target": TargetKind.MATCHES.value, "amount": tries, "rate": None}
        case RateOver(rate, tries):
            return {"target": TargetKind.RATE.value, "amount": tries, "rate": rate}


async def _all(reading: Reading, query: Select[*tuple[Any, ...]]) -> tuple[HomeworkRow, ...]:
    found = await reading.connection.execute(query)
    return tuple(HomeworkRow(kept_homework(row), bool(row.coached)) for row in found)
