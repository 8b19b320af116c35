"""What coaches say of the tallies of group drills, and what the members are told of it."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from grouped import COACH, DAY, MONDAY, Group, group_at, member, part, refusal
from inline import link

from bot.results.drills import REASON_CHARACTERS, DrillResult, DrillResults
from bot.results.tally import Tally
from bot.services.drill_judging import PAGE
from core.drills.drill import Scoring


@pytest.fixture
async def group(tmp_path: Path) -> AsyncIterator[Group]:
    async with group_at(tmp_path) as group:
        yield group


async def test_a_tally_is_seen_once_and_the_member_is_told(group: Group) -> None:
    await group.open()
    tally_id = await group.tally(1, "7/10")
    for coach in (COACH, member(901)):
        seen = await group.judging.see(coach, tally_id, group.event())
        assert isinstance(seen, DrillResult)
        assert (seen.member_id, seen.seen, seen.reason) == (1, True, None)
        await group.run()
    assert group.told == [("seen", tally_id)]


async def test_a_struck_tally_counts_in_no_drill_until_it_is_taken_back(group: Group) -> None:
    drill = await group.open(Scoring.BEST_TALLY)
    tally_id = await group.tally(1, "9/10")
    await group.tally(1, "7/10")
    assert refusal(await group.judging.strike(COACH, tally_id, "  ", group.event())) == "no-reason"
    long = "x" * (REASON_CHARACTERS + 1)
    assert refusal(await group.judging.strike(COACH, tally_id, long, group.event())) == "drill-too-long"
    for _ in range(2):  # the same again tells nobody again
        await group.judging.strike(COACH, tally_id, "wrong \n dummy", group.event())
        await group.run()
    mine = part(await group.part.mine(member(1), drill.id))
    assert [(kept.id, reason) for kept, reason in mine.struck] == [(tally_id, "wrong dummy")]
    assert mine.row is not None
    assert (mine.row.entry.landed, mine.today, mine.tallies) == (7, 7, 2)
    back = await group.judging.unstrike(COACH, tally_id, group.event())
    assert isinstance(back, DrillResult)
    assert back.reason is None
    again = part(await group.part.mine(member(1), drill.id))
    assert (again.struck, again.row and again.row.entry.landed) == ((), 16)
    assert group.told == [("struck", tally_id)]
    assert await group.judging.verdict(tally_id) is None


async def test_a_strike_that_is_taken_back_at_night_is_never_told(group: Group) -> None:
    group.bench.clock.time = MONDAY.replace(hour=23)
    await group.open()
    tally_id = await group.tally(1, "9/10")
    await group.judging.strike(COACH, tally_id, "no", group.event())
    await group.judging.unstrike(COACH, tally_id, group.event())
    await group.go(DAY)
    assert group.told == []


async def test_nobody_judges_a_tally_of_their_own(group: Group) -> None:
    await group.open()
    tally_id = await group.tally(COACH.member_id, "9/10")
    assert refusal(await group.judging.see(COACH, tally_id, 1)) == "own-tally"
    assert refusal(await group.judging.strike(COACH, tally_id, "no", 2)) == "own-tally"
    assert isinstance(await group.judging.one(COACH, tally_id), DrillResult)


async def test_only_tallies_of_drills_are_judged(group: Group) -> None:
    kept = await group.bench.log(Tally(link("5MP, 2MP"), MONDAY, 5, 5), member(1).owner)
    await group.open()
    assert (
        refusal(await group.judging.see(COACH, kept.id, 1)) == "no-such-tally"
    )  # from before, and not in it
    assert refusal(await group.judging.see(COACH, 10_000, 2)) == "no-such-tally"


async def test_results_are_paged_the_newest_first(group: Group) -> None:
    drill = await group.open()
    made = [await group.tally(number % 3 + 1, "7/10") for number in range(PAGE + 3)]
    page = await group.judging.results(COACH, 0)
    assert isinstance(page, DrillResults)
    assert (page.drill.id, page.older, len(page.results)) == (drill.id, True, PAGE)
    rest = await group.judging.older(COACH, page.results[-1].kept.id)
    assert isinstance(rest, DrillResults)
    assert [one.kept.id for one in (*page.results, *rest.results)] == made[::-1]
    assert not rest.older
