"""The coach's board: who waits, what is due, how it goes, and where students are stuck."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from coached import (
    CLEAN,
    COACH,
    MONDAY,
    OTHER_COACH,
    PELL,
    TAM,
    WREN,
    School,
    refusal,
    school_at,
)
from inline import drill, link

from bot.results.coaching import PAGE, STUDENT_NOTE_CHARACTERS, CoachRefusalCode, StudentPage
from bot.results.place import Place
from bot.results.tally import MemberSettings, ServerSettings, Subject, Tally
from bot.services import coach_board as module
from core.learning.homework import Step
from core.learning.tally import Context

LINK, OTHER_LINK, WORDS = link("5MP, 2MP"), link("5MP, 2MK"), drill("block ten")
DAY = timedelta(days=1)


@pytest.fixture
async def school(tmp_path: Path) -> AsyncIterator[School]:
    async with school_at(tmp_path) as school:
        yield school


async def practised(
    school: School,
    who: Place,
    landed: int,
    tries: int,
    days_ago: float = 1,
    about: Subject = LINK,
    context: Context = Context.TRAINING,
) -> None:
    made = school.bench.clock.time - days_ago * DAY
    await school.bench.log(Tally(about, made, tries, landed, context=context), who.owner)


def paged(result: object) -> StudentPage:
    assert isinstance(result, StudentPage), result
    return result


async def test_those_who_wait_for_the_coach_come_first_then_by_what_is_due(school: School) -> None:
    idle, late, soon, waits = (replace(WREN, member_id=number) for number in (110, 111, 112, 113))
    for student in (idle, late, soon, waits):
        await school.coached(student)
    await school.given(late, due="in 9 days")
    await school.given(soon, due="tomorrow")
    await school.given(waits, due="in 20 days", amount=3)
    await school.handed_in(await school.given(waits, due="in 30 days"), student=waits)
    board = await school.boards.board(COACH)
    assert [row.coaching.student for row in board.rows] == [one.owner for one in (waits, soon, late, idle)]
    assert [len(row.homework) for row in board.rows] == [2, 1, 1, 0]
    assert board.students == 4


async def test_what_is_accepted_stands_on_it_no_more(school: School) -> None:
    await school.coached()
    homework = await school.given()
    await school.handed_in(homework)
    await school.reviews.review(COACH, homework.id, Step.ACCEPT, "", school.event())
    (row,) = (await school.boards.board(COACH)).rows
    assert row.homework == ()


async def test_those_who_have_not_answered_are_apart_and_unseen(school: School) -> None:
    asked = await school.coaching.ask(COACH, WREN.member_id, school.event())
    await practised(school, WREN, 3, 10)
    board = await school.boards.board(COACH)
    assert (board.rows, board.asked, board.students) == ((), (asked,), 0)
    assert await school.boards.board(OTHER_COACH) == replace(board, asked=())


async def test_two_hundred_students_stand_on_pages_once_each(school: School) -> None:
    students = [replace(WREN, member_id=1_000 + number) for number in range(200)]
    for student in students:
        await school.coached(student)
    ids = [student.member_id for student in students]
    await school.homework.set(COACH, ids, CLEAN, school.event())
    seen = []
    for page in range(20):
        board = await school.boards.board(COACH, page)
        assert (board.page, board.pages, board.students, len(board.rows)) == (page, 20, 200, PAGE)
        seen += [row.coaching.student for row in board.rows]
    assert sorted(seen, key=lambda one: one.member_id) == [student.owner for student in students]
    assert (await school.boards.board(COACH, 20)).page == 19, "a page too far is the last"


async def test_the_last_practice_is_that_of_the_log_as_it_stands(school: School) -> None:
    await school.coached()
    assert (await school.boards.board(COACH)).rows[0].last_practice is None
    await practised(school, WREN, 3, 10, days_ago=5)
    kept = await school.bench.log(Tally(LINK, MONDAY - DAY, 10, 3), WREN.owner)
    assert (await school.boards.board(COACH)).rows[0].last_practice == MONDAY - DAY
    await school.bench.undo(kept)
    assert (await school.boards.board(COACH)).rows[0].last_practice == MONDAY - 5 * DAY


async def test_the_gap_to_matches_is_of_what_was_tried_in_both(school: School) -> None:
    await school.coached()
    await practised(school, WREN, 16, 20)
    assert (await school.boards.board(COACH)).rows[0].gap is None, "never in a match"
    await practised(school, WREN, 4, 8, context=Context.RANKED)
    assert (await school.boards.board(COACH)).rows[0].gap is None, "8 tries are too few to tell"
    await practised(school, WREN, 2, 4, context=Context.TOURNAMENT)
    await practised(school, WREN, 0, 30, about=OTHER_LINK)
    await practised(school, WREN, 0, 30, context=Context.SPARRING)
    gap = (await school.boards.board(COACH)).rows[0].gap
    assert gap == pytest.approx(16 / 20 - 6 / 12)


STUCK = [
    ([(8, 20, 1)], LINK, "20 tries of late and below the goal"),
    ([(8, 19, 1)], None, "19 tries are too few"),
    ([(16, 20, 1)], None, "as often as the goal asks"),
    ([(8, 20, 15)], None, "not of late"),
    ([(8, 20, 1), (9, 20, 20)], LINK, "worse than before"),
    ([(8, 20, 1), (7, 20, 20)], None, "5 points better than before"),
    ([(8, 20, 1), (2, 9, 20)], LINK, "before had too few tries to tell"),
    ([(8, 20, 1), (0, 90, 57)], LINK, "what is older than eight weeks says nothing"),
    ([(8, 20, 1), (0, 90, 55)], None, "what is within them does"),
]


@pytest.mark.parametrize(("made", "stuck_on", "why"), STUCK)
async def test_a_student_is_stuck_where_it_does_not_get_better(
    school: School, made: list[tuple[int, int, int]], stuck_on: Subject | None, why: str
) -> None:
    await school.coached()
    for landed, tries, days_ago in made:
        await practised(school, WREN, landed, tries, days_ago)
    assert (await school.boards.board(COACH)).rows[0].stuck_on == stuck_on, why


async def test_the_weakest_is_named_by_the_goal_of_the_student(school: School) -> None:
    await school.coached()
    await practised(school, WREN, 12, 20)
    await practised(school, WREN, 11, 20, about=WORDS)
    assert (await school.boards.board(COACH)).rows[0].stuck_on == WORDS
    await school.bench.book.set_member(WREN.owner, MemberSettings(goal=0.5))
    assert (await school.boards.board(COACH)).rows[0].stuck_on is None


async def test_what_was_taken_out_of_the_log_says_nothing(school: School) -> None:
    await school.coached()
    kept = await school.bench.log(Tally(LINK, MONDAY - DAY, 20, 3), WREN.owner)
    assert (await school.boards.board(COACH)).rows[0].stuck_on == LINK
    await school.bench.undo(kept)
    assert (await school.boards.board(COACH)).rows[0].stuck_on is None


async def test_what_several_are_stuck_on_that_of_the_most_first(school: School) -> None:
    for student in (WREN, PELL, TAM):
        await school.coached(student)
        await practised(school, student, 5, 20)
    for student in (WREN, PELL):
        await practised(school, student, 2, 20, about=OTHER_LINK)
    await practised(school, TAM, 1, 20, about=WORDS)
    stranger = replace(WREN, member_id=500)
    await practised(school, stranger, 1, 20, about=WORDS)
    most, other = await school.boards.stuck(COACH)
    assert (most.subject, most.landed, most.tries) == (LINK, 15, 60)
    assert most.students == (WREN.owner, PELL.owner, TAM.owner)
    assert (other.subject, other.students) == (OTHER_LINK, (WREN.owner, PELL.owner))
    assert await school.boards.stuck(OTHER_COACH) == ()
    (tam,) = [one for one in await school.coaching.students(COACH) if one.student == TAM.owner]
    await school.coaching.end(TAM, tam.id, school.event())
    assert (await school.boards.stuck(COACH))[0].students != most.students, "who left is seen no more"


async def test_one_students_page_is_for_their_coach(school: School) -> None:
    coaching = await school.coached()
    await school.coached(WREN, OTHER_COACH)
    first, second = await school.given(amount=3), await school.given(amount=4)
    await school.given(coach=OTHER_COACH)
    await school.handed_in(first)
    await school.reviews.review(COACH, first.id, Step.ACCEPT, "", school.event())
    await practised(school, WREN, 3, 10)
    page = paged(await school.boards.student(COACH, coaching.id))
    assert [view.homework.id for view in page.homework] == [second.id, first.id]
    assert [view.homework.id for view in page.row.homework] == [second.id]
    assert [kept.tally.landed for kept in page.latest] == [3]
    assert page.notes == ()


async def test_in_direct_messages_the_page_is_of_the_students_own_server(school: School) -> None:
    coaching = await school.coached()
    await practised(school, WREN, 5, 20)
    await school.bench.book.set_server(2, ServerSettings(game="Kitewind"))
    at_home_elsewhere = replace(COACH, server_id=2, direct=True)
    page = paged(await school.boards.student(at_home_elsewhere, coaching.id))
    assert page == paged(await school.boards.student(COACH, coaching.id))
    assert page.row.stuck_on == LINK


async def test_notes_are_seen_by_this_coach_alone_also_when_the_student_comes_back(school: School) -> None:
    coaching = await school.coached()
    other = await school.coached(WREN, OTHER_COACH)
    for event_id, text in ((1, "rushes"), (2, " tired \n today "), (2, "tired today")):
        page = paged(await school.boards.note(COACH, coaching.id, text, event_id))
    assert [note.text for note in page.notes] == ["tired today", "rushes"]
    assert paged(await school.boards.student(OTHER_COACH, other.id)).notes == ()
    await school.coaching.end(WREN, coaching.id, school.event())
    again = await school.coached()
    assert [note.text for note in paged(await school.boards.student(COACH, again.id)).notes] == [
        "tired today",
        "rushes",
    ]


async def test_a_note_that_cannot_be_kept_is_refused(school: School, monkeypatch: pytest.MonkeyPatch) -> None:
    coaching = await school.coached()
    number = coaching.id
    assert refusal(await school.boards.note(COACH, number, " ", 1)) is CoachRefusalCode.NO_TEXT
    long = "a" * (STUDENT_NOTE_CHARACTERS + 1)
    assert refusal(await school.boards.note(COACH, number, long, 2)) is CoachRefusalCode.TOO_LONG
    monkeypatch.setattr(module, "MOST_NOTES", 1)
    await school.boards.note(COACH, number, "one", 3)
    assert refusal(await school.boards.note(COACH, number, "two", 4)) is CoachRefusalCode.TOO_MANY
