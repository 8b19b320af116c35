"""What coaching, homework and reminders have in common: whose a homework is, how far it is, and when its
student is reminded of it."""

from __future__ import annotations

from datetime import datetime

from bot.results.coaching import PAGE, CoachRefusal, CoachRefusalCode, HomeworkView, KeptHomework
from bot.results.log import LogRefusal
from bot.results.notice import NoticeKind
from bot.results.place import Place
from bot.results.tally import Subject
from bot.services.desk import AskDesk
from bot.services.evidence import practice
from bot.services.notices import NoticeService
from bot.services.settings import SettingsBook
from bot.services.subjects import read_moves
from bot.storage import homework as stored
from bot.storage.homework import HomeworkRow
from bot.storage.store import Reading, Writing
from core.learning.homework import LAST_DAY, Stage, progress, status
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


def paged(page: int, count: int) -> tuple[int, int]:
    """The page nearest to this one that there is, from 0, and how many there are for so many rows.

    >>> paged(7, 25), paged(-1, 0)
    ((2, 3), (0, 1))
    """
    pages = max(1, -(-count // PAGE))
    return min(max(page, 0), pages - 1), pages


def route_instead(desk: AskDesk, book: SettingsBook, kept: KeptHomework, notation: str) -> Subject | None:
    """These moves of the homework's character as a subject, read as the student plays; None where the present
    game file lacks them, or they are another's."""
    game = desk.game_named(kept.student.server_id, kept.subject.game)
    who = game.character(kept.subject.character) if game else None
    if game is None or who is None:
        return None
    found = read_moves(game, who, notation, book.member(kept.student).setup.controls)
    if isinstance(found, LogRefusal) or found.subject.character != who.name:
        return None
    return found.subject


def too_long(field: str, most: int) -> CoachRefusal:
    """The refusal of a text of so many characters and more."""
    return CoachRefusal(CoachRefusalCode.TOO_LONG, Facts(field=field, most=most))


def wrong_stage(kept: KeptHomework) -> CoachRefusal:
    """The refusal of a step that cannot be taken where the homework lies."""
    return CoachRefusal(CoachRefusalCode.WRONG_STAGE, Facts(stage=kept.stage.value))
