"""Homework goes to the coach and back: handed in, looked at, commented on, or made easier."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from pathlib import Path

import pytest
from coached import (
    COACH,
    MONDAY,
    OTHER_COACH,
    ROUTE,
    WHAT,
    WREN,
    School,
    refusal,
    school_at,
    viewed,
)
from inline import link

from bot.results.coaching import (
    CLIP_CHARACTERS,
    HOMEWORK_NOTE_CHARACTERS,
    PAGE,
    CoachRefusalCode,
)
from bot.services.log import Entry
from core.learning.homework import Stage, Status, Step


@pytest.fixture
async def school(tmp_path: Path) -> AsyncIterator[School]:
    async with school_at(tmp_path) as school:
        await school.coached()
        yield school


async def test_it_goes_to_the_coach_and_back_and_is_accepted(school: School) -> None:
    kept = await school.given()
    handed = viewed(await school.homework.hand_in(WREN, kept.id, "done", "https://clips.example/a", 1))
    assert (handed.homework.stage, handed.status) == (Stage.HANDED_IN, Status.HANDED_IN)
    assert (handed.homework.hand_in_note, handed.homework.clip) == ("done", "https://clips.example/a")
    assert [view.homework.id for view in (await school.reviews.queue(COACH)).views] == [kept.id]
    assert (await school.reviews.queue(OTHER_COACH)).views == ()
    twice = await school.homework.hand_in(WREN, kept.id, "", "", 2)
    assert refusal(twice) is CoachRefusalCode.WRONG_STAGE
    back = await school.reviews.review(COACH, kept.id, Step.SEND_BACK, " ", 3)
    assert refusal(back) is CoachRefusalCode.NO_NOTE
    back = viewed(await school.reviews.review(COACH, kept.id, Step.SEND_BACK, "slower", 4))
    assert (back.status, back.homework.review_note) == (Status.RETURNED, "slower")
    assert (await school.reviews.queue(COACH)).views == ()
    await school.homework.hand_in(WREN, kept.id, "", "", 5)
    done = viewed(await school.reviews.review(COACH, kept.id, Step.ACCEPT, "", 6))
    assert (done.status, done.homework.reviewed_at) == (Status.ACCEPTED, MONDAY)
    again = await school.homework.hand_in(WREN, kept.id, "", "", 7)
    assert refusal(again) is CoachRefusalCode.WRONG_STAGE


async def test_a_coach_may_change_their_mind_but_reviews_nothing_that_was_not_handed_in(
    school: School,
) -> None:
    kept = await school.given()
    early = await school.reviews.review(COACH, kept.id, Step.ACCEPT, "", school.event())
    assert refusal(early) is CoachRefusalCode.WRONG_STAGE
    await school.handed_in(kept)
    for step, stage in ((Step.SEND_BACK, Stage.RETURNED), (Step.ACCEPT, Stage.ACCEPTED)):
        view = viewed(await school.reviews.review(COACH, kept.id, step, "after all", school.event()))
        assert view.homework.stage is stage


async def test_a_step_that_is_delivered_twice_is_taken_once(school: School) -> None:
    kept = await school.given()
    handed = await school.homework.hand_in(WREN, kept.id, "done", "", 1)
    assert await school.homework.hand_in(WREN, kept.id, "done", "", 1) == handed
    back = await school.reviews.review(COACH, kept.id, Step.SEND_BACK, "slower", 2)
    assert await school.reviews.review(COACH, kept.id, Step.SEND_BACK, "slower", 2) == back


@pytest.mark.parametrize(
    ("note", "clip", "code"),
    [
        ("", "my clip", CoachRefusalCode.BAD_CLIP),
        ("", "javascript:alert(1)", CoachRefusalCode.BAD_CLIP),
        ("", "https://clips", CoachRefusalCode.BAD_CLIP),
        ("", "https://clips.example/a @everyone", CoachRefusalCode.BAD_CLIP),
        ("", "https://clips.example/" + "a" * CLIP_CHARACTERS, CoachRefusalCode.TOO_LONG),
        ("a" * (HOMEWORK_NOTE_CHARACTERS + 1), "", CoachRefusalCode.TOO_LONG),
    ],
)
async def test_what_cannot_be_handed_in_leaves_it_with_the_student(
    school: School, note: str, clip: str, code: CoachRefusalCode
) -> None:
    kept = await school.given()
    assert refusal(await school.homework.hand_in(WREN, kept.id, note, clip, 1)) is code
    assert viewed(await school.homework.one(WREN, kept.id)).homework == kept


async def test_nothing_is_handed_in_to_a_coach_who_is_gone_but_it_is_practised_on(school: School) -> None:
    kept = await school.given()
    (coaching,) = await school.coaching.mine(WREN)
    await school.coaching.end(COACH, coaching.id, school.event())
    handed = await school.homework.hand_in(WREN, kept.id, "", "", school.event())
    assert refusal(handed) is CoachRefusalCode.COACH_GONE
    easier = await school.homework.ask_easier(WREN, kept.id, "5MP, 2MK", school.event())
    assert refusal(easier) is CoachRefusalCode.COACH_GONE
    assert isinstance(await school.homework.log(WREN, kept.id, "8/10", "", school.event()), tuple)


async def test_an_easier_route_is_asked_for_and_taken(school: School) -> None:
    kept = await school.given(what=ROUTE)
    asked = viewed(await school.homework.ask_easier(WREN, kept.id, "5mp, 2mp", 1))
    assert (asked.homework.easier, asked.homework.asks_easier) == ("5MP, 2MP", True)
    assert [view.homework.id for view in (await school.reviews.queue(COACH)).views] == [kept.id]
    await school.log.log(WREN, Entry(WHAT, "6/10"), school.event())
    taken = viewed(await school.reviews.answer_easier(COACH, kept.id, True, 2))
    assert (taken.homework.subject, taken.homework.took_easier) == (link("5MP, 2MP"), True)
    assert (taken.homework.asks_easier, taken.progress.landed) == (False, 6)
    assert await school.reviews.answer_easier(COACH, kept.id, True, 2) == taken
    twice = await school.reviews.answer_easier(COACH, kept.id, False, 3)
    assert refusal(twice) is CoachRefusalCode.NOT_ASKED
    assert (await school.reviews.queue(COACH)).views == ()


async def test_a_coach_may_leave_it_as_it_is(school: School) -> None:
    kept = await school.given(what=ROUTE)
    await school.homework.ask_easier(WREN, kept.id, "5MP, 2MP", 1)
    left = viewed(await school.reviews.answer_easier(COACH, kept.id, False, 2))
    assert left.homework == kept


@pytest.mark.parametrize("notation", ["5MP, 2MP xx 236HP", "5QQ", "Mirrel: 5MP, 2MP", "block"])
async def test_only_other_moves_of_the_same_character_are_easier(school: School, notation: str) -> None:
    kept = await school.given(what=ROUTE)
    asked = await school.homework.ask_easier(WREN, kept.id, notation, 1)
    assert refusal(asked) is CoachRefusalCode.NO_EASIER


async def test_a_task_in_words_has_no_easier_route(school: School) -> None:
    kept = await school.given(what="drill: block ten")
    asked = await school.homework.ask_easier(WREN, kept.id, "5MP, 2MP", 1)
    assert refusal(asked) is CoachRefusalCode.NO_EASIER


async def test_what_was_handed_in_as_it_was_asks_for_nothing_easier(school: School) -> None:
    kept = await school.given(what=ROUTE)
    await school.homework.ask_easier(WREN, kept.id, "5MP, 2MP", 1)
    handed = await school.handed_in(kept)
    assert not handed.homework.asks_easier
    late = await school.homework.ask_easier(WREN, kept.id, "5MP, 2MP", 2)
    assert refusal(late) is CoachRefusalCode.WRONG_STAGE


async def test_a_list_has_what_is_due_first_and_then_what_is_accepted(school: School) -> None:
    late = await school.given(amount=3, due="in 5 days")
    soon = await school.given(amount=4, due="tomorrow")
    done = await school.given(amount=5, due="today")
    await school.handed_in(done)
    await school.reviews.review(COACH, done.id, Step.ACCEPT, "", school.event())
    page = await school.homework.mine(WREN)
    assert [view.homework.id for view in page.views] == [soon.id, late.id, done.id]
    assert (page.page, page.pages) == (0, 1)


async def test_long_lists_have_pages_and_a_page_too_far_is_the_last(school: School) -> None:
    for amount in range(1, PAGE + 3):
        await school.handed_in(await school.given(amount=amount))
    for listed, place in ((school.homework.mine, WREN), (school.reviews.queue, COACH)):
        first, last = await listed(place, 0), await listed(place, 9)
        assert (len(first.views), len(last.views), last.page, last.pages) == (PAGE, 2, 1, 2)
        assert {view.homework.id for view in first.views}.isdisjoint(view.homework.id for view in last.views)


async def test_comments_go_by_the_clip(school: School) -> None:
    kept = await school.given()
    none = await school.reviews.comment(COACH, kept.id, "", "where?", school.event())
    assert refusal(none) is CoachRefusalCode.NO_CLIP
    await school.handed_in(kept, "https://clips.example/a")
    for at, text in (("1:02", "late"), ("0:42", " good \n spacing "), ("", "nice clip")):
        await school.reviews.comment(COACH, kept.id, at, text, school.event())
    view = viewed(await school.homework.one(WREN, kept.id))
    assert [(said.at_seconds, said.text) for said in view.comments] == [
        (None, "nice clip"),
        (42, "good spacing"),
        (62, "late"),
    ]


@pytest.mark.parametrize(
    ("at", "text", "code"),
    [
        ("the end", "late", CoachRefusalCode.NO_CLIP_TIME),
        ("0:99", "late", CoachRefusalCode.NO_CLIP_TIME),
        ("0:42", "  ", CoachRefusalCode.NO_TEXT),
        ("0:42", "a" * 301, CoachRefusalCode.TOO_LONG),
    ],
)
async def test_a_comment_that_says_nothing_is_refused(
    school: School, at: str, text: str, code: CoachRefusalCode
) -> None:
    kept = await school.given()
    await school.handed_in(kept, "https://clips.example/a")
    assert refusal(await school.reviews.comment(COACH, kept.id, at, text, 1)) is code


async def test_an_easier_route_is_answered_by_accepting_what_was_sent_back(school: School) -> None:
    kept = await school.given(what=ROUTE)
    await school.handed_in(kept)
    await school.reviews.review(COACH, kept.id, Step.SEND_BACK, "slower", school.event())
    await school.homework.ask_easier(WREN, kept.id, "5MP, 2MP", school.event())
    done = viewed(await school.reviews.review(COACH, kept.id, Step.ACCEPT, "", school.event()))
    assert not done.homework.asks_easier


async def test_nothing_of_a_student_who_left_waits_for_the_coach(school: School) -> None:
    await school.handed_in(await school.given())
    (coaching,) = await school.coaching.mine(WREN)
    await school.coaching.end(WREN, coaching.id, school.event())
    assert (await school.reviews.queue(COACH)).views == ()


async def test_in_direct_messages_a_coach_sees_what_waits_in_all_servers(school: School) -> None:
    kept = await school.given()
    await school.handed_in(kept)
    at_home_elsewhere = replace(COACH, server_id=2, direct=True)
    assert [view.homework.id for view in (await school.reviews.queue(at_home_elsewhere)).views] == [kept.id]
    assert (await school.reviews.queue(replace(COACH, server_id=2))).views == ()
    done = await school.reviews.review(at_home_elsewhere, kept.id, Step.ACCEPT, "", school.event())
    assert viewed(done).homework.stage is Stage.ACCEPTED
