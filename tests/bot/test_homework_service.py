"""Homework is set, followed in the student's log, handed in and reviewed."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from coached import (
    CLEAN,
    COACH,
    MONDAY,
    OTHER_COACH,
    PELL,
    TAM,
    WHAT,
    WREN,
    School,
    refusal,
    school_at,
    viewed,
)
from inline import link

from bot.results.coaching import (
    HOMEWORK_NOTE_CHARACTERS,
    CoachRefusal,
    CoachRefusalCode,
    HomeworkSet,
    TargetKind,
)
from bot.results.log import Logged, LogRefusalCode
from bot.results.place import Place
from bot.results.tally import MemberSettings, ServerSettings, Tally
from bot.services import homework as module
from bot.services.log import Entry
from core.learning.homework import CleanReps, MatchAttempts, RateOver, Stage, Status, Step
from core.learning.tally import Context


@pytest.fixture
async def school(tmp_path: Path) -> AsyncIterator[School]:
    async with school_at(tmp_path) as school:
        await school.coached()
        yield school


async def test_it_is_kept_as_it_was_set_and_the_student_is_told(school: School) -> None:
    kept = await school.given(note="  slow \n first ", due="Friday 18:00")
    assert (kept.coach, kept.student, kept.subject) == (COACH.owner, WREN.owner, link("5MP, 2MP"))
    assert (kept.target, kept.note, kept.stage) == (CleanReps(20), "slow first", Stage.SET)
    assert (kept.set_at, kept.due_at) == (MONDAY, datetime(2026, 3, 6, 18, tzinfo=UTC))
    assert (await school.waiting())["homework-set"] == (kept.id, MONDAY)
    view = viewed(await school.homework.one(WREN, kept.id))
    assert view == viewed(await school.homework.one(COACH, kept.id))
    assert (view.homework, view.status, view.coached) == (kept, Status.OPEN, True)
    assert (view.progress.share, view.progress.missing, view.subject_id) == (0.0, 20, 0)


async def test_the_due_day_is_on_the_clocks_of_the_coach(school: School) -> None:
    await school.bench.book.set_member(COACH.owner, MemberSettings(zone="America/New_York"))
    await school.bench.book.set_member(WREN.owner, MemberSettings(zone="Asia/Tokyo"))
    kept = await school.given(due="tomorrow")
    assert kept.due_at == datetime(2026, 3, 4, 4, 59, tzinfo=UTC), "23:59 in New York"


@pytest.mark.parametrize(
    ("asked", "target"),
    [
        ({"target": TargetKind.CLEAN_REPS, "amount": 30}, CleanReps(30)),
        ({"target": TargetKind.MATCHES, "amount": 5}, MatchAttempts(5)),
        ({"target": TargetKind.RATE, "amount": 40, "rate": 90}, RateOver(0.9, 40)),
        ({"target": TargetKind.RATE, "amount": 40}, RateOver(0.7, 40)),
    ],
)
async def test_each_kind_of_target_is_kept_and_a_rate_is_the_students_goal_if_none_is_named(
    school: School, asked: dict[str, Any], target: object
) -> None:
    await school.bench.book.set_member(WREN.owner, MemberSettings(goal=0.7))
    kept = await school.given(**asked)
    assert kept.target == target
    assert viewed(await school.homework.one(WREN, kept.id)).homework == kept


BAD: list[tuple[dict[str, Any], CoachRefusalCode, dict[str, Any]]] = [
    ({"amount": 0}, CoachRefusalCode.BAD_AMOUNT, {"amount": 0, "least": 1, "most": 1_000}),
    ({"amount": 1_001}, CoachRefusalCode.BAD_AMOUNT, {}),
    (
        {"target": TargetKind.RATE, "amount": 9},
        CoachRefusalCode.BAD_AMOUNT,
        {"amount": 9, "least": 10, "most": 500},
    ),
    ({"target": TargetKind.MATCHES, "amount": 201}, CoachRefusalCode.BAD_AMOUNT, {}),
    (
        {"target": TargetKind.RATE, "rate": 100},
        CoachRefusalCode.BAD_RATE,
        {"rate": 100, "least": 50, "most": 99},
    ),
    ({"due": "soon"}, CoachRefusalCode.NO_DUE, {"typed": "soon"}),
    ({"due": "2026-03-01"}, CoachRefusalCode.DUE_IN_PAST, {"typed": "2026-03-01"}),
    ({"due": "2027-03-01"}, CoachRefusalCode.DUE_TOO_FAR, {"typed": "2027-03-01", "most": 180}),
    (
        {"note": "a" * (HOMEWORK_NOTE_CHARACTERS + 1)},
        CoachRefusalCode.TOO_LONG,
        {"field": "note", "most": HOMEWORK_NOTE_CHARACTERS},
    ),
]


@pytest.mark.parametrize(("asked", "code", "facts"), BAD)
async def test_what_is_wrong_is_said_and_nothing_is_set(
    school: School, asked: dict[str, Any], code: CoachRefusalCode, facts: dict[str, Any]
) -> None:
    refused = await school.homework.set(COACH, [WREN.member_id], replace(CLEAN, **asked), 1)
    assert isinstance(refused, CoachRefusal), refused
    assert refused.code is code
    assert dict(refused.facts) == (facts or dict(refused.facts))
    assert (await school.homework.mine(WREN)).views == ()


async def test_moves_that_are_none_are_refused_as_in_the_log(school: School) -> None:
    refused = await school.homework.set(COACH, [WREN.member_id], replace(CLEAN, what="5QQ, 5QQ"), 1)
    assert not isinstance(refused, HomeworkSet | CoachRefusal)
    assert refused.code is LogRefusalCode.NO_SUCH_WHAT


async def test_nobody_and_no_server_are_refused(school: School) -> None:
    refused = await school.homework.set(COACH, [], CLEAN, 1)
    assert refusal(refused) is CoachRefusalCode.NO_STUDENTS
    refused = await school.homework.set(Place(None, 7, COACH.member_id), [WREN.member_id], CLEAN, 2)
    assert refusal(refused) is CoachRefusalCode.NO_SERVER


async def test_several_students_get_it_and_of_the_others_is_said_why_not(school: School) -> None:
    await school.coached(PELL)
    await school.coached(TAM, OTHER_COACH)
    first = await school.given(PELL)
    ids = [WREN.member_id, PELL.member_id, TAM.member_id, WREN.member_id]
    done = await school.homework.set(COACH, ids, CLEAN, school.event())
    assert isinstance(done, HomeworkSet)
    assert [one.student for one in done.homework] == [WREN.owner], "once, though named twice"
    assert [(number, why.code) for number, why in done.refused] == [
        (PELL.member_id, CoachRefusalCode.HAS_IT),
        (TAM.member_id, CoachRefusalCode.NOT_STUDENT),
    ]
    assert [one.homework for one in (await school.homework.mine(PELL)).views] == [first]
    assert (await school.homework.mine(TAM)).views == ()


async def test_a_student_has_a_limited_amount_open(school: School, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_OPEN", 1)
    homework = await school.given()
    over = await school.homework.set(COACH, [WREN.member_id], replace(CLEAN, amount=5), school.event())
    assert refusal(over) is CoachRefusalCode.TOO_MUCH_HOMEWORK
    await school.handed_in(homework)
    await school.reviews.review(COACH, homework.id, Step.ACCEPT, "", school.event())
    await school.given(amount=5)


async def test_the_same_event_sets_it_once(school: School) -> None:
    first = await school.homework.set(COACH, [WREN.member_id], CLEAN, 7)
    assert await school.homework.set(COACH, [WREN.member_id], CLEAN, 7) == first
    assert len((await school.homework.mine(WREN)).views) == 1


async def test_the_same_homework_for_more_students(school: School) -> None:
    pell, tam = await school.coached(PELL), await school.coached(TAM)
    first = await school.given(note="slow first")
    done = await school.homework.same_for(COACH, first.id, [pell.id, tam.id], 7)
    assert isinstance(done, HomeworkSet)
    assert [replace(one, id=first.id, student=first.student) for one in done.homework] == [first, first]
    assert await school.homework.same_for(COACH, first.id, [pell.id, tam.id], 7) == done
    again = await school.homework.same_for(COACH, first.id, [pell.id, tam.id], 8)
    assert refusal(again) is CoachRefusalCode.HAS_IT


async def test_the_same_homework_after_its_due_day_gives_as_much_time(school: School) -> None:
    pell = await school.coached(PELL)
    first = await school.given(due="in 3 days")
    school.bench.clock.time += timedelta(days=10)
    done = await school.homework.same_for(COACH, first.id, [pell.id], 7)
    assert isinstance(done, HomeworkSet)
    assert done.homework[0].due_at - done.homework[0].set_at == first.due_at - first.set_at


async def test_students_of_another_coach_are_none_of_the_coachs(school: School) -> None:
    other = await school.coached(PELL, OTHER_COACH)
    first = await school.given()
    done = await school.homework.same_for(COACH, first.id, [other.id], 7)
    assert refusal(done) is CoachRefusalCode.NO_SUCH_COACHING


async def test_tallies_since_it_was_set_count_by_themselves(school: School) -> None:
    await school.bench.log(Tally(link("5MP, 2MP"), MONDAY - timedelta(minutes=1), 10, 9), WREN.owner)
    kept = await school.given()
    school.bench.clock.time += timedelta(hours=1)
    await school.log.log(WREN, Entry(WHAT, "7/10"), school.event())
    await school.log.log(WREN, Entry("Odrun: 5MP, 2MK", "9/10"), school.event())
    await school.log.log(PELL, Entry(WHAT, "9/10"), school.event())
    view = viewed(await school.homework.one(COACH, kept.id))
    assert (view.progress.landed, view.progress.tries, view.progress.missing) == (7, 10, 13)
    last = await school.log.log(WREN, Entry(WHAT, "13/15"), school.event())
    assert viewed(await school.homework.one(COACH, kept.id)).progress.done
    assert isinstance(last, Logged)
    await school.log.undo(WREN, last.kept.id, school.event())
    assert viewed(await school.homework.one(COACH, kept.id)).progress.missing == 13


async def test_a_tally_is_logged_on_it_once_for_each_event(school: School) -> None:
    kept = await school.given()
    for again in (False, True):
        done = await school.homework.log(WREN, kept.id, "8/10", "warm", 7)
        assert isinstance(done, tuple)
        logged, view = done
        assert (logged.kept.tally.note, logged.kept.tally.context) == ("warm", Context.TRAINING)
        assert (logged.again, view.progress.landed) == (again, 8)
        assert view.subject_id == logged.kept.subject_id
    refused = await school.homework.log(WREN, kept.id, "all of them", "", 8)
    assert not isinstance(refused, tuple | CoachRefusal)
    assert refused.code is LogRefusalCode.NO_COUNT


async def test_tries_in_matches_are_logged_as_such(school: School) -> None:
    kept = await school.given(target=TargetKind.MATCHES, amount=4)
    done = await school.homework.log(WREN, kept.id, "1/3", "", 7)
    assert isinstance(done, tuple)
    logged, view = done
    assert (logged.kept.tally.context, view.progress.missing) == (Context.RANKED, 1)


async def test_what_is_logged_on_a_task_in_words_counts(school: School) -> None:
    kept = await school.given(what="drill: block, then punish", amount=2)
    done = await school.homework.log(WREN, kept.id, "2/3", "", 7)
    assert isinstance(done, tuple)
    assert done[1].progress.done


async def test_in_direct_messages_it_is_logged_where_it_was_set(school: School) -> None:
    kept = await school.given()
    at_home_elsewhere = Place(2, 7, WREN.member_id, direct=True)
    done = await school.homework.log(at_home_elsewhere, kept.id, "8/10", "", 7)
    assert isinstance(done, tuple)
    assert (await school.log.listed(WREN)).tallies == (done[0].kept,)
    assert [one.homework for one in (await school.homework.mine(at_home_elsewhere)).views] == [kept]
    assert (await school.homework.mine(replace(WREN, server_id=2))).views == ()


async def test_a_number_of_its_subject_is_there_before_it_was_practised(school: School) -> None:
    kept = await school.given()
    number = await school.homework.subject_number(WREN, kept.id)
    assert viewed(await school.homework.one(WREN, kept.id)).subject_id == number
    assert await school.log.typed(WREN, number if isinstance(number, int) else 0) == "Odrun Vale: 5MP, 2MP"


async def test_it_is_about_the_servers_own_game(school: School) -> None:
    await school.bench.book.set_server(1, ServerSettings(game="Kitewind"))
    refused = await school.homework.set(COACH, [WREN.member_id], CLEAN, 1)
    assert not isinstance(refused, HomeworkSet | CoachRefusal)
