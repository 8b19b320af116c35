"""A coach's board as a table: what its picture shows and its words tell, one line for each student."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from enum import StrEnum

from bot.render.coaching import member_name
from bot.render.members import Names
from bot.render.reps import date_words
from bot.render.wording import say
from bot.results.coaching import CoachBoard, HomeworkView, StudentRow
from core.learning.homework import Status

LEAST_GAP = 0.02
"""A smaller one is told as none."""


class Waits(StrEnum):
    """What the mark of a student's homework tells."""

    COACH = "waits"
    LATE = "late"
    STUDENT = "open"


@dataclass(frozen=True, slots=True)
class BoardLine:
    """A student in words. `waits`: None where there is no homework."""

    name: str
    waits: Waits | None
    work: str
    due: str
    last: str
    gap: str
    stuck: str


def board_lines(board: CoachBoard, names: Names, now: datetime, zone: tzinfo) -> tuple[BoardLine, ...]:
    """The lines of one page."""
    return tuple(_line(row, names, now, zone) for row in board.rows)


def board_subtitle(board: CoachBoard) -> str:
    """What stands below the picture's title."""
    if board.pages > 1:
        return _say("subtitle-paged", students=board.students, page=board.page + 1, pages=board.pages)
    return _say("subtitle", students=board.students)


def foremost(row: StudentRow) -> HomeworkView | None:
    """The homework of a student that matters most: what waits for the coach, else what is due first."""
    return next(
        (view for view in row.homework if view.homework.waits_for_coach),
        row.homework[0] if row.homework else None,
    )


def _line(row: StudentRow, names: Names, now: datetime, zone: tzinfo) -> BoardLine:
    view = foremost(row)
    return BoardLine(
        member_name(names, row.coaching.student),
        None if view is None else _waits(view),
        _work(row, view),
        _say("due-none") if view is None else _say("due", day=date_words(view.homework.due_at, zone)),
        _last(row, now, zone),
        _gap(row),
        _say("stuck-none") if row.stuck_on is None else _say("stuck", what=row.stuck_on.what),
    )


def _waits(view: HomeworkView) -> Waits:
    if view.homework.waits_for_coach:
        return Waits.COACH
    return Waits.LATE if view.status is Status.OVERDUE else Waits.STUDENT


def _work(row: StudentRow, view: HomeworkView | None) -> str:
    if view is None:
        return _say("work-none")
    easier = view.homework.asks_easier
    status = _say("asks-easier") if easier else say("homework-statuses", view.status.value)
    more = len(row.homework) - 1
    return _say("work-more" if more else "work", status=status, more=more)


def _last(row: StudentRow, now: datetime, zone: tzinfo) -> str:
    if row.last_practice is None:
        return _say("never")
    days = max(0, (_day(now, zone) - _day(row.last_practice, zone)).days)
    return _say({0: "today", 1: "yesterday"}.get(days, "days"), days=days)


def _gap(row: StudentRow) -> str:
    if row.gap is None:
        return _say("gap-unknown")
    return _say("gap", gap=row.gap) if row.gap >= LEAST_GAP else _say("gap-none")


def _day(moment: datetime, zone: tzinfo) -> date:
    return moment.astimezone(zone).date()


def _say(key: str, **facts: int | float | str) -> str:
    return say("picture-board", key, 60, **facts)
