"""A coach's students in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import tzinfo

from bot.render.board_lines import foremost
from bot.render.card import Card, Group, source_of
from bot.render.coaching import member_name
from bot.render.members import Names
from bot.render.reps import date_words, moment_words, whose_words
from bot.render.wording import say
from bot.results.coaching import CoachBoard, StuckLink, StudentPage, StudentRow
from core.model import Game

SHOWN_NAMES = 10


def board_card(board: CoachBoard, names: Names, zone: tzinfo, game: Game) -> Card:
    """The students on one page, each with homework, last practice, gap to match and where they are stuck."""
    groups = [Group(member_name(names, row.coaching.student), tuple(_row(row, zone))) for row in board.rows]
    if board.asked:
        asked = [member_name(names, one.student) for one in board.asked[:SHOWN_NAMES]]
        groups.append(_group("asked", asked))
    if not board.rows:
        groups.append(_group("next", (say("coach-board", "ask"),)))
    key = "none" if not board.students else "one" if board.students == 1 else "several"
    facts = {"students": board.students, "page": board.page + 1, "pages": board.pages}
    lead = say("coach-board", f"{key}-paged" if board.pages > 1 else key, **facts)
    return Card(lead, tuple(groups), (), source_of(game))


def page_card(page: StudentPage, names: Names, zone: tzinfo, game: Game) -> Card:
    """One student, for their coach alone."""
    student = member_name(names, page.row.coaching.student)
    groups = [_group("stands", _row(page.row, zone))]
    given = [
        say(
            "coach-board",
            "homework",
            what=whose_words(view.homework.subject),
            status=say("homework-statuses", view.status.value),
            due=moment_words(view.homework.due_at, zone),
        )
        for view in page.homework
    ]
    logged = [
        say(
            "coach-board",
            "tally",
            landed=kept.tally.landed,
            tries=kept.tally.tries,
            what=whose_words(kept.tally.subject),
            day=date_words(kept.tally.made_at, zone),
        )
        for kept in page.latest
    ]
    noted = [
        say("coach-board", "note", day=date_words(one.made_at, zone), text=one.text) for one in page.notes
    ]
    for key, lines in (("homework", given), ("logged", logged), ("notes", noted)):
        if lines:
            groups.append(_group(key, lines))
    return Card(say("coach-board", "page", student=student), tuple(groups), (), source_of(game))


def stuck_card(found: Sequence[StuckLink], names: Names, game: Game) -> Card:
    """What two students or more are stuck on."""
    if not found:
        return Card(say("coach-board", "stuck-none"), (), (), source_of(game))
    lines = tuple(
        say(
            "coach-board",
            "stuck-line",
            what=whose_words(link.subject),
            landed=link.landed,
            tries=link.tries,
            who=", ".join(member_name(names, owner) for owner in link.students[:SHOWN_NAMES]),
        )
        for link in found
    )
    groups = (_group("stuck", lines), _group("next", (say("coach-board", "stuck-next"),)))
    return Card(say("coach-board", "stuck"), groups, (), source_of(game))


def _group(question: str, lines: Iterable[str]) -> Group:
    return Group(say("coach-board-questions", question), tuple(lines))


def _row(row: StudentRow, zone: tzinfo) -> Iterator[str]:
    first = foremost(row)
    if first is not None:
        yield say(
            "coach-board",
            "open",
            open=len(row.homework),
            what=whose_words(first.homework.subject),
            status=say("homework-statuses", first.status.value),
        )
    else:
        yield say("coach-board", "no-homework")
    if row.last_practice is None:
        yield say("coach-board", "never")
    else:
        yield say("coach-board", "last", day=date_words(row.last_practice, zone))
    if row.gap is None:
        yield say("coach-board", "no-gap")
    elif row.gap <= 0:
        yield say("coach-board", "gap-none")
    else:
        yield say("coach-board", "gap", gap=row.gap)
    if row.stuck_on is not None:
        yield say("coach-board", "stuck-on", what=whose_words(row.stuck_on))
