"""What coaching, homework and reminders have in common: whose a homework is, how far it is, and when its
student is reminded of it."""

from __future__ import annotations

from datetime import datetime

from bot.results.coaching import CoachRefusal, CoachRefusalCode, HomeworkView, KeptHomework
from bot.results.notice import NoticeKind
from bot.results.place import Place
from bot.services.evidence import practice
from bot.services.notices import NoticeService
from bot.storage import homework as stored
from bot.storage.homework import HomeworkRow
from bot.storage.store import Reading, Writing
from core.learning.homework import LAST_DAY, Stage, progress, status
from core.text import printable
from core.verdict import Facts

NO_SUCH_HOMEWORK = CoachRefusal(CoachRefusalCode.NO_SUCH_HOMEWORK)
NO_SUCH_COACHING = CoachRefusal(CoachRefusalCode.NO_SUCH_COACHING)

WITH_STUDENT = (Stage.SET, Stage.RETURNED)
"""Where the student has something to do."""


async def of_student(reading: Reading, place: Place, homework_id: int) -> HomeworkRow | None:
    """The homework, where who speaks is its student."""
    row = await stored.get(reading, homework_id)
    return row if row is not None and place.is_of(row.kept.student) else None


async def of_coach(reading: Reading, place: Place, homework_id: int) -> HomeworkRow | None:
    """The homework, where who speaks set it and is still the student's coach."""
    row = await stored.get(reading, homework_id)
    if row is None or not row.coached or row.kept.coach is None:
        return None
    return row if place.is_of(row.kept.coach) else None


async def view_of(reading: Reading, row: HomeworkRow, now: datetime) -> HomeworkView:
    """How far a homework is, from the rows of the student's log since it was set."""
    kept = row.kept
    subject_id, marks = await stored.logged(reading, kept.student, kept.subject, kept.set_at)
    return HomeworkView(
        kept,
        progress(kept.target, map(practice, marks), kept.set_at, kept.due_at),
        status(kept.stage, now, kept.due_at),
        subject_id,
        await stored.comments(reading, kept.id),
        row.coached,
    )


async def view_now(reading: Reading, homework_id: int, now: datetime) -> HomeworkView:
    """The same of a homework that has just been changed."""
    row = await stored.get(reading, homework_id)
    assert row is not None
    return await view_of(reading, row, now)


async def remind(writing: Writing, notices: NoticeService, kept: KeptHomework, now: datetime) -> None:
    """Have the student reminded a day before it is due and when it is, as far as that lies ahead."""
    moments = {NoticeKind.DUE_SOON: kept.due_at - LAST_DAY, NoticeKind.DUE_NOW: kept.due_at}
    for kind, moment in moments.items():
        if moment > now:
            await notices.tell(writing, kind, kept.id, kept.student, moment)
        else:
            await notices.forget(writing, kind, kept.id)


async def stop_reminding(writing: Writing, notices: NoticeService, homework_id: int) -> None:
    """Have nobody reminded of it."""
    for kind in (NoticeKind.DUE_SOON, NoticeKind.DUE_NOW):
        await notices.forget(writing, kind, homework_id)


def line(typed: str) -> str:
    """What a member wrote, on one line, without what cannot be shown."""
    return printable(" ".join(typed.split()))


def too_long(field: str, most: int) -> CoachRefusal:
    """The refusal of a text of so many characters and more."""
    return CoachRefusal(CoachRefusalCode.TOO_LONG, Facts(field=field, most=most))


def wrong_stage(kept: KeptHomework) -> CoachRefusal:
    """The refusal of a step that cannot be taken where the homework lies."""
    return CoachRefusal(CoachRefusalCode.WRONG_STAGE, Facts(stage=kept.stage.value))
