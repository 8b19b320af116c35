"""What is told unasked: when, to whom, and only while there is something to tell."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from pathlib import Path

import pytest
from coached import COACH, MONDAY, ROUTE, WREN, School, school_at
from inline import link

from bot.results.coaching import Coaching, CoachNotice, CoachRefusal, CoachRefusalCode, KeptHomework
from bot.results.notice import NoticeKind
from bot.results.tally import MemberSettings, Tally
from core.learning.homework import Step
from core.learning.quiet import Quiet

DUE = {NoticeKind.DUE_SOON, NoticeKind.DUE_NOW}


@pytest.fixture
async def school(tmp_path: Path) -> AsyncIterator[School]:
    async with school_at(tmp_path) as school:
        await school.coached()
        yield school


async def told(school: School, homework: KeptHomework) -> set[NoticeKind]:
    """The notices of this homework that would be told if they came up now."""
    kinds = [kind for kind in NoticeKind if kind not in (NoticeKind.COACH_ASKS, NoticeKind.COACH_ACCEPTED)]
    return {kind for kind in kinds if await school.reminders.notice(kind, homework.id) is not None}


async def test_reminders_come_a_day_before_and_when_it_is_due(school: School) -> None:
    kept = await school.given(due="Friday 18:00")
    due = datetime(2026, 3, 6, 18, tzinfo=UTC)
    waiting = await school.waiting()
    assert waiting["due-soon"] == (kept.id, due - timedelta(days=1))
    assert waiting["due-now"] == (kept.id, due)


async def test_what_is_due_within_a_day_has_no_reminder_of_the_day_before(school: School) -> None:
    kept = await school.given(due="in 20 hours")
    waiting = await school.waiting()
    assert "due-soon" not in waiting
    assert waiting["due-now"] == (kept.id, MONDAY + timedelta(hours=20))


async def test_reminders_wait_for_the_end_of_the_students_quiet_hours(school: School) -> None:
    await school.bench.book.set_member(WREN.owner, MemberSettings(zone="Europe/Berlin"))
    await school.given(due="2026-03-29 22:30")  # 00:30 in Berlin, where the clocks are set on that Sunday
    waiting = await school.waiting()
    assert waiting["due-soon"][1] == datetime(2026, 3, 29, 6, tzinfo=UTC), "8:00, in summer time by then"
    assert waiting["due-now"][1] == datetime(2026, 3, 30, 6, tzinfo=UTC)


async def test_reminders_that_wait_are_moved_with_the_quiet_hours(school: School) -> None:
    await school.given(due="Friday 23:00")
    assert (await school.waiting())["due-now"][1] == datetime(2026, 3, 7, 8, tzinfo=UTC)
    chosen = await school.reminders.set_reminders(WREN, "europe/berlin", "1 am to 6:30", 1)
    assert chosen == MemberSettings(zone="Europe/Berlin", quiet=Quiet(time(1), time(6, 30)))
    assert (await school.waiting())["due-now"][1] == datetime(2026, 3, 6, 23, tzinfo=UTC)
    chosen = await school.reminders.set_reminders(WREN, None, "off", 2)
    assert isinstance(chosen, MemberSettings)
    assert chosen.zone == "Europe/Berlin", "what is not named stays"
    assert chosen.quiet == Quiet(time(0), time(0))


@pytest.mark.parametrize(
    ("zone", "quiet", "code"),
    [
        ("Berlin time", "off", CoachRefusalCode.BAD_ZONE),
        ("Europe/Berlin", "at night", CoachRefusalCode.BAD_QUIET),
        ("Europe/Berlin", "22-25", CoachRefusalCode.BAD_QUIET),
        ("Europe/Berlin", "22:00", CoachRefusalCode.BAD_QUIET),
    ],
)
async def test_what_is_not_understood_changes_nothing(
    school: School, zone: str, quiet: str, code: CoachRefusalCode
) -> None:
    refused = await school.reminders.set_reminders(WREN, zone, quiet, 1)
    assert isinstance(refused, CoachRefusal)
    assert refused.code is code
    assert school.bench.book.member(WREN.owner) == MemberSettings()


async def test_a_zone_that_is_not_known_is_answered_with_those_near_it(school: School) -> None:
    refused = await school.reminders.set_reminders(WREN, "Berlim", None, 1)
    assert isinstance(refused, CoachRefusal)
    assert "Europe/Berlin" in str(refused.facts["near"])


async def test_handing_in_ends_reminders_and_sending_back_begins_them_again(school: School) -> None:
    kept = await school.given()
    await school.handed_in(kept)
    assert not {"due-soon", "due-now"} & (await school.waiting()).keys()
    assert (await school.waiting())["handed-in"] == (kept.id, MONDAY)
    await school.reviews.review(COACH, kept.id, Step.SEND_BACK, "slower", school.event())
    assert {"due-soon", "due-now", "returned"} <= (await school.waiting()).keys()
    await school.reviews.review(COACH, kept.id, Step.ACCEPT, "", school.event())
    assert not {"due-soon", "due-now"} & (await school.waiting()).keys()
    assert (await school.waiting())["accepted"] == (kept.id, MONDAY)


async def test_what_is_told_follows_where_the_homework_lies(school: School) -> None:
    kept = await school.given(what=ROUTE)
    still = {NoticeKind.EASIER_ANSWERED}  # it is only ever added where the coach answered
    assert await told(school, kept) == {NoticeKind.HOMEWORK_SET, *DUE} | still
    await school.homework.ask_easier(WREN, kept.id, "5MP, 2MP", school.event())
    assert await told(school, kept) == {NoticeKind.HOMEWORK_SET, NoticeKind.ASKED_EASIER, *DUE}
    await school.reviews.answer_easier(COACH, kept.id, False, school.event())
    assert NoticeKind.ASKED_EASIER not in await told(school, kept)
    await school.handed_in(kept)
    assert await told(school, kept) == {NoticeKind.HANDED_IN}
    await school.reviews.review(COACH, kept.id, Step.SEND_BACK, "slower", school.event())
    assert await told(school, kept) == {NoticeKind.RETURNED, *DUE} | still
    await school.reviews.review(COACH, kept.id, Step.ACCEPT, "", school.event())
    assert await told(school, kept) == {NoticeKind.ACCEPTED}


async def test_who_has_done_it_is_not_reminded(school: School) -> None:
    kept = await school.given(amount=7)
    await school.bench.log(Tally(link("5MP, 2MP"), MONDAY, 10, 7), WREN.owner)
    assert DUE.isdisjoint(await told(school, kept))


async def test_each_notice_goes_to_whom_it_is_for(school: School) -> None:
    kept = await school.given()
    notice = await school.reminders.notice(NoticeKind.DUE_SOON, kept.id)
    assert isinstance(notice, CoachNotice)
    assert notice.view is not None
    assert (notice.to, notice.view.homework) == (WREN.owner, kept)
    await school.handed_in(kept)
    notice = await school.reminders.notice(NoticeKind.HANDED_IN, kept.id)
    assert isinstance(notice, CoachNotice)
    assert notice.to == COACH.owner


async def test_asking_is_told_until_it_is_answered(school: School) -> None:
    asked = await school.coaching.ask(replace(COACH, member_id=905), WREN.member_id, school.event())
    assert isinstance(asked, Coaching)
    asks, accepted = NoticeKind.COACH_ASKS, NoticeKind.COACH_ACCEPTED
    assert await school.reminders.notice(asks, asked.id) == CoachNotice(asks, WREN.owner, asked)
    assert await school.reminders.notice(accepted, asked.id) is None
    yes = await school.coaching.answer(WREN, asked.id, True, school.event())
    assert isinstance(yes, Coaching)
    assert await school.reminders.notice(asks, asked.id) is None
    assert await school.reminders.notice(accepted, asked.id) == CoachNotice(accepted, asked.coach, yes)


async def test_nothing_is_told_of_what_is_over_gone_or_of_drills(school: School) -> None:
    kept = await school.given()
    (coaching,) = await school.coaching.mine(WREN)
    assert await school.reminders.notice(NoticeKind.SEEN, kept.id) is None
    assert await school.reminders.notice(NoticeKind.DUE_SOON, 999) is None
    assert await school.reminders.notice(NoticeKind.COACH_ASKS, 999) is None
    await school.coaching.end(COACH, coaching.id, school.event())
    assert await told(school, kept) == set()


async def test_who_is_muted_is_told_nothing_and_the_others_still_are(school: School) -> None:
    kept = await school.given()
    assert (await school.reminders.mute(WREN, True, 1)).muted
    assert await told(school, kept) == set()
    await school.handed_in(kept)
    assert await told(school, kept) == {NoticeKind.HANDED_IN}, "that is the coach's"
    assert not (await school.reminders.mute(WREN, False, 2)).muted


async def test_a_wish_that_is_delivered_twice_is_one(school: School) -> None:
    await school.reminders.mute(WREN, True, 1)
    await school.reminders.mute(WREN, False, 2)
    assert not (await school.reminders.mute(WREN, True, 1)).muted
