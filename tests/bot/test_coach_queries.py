"""What coaching and homework ask of the database is served by indexes, however much others log."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from coached import CLEAN, COACH, MONDAY, PELL, ROUTE, WREN, School, school_at
from explained import scans, statements_of
from inline import link

from bot.results.notice import NoticeKind
from bot.results.place import Place
from bot.results.tally import Tally
from bot.services.log import Entry
from core.learning.homework import Step

AGAIN = replace(CLEAN, amount=5)


async def use_all(school: School) -> None:
    """Everything that coaches and students do, once."""
    coached, pell = await school.coached(), await school.coached(PELL)
    direct = Place(2, 7, WREN.member_id, direct=True)
    homework = await school.given(what=ROUTE)
    await school.homework.set(COACH, [PELL.member_id], AGAIN, 7)
    await school.homework.set(COACH, [PELL.member_id], AGAIN, 7)
    await school.homework.same_for(COACH, homework.id, [pell.id], school.event())
    await school.log.log(WREN, Entry(ROUTE, "7/10"), school.event())
    await school.homework.ask_easier(WREN, homework.id, "5MP, 2MP", school.event())
    await school.reviews.answer_easier(COACH, homework.id, True, school.event())
    await school.homework.log(WREN, homework.id, "7/10", "", school.event())
    await school.handed_in(homework, "https://clips.example/a")
    for place in (COACH, replace(direct, member_id=COACH.member_id)):
        await school.reviews.queue(place)
    await school.reviews.comment(COACH, homework.id, "0:42", "late", school.event())
    await school.reviews.review(COACH, homework.id, Step.SEND_BACK, "slower", school.event())
    await school.boards.board(COACH)
    await school.boards.note(COACH, coached.id, "rushes", school.event())
    await school.boards.stuck(COACH)
    for place in (WREN, direct):
        await school.homework.mine(place)
        await school.coaching.mine(place)
    await school.coaching.students(COACH)
    await school.reminders.set_reminders(WREN, "Europe/Berlin", "22-8", school.event())
    for kind in NoticeKind:
        await school.reminders.notice(kind, homework.id)
    for place in (WREN, COACH):
        await school.privacy.export(place)
    await school.coaching.end(COACH, pell.id, school.event())
    for place in (WREN, COACH):
        await school.privacy.erase(place)


async def test_every_query_of_coaching_is_served_by_an_index(tmp_path: Path) -> None:
    async with school_at(tmp_path) as school:
        store = school.bench.store
        for number in range(40):
            who = replace(WREN, member_id=number % 9 + 100)
            await school.bench.log(Tally(link("5MP, 2MP"), MONDAY, 10, 7), who.owner)
        asked = statements_of(store)
        await use_all(school)
    assert len(asked) > 25
    assert scans(store, asked) == {}
