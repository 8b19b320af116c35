"""Coaches ask, members accept, and either ends it: nothing is seen of anybody without that."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from coached import (
    CLEAN,
    COACH,
    ELSEWHERE,
    MONDAY,
    OTHER_COACH,
    PELL,
    WREN,
    School,
    refusal,
    school_at,
    viewed,
)
from inline import link

from bot.results.coaching import Coaching, CoachRefusalCode, Ended, StudentPage
from bot.results.place import Place
from bot.results.tally import Tally
from bot.services import coaching as module
from core.learning.homework import Step


@pytest.fixture
async def school(tmp_path: Path) -> AsyncIterator[School]:
    async with school_at(tmp_path) as school:
        yield school


async def asked_by(school: School, coach: Place = COACH, student: Place = WREN) -> Coaching:
    asked = await school.coaching.ask(coach, student.member_id, school.event())
    assert isinstance(asked, Coaching), asked
    return asked


async def test_a_member_is_told_that_a_coach_asks_and_the_coach_that_they_accepted(school: School) -> None:
    asked = await asked_by(school)
    assert (asked.coach, asked.student, asked.accepted_at) == (COACH.owner, WREN.owner, None)
    assert await school.waiting() == {"coach-asks": (asked.id, MONDAY)}
    assert not school.coaching.is_student(1, WREN.member_id)
    school.bench.clock.time += timedelta(hours=1)
    accepted = await school.coaching.answer(WREN, asked.id, True, school.event())
    assert accepted == replace(asked, accepted_at=MONDAY + timedelta(hours=1))
    assert (await school.waiting())["coach-accepted"] == (asked.id, MONDAY + timedelta(hours=1))
    assert school.coaching.is_student(1, WREN.member_id)
    assert not school.coaching.is_student(2, WREN.member_id)
    assert await school.coaching.mine(WREN) == await school.coaching.students(COACH) == (accepted,)


async def test_who_has_a_coach_is_known_again_after_a_restart(school: School) -> None:
    await school.coached()
    await asked_by(school, COACH, PELL)
    again = module.CoachingService(school.bench.store, school.bench.book, school.bench.clock, school.notices)
    await again.load()
    assert again.is_student(1, WREN.member_id)
    assert not again.is_student(1, PELL.member_id)


async def test_who_says_no_has_no_coach_and_may_be_asked_again(school: School) -> None:
    asked = await asked_by(school)
    assert await school.coaching.answer(WREN, asked.id, False, school.event()) == Ended(asked, by_coach=False)
    assert await school.coaching.mine(WREN) == ()
    assert await school.waiting() == {}, "the coach hears nothing of a no"
    assert (await asked_by(school)).id > asked.id, "a button of the first must not mean the second"


@pytest.mark.parametrize(
    ("asker", "member_id", "is_bot", "code"),
    [
        (COACH, COACH.member_id, False, CoachRefusalCode.YOURSELF),
        (COACH, 500, True, CoachRefusalCode.A_BOT),
        (Place(None, 7, COACH.member_id), WREN.member_id, False, CoachRefusalCode.NO_SERVER),
    ],
)
async def test_not_everybody_can_be_asked(
    school: School, asker: Place, member_id: int, is_bot: bool, code: CoachRefusalCode
) -> None:
    assert refusal(await school.coaching.ask(asker, member_id, 1, is_bot=is_bot)) is code
    assert await school.waiting() == {}


async def test_a_member_is_asked_once_by_each_coach(school: School) -> None:
    first = await asked_by(school)
    again = await school.coaching.ask(COACH, WREN.member_id, school.event())
    assert refusal(again) is CoachRefusalCode.ASKED_ALREADY
    other = await asked_by(school, OTHER_COACH)
    await school.coaching.answer(WREN, first.id, True, school.event())
    again = await school.coaching.ask(COACH, WREN.member_id, school.event())
    assert refusal(again) is CoachRefusalCode.STUDENT_ALREADY
    assert [one.id for one in await school.coaching.mine(WREN)] == [other.id, first.id]


async def test_a_coach_has_a_limited_number_of_students(
    school: School, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "MOST_STUDENTS", 1)
    await asked_by(school)
    over = await school.coaching.ask(COACH, PELL.member_id, school.event())
    assert refusal(over) is CoachRefusalCode.TOO_MANY_STUDENTS


async def test_events_that_come_twice_have_one_effect(school: School) -> None:
    asked = await school.coaching.ask(COACH, WREN.member_id, 1)
    assert isinstance(asked, Coaching)
    assert await school.coaching.ask(COACH, WREN.member_id, 1) == asked
    accepted = await school.coaching.answer(WREN, asked.id, True, 2)
    assert await school.coaching.answer(WREN, asked.id, True, 2) == accepted
    assert await school.coaching.answer(WREN, asked.id, True, 3) == accepted, "pressed twice"
    assert isinstance(await school.coaching.end(WREN, asked.id, 4), Ended)
    assert refusal(await school.coaching.end(WREN, asked.id, 4)) is CoachRefusalCode.NO_SUCH_COACHING


async def test_a_no_pressed_after_the_yes_ends_nothing(school: School) -> None:
    accepted = await school.coached()
    late = await school.coaching.answer(WREN, accepted.id, False, school.event())
    assert refusal(late) is CoachRefusalCode.STUDENT_ALREADY
    assert school.coaching.is_student(1, WREN.member_id)


@pytest.mark.parametrize("who", [COACH, PELL, replace(WREN, server_id=2)])
async def test_only_the_member_who_was_asked_answers(school: School, who: Place) -> None:
    asked = await asked_by(school)
    answer = await school.coaching.answer(who, asked.id, True, school.event())
    assert refusal(answer) is CoachRefusalCode.NO_SUCH_COACHING
    assert await school.coaching.mine(WREN) == (asked,)


async def test_in_direct_messages_the_member_answers_a_coach_of_any_server(school: School) -> None:
    asked = await asked_by(school)
    at_home_elsewhere = Place(2, 7, WREN.member_id, direct=True)
    assert await school.coaching.mine(at_home_elsewhere) == (asked,)
    accepted = await school.coaching.answer(at_home_elsewhere, asked.id, True, school.event())
    assert isinstance(accepted, Coaching)
    assert school.coaching.is_student(1, WREN.member_id)


@pytest.mark.parametrize(("who", "by_coach"), [(COACH, True), (WREN, False)])
async def test_either_ends_it_and_then_the_coach_sees_nothing_more(
    school: School, who: Place, by_coach: bool
) -> None:
    accepted = await school.coached()
    homework = await school.given()
    assert await school.coaching.student_place(COACH, accepted.id) == replace(WREN, channel_id=10)
    ended = await school.coaching.end(who, accepted.id, school.event())
    assert ended == Ended(accepted, by_coach)
    assert not school.coaching.is_student(1, WREN.member_id)
    place = await school.coaching.student_place(COACH, accepted.id)
    assert refusal(place) is CoachRefusalCode.NO_SUCH_COACHING
    assert refusal(await school.homework.one(COACH, homework.id)) is CoachRefusalCode.NO_SUCH_HOMEWORK
    kept = viewed(await school.homework.one(WREN, homework.id))
    assert (kept.homework, kept.coached) == (homework, False), "the homework stays with the student"


STRANGERS = [OTHER_COACH, ELSEWHERE, PELL, replace(WREN, server_id=2)]
"""Another coach, the coach in another server, another student, the student in another server."""


@pytest.mark.parametrize("who", STRANGERS)
async def test_for_everybody_else_it_does_not_exist(school: School, who: Place) -> None:
    accepted = await school.coached()
    await school.coached(PELL)
    homework = await school.given()
    await school.handed_in(homework, "https://clips.example/1")
    before = viewed(await school.homework.one(WREN, homework.id))
    gone = CoachRefusalCode.NO_SUCH_COACHING
    assert refusal(await school.coaching.one(who, accepted.id)) is gone
    assert refusal(await school.coaching.end(who, accepted.id, school.event())) is gone
    assert refusal(await school.coaching.student_place(who, accepted.id)) is gone
    assert refusal(await school.boards.student(who, accepted.id)) is gone
    assert refusal(await school.boards.note(who, accepted.id, "tired", school.event())) is gone
    gone = CoachRefusalCode.NO_SUCH_HOMEWORK
    number, event = homework.id, school.event
    assert refusal(await school.homework.one(who, number)) is gone
    assert refusal(await school.homework.log(who, number, "5/5", "", event())) is gone
    assert refusal(await school.homework.hand_in(who, number, "", "", event())) is gone
    assert refusal(await school.homework.ask_easier(who, number, "5MP, 2MP", event())) is gone
    assert refusal(await school.homework.subject_number(who, number)) is gone
    assert refusal(await school.homework.same_for(who, number, [accepted.id], event())) is gone
    assert refusal(await school.reviews.review(who, number, Step.ACCEPT, "", event())) is gone
    assert refusal(await school.reviews.comment(who, number, "", "good", event())) is gone
    assert refusal(await school.reviews.answer_easier(who, number, True, event())) is gone
    assert viewed(await school.homework.one(WREN, number)) == before


async def test_the_student_is_no_coach_of_themselves(school: School) -> None:
    accepted = await school.coached()
    homework = await school.given()
    await school.handed_in(homework)
    assert refusal(await school.boards.student(WREN, accepted.id)) is CoachRefusalCode.NO_SUCH_COACHING
    done = await school.reviews.review(WREN, homework.id, Step.ACCEPT, "", school.event())
    assert refusal(done) is CoachRefusalCode.NO_SUCH_HOMEWORK


async def test_a_coach_whom_the_student_has_not_accepted_sees_nothing(school: School) -> None:
    asked = await asked_by(school)
    gone = CoachRefusalCode.NO_SUCH_COACHING
    assert refusal(await school.coaching.student_place(COACH, asked.id)) is gone
    assert refusal(await school.boards.student(COACH, asked.id)) is gone
    given = await school.homework.set(COACH, [WREN.member_id], CLEAN, school.event())
    assert refusal(given) is CoachRefusalCode.NOT_STUDENT


async def test_who_comes_back_to_a_coach_is_reminded_again(school: School) -> None:
    accepted = await school.coached()
    homework = await school.given()
    assert {"due-soon", "due-now"} <= (await school.waiting()).keys()
    await school.coaching.end(WREN, accepted.id, school.event())
    assert not {"due-soon", "due-now"} & (await school.waiting()).keys()
    await school.coached()
    assert (await school.waiting())["due-now"][0] == homework.id


async def test_erasing_a_student_takes_everything_and_erasing_a_coach_their_name(school: School) -> None:
    kept = {}
    for student in (WREN, PELL):
        accepted = await school.coached(student)
        homework = await school.given(student)
        await school.handed_in(homework, "https://clips.example/1", student)
        await school.reviews.comment(COACH, homework.id, "0:42", "late here", school.event())
        assert isinstance(await school.boards.note(COACH, accepted.id, "shy", school.event()), StudentPage)
        kept[student] = homework
    await school.bench.log(Tally(link("5MP, 2MP"), MONDAY, 10, 7), WREN.owner)
    own = (await school.privacy.export(WREN)).coaching
    assert own is not None
    assert (len(own.coachings), [one.id for one in own.homework], own.notes) == (1, [kept[WREN].id], ())
    assert [said.text for _, said in own.comments] == ["late here"]
    assert await school.privacy.erase(WREN, school.event()) == 1
    assert not school.coaching.is_student(1, WREN.member_id)
    of_coach = (await school.privacy.export(COACH)).coaching
    assert of_coach is not None
    assert [one.student for one in of_coach.coachings] == [PELL.owner]
    assert [(of, note.text) for of, note in of_coach.notes] == [(PELL.owner, "shy")]
    assert [one.id for one in of_coach.set_for_others] == [kept[PELL].id]
    await school.privacy.erase(COACH, school.event())
    assert not school.coaching.is_student(1, PELL.member_id)
    left = viewed(await school.homework.one(PELL, kept[PELL].id))
    assert (left.homework.coach, left.coached) == (None, False)
    assert (await school.privacy.export(COACH)).coaching is None
