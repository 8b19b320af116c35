"""Group drills are scored from the rows of the log: examples worked out by hand."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from grouped import DAY, MONDAY, OTHER_WHAT, WHAT, Group, group_at, member, order, part

from bot.results.log import Logged
from bot.services.log import Entry
from core.drills.drill import Scoring
from core.learning.rates import Rate, TooFew


@pytest.fixture
async def group(tmp_path: Path) -> AsyncIterator[Group]:
    async with group_at(tmp_path) as group:
        yield group


async def listed(group: Group, *member_ids: int) -> None:
    """These agree to be named."""
    for member_id in member_ids:
        part(await group.part.list_me(member(member_id), 0, True, group.event()))


async def elsewhere(group: Group, member_id: int, result: str, what: str = WHAT, when: str = "") -> int:
    """A tally that is logged with the command of the log, not on the drill."""
    entry = Entry(what, result, when=when)
    logged = await group.log.log(member(member_id), entry, group.event())
    assert isinstance(logged, Logged), logged
    return logged.kept.id


async def test_the_best_tally_is_the_best_share_of_one_with_enough_tries(group: Group) -> None:
    drill = await group.open(Scoring.BEST_TALLY, at_least=10)
    await listed(group, 1, 2, 3)
    for member_id, result in ((1, "8/10"), (1, "5/5"), (2, "16/20"), (3, "9/10"), (3, "1/10")):
        await group.tally(member_id, result)
    board = await group.board(drill)
    # 5 of 5 has too few tries; 16 of 20 and 8 of 10 are one share, and more landed in the first.
    assert order(board) == [(1, 3), (2, 2), (3, 1)]
    scores = [row.entry.score for row in board.standings.rows]
    assert [(score.landed, score.tries) for score in scores if score] == [(9, 10), (16, 20), (8, 10)]


async def test_clean_reps_count_each_day_up_to_the_cap(group: Group) -> None:
    drill = await group.open(Scoring.TOTAL_CLEAN, daily_cap=30)
    await listed(group, 1, 2)
    await group.tally(1, "25/30")
    await group.tally(1, "20/20")  # 30 of these 45 count
    await group.tally(2, "20/25")
    await group.go(DAY)
    await group.tally(2, "15/15")
    board = await group.board(drill)
    assert [(row.place, row.entry.member, row.entry.score and row.entry.score.points) for row in
            board.standings.rows] == [(1, 2, 35), (2, 1, 30)]  # fmt: skip
    mine = part(await group.part.mine(member(2), drill.id))
    assert (mine.today, mine.tallies, mine.row and mine.row.place) == (15, 2, 1)


async def test_the_longest_run_is_the_one_that_was_given_or_what_the_counts_make_certain(
    group: Group,
) -> None:
    drill = await group.open(Scoring.LONGEST_RUN)
    await listed(group, 1, 2, 3)
    await group.tally(1, "15/20", run="9")
    await group.tally(2, "15/20")  # five drops: six runs of at least three at the longest
    await group.tally(3, "6/6")
    await group.tally(3, "5/5")  # landed all, next to each other: eleven in a row
    board = await group.board(drill)
    assert [(row.entry.member, row.entry.score and row.entry.score.points) for row in
            board.standings.rows] == [(3, 11), (1, 9), (2, 3)]  # fmt: skip


async def test_improvement_is_measured_against_the_log_from_before(group: Group) -> None:
    await elsewhere(group, 1, "5/20")
    await elsewhere(group, 2, "18/20")
    await elsewhere(group, 3, "1/4")
    await group.go(timedelta(hours=1))
    drill = await group.open(Scoring.MOST_IMPROVED)
    await listed(group, 1, 2, 3)
    for member_id, result in ((1, "16/20"), (2, "19/20"), (3, "12/20")):
        await group.tally(member_id, result)
    await elsewhere(group, 2, "0/50", when="yesterday 12:00")  # said of the past only now: changes no rate
    found = {row.entry.member: row.entry for row in (await group.board(drill)).standings.rows}
    assert isinstance(found[1].earlier, Rate)
    assert (found[1].earlier.landed, found[1].earlier.tries) == (5, 20)
    assert isinstance(found[2].earlier, Rate)
    assert (found[2].earlier.landed, found[2].earlier.tries) == (
        18,
        20,
    )
    assert found[3].earlier == TooFew(1, 4)
    assert found[1].gain is not None
    assert found[1].gain.value == pytest.approx(0.55)
    assert order(await group.board(drill)) == [(1, 1), (2, 2), (1, 3)]  # the last is new: places of their own


async def test_what_is_logged_with_the_log_counts_too_and_what_is_of_another_link_does_not(
    group: Group,
) -> None:
    drill = await group.open()
    part(await group.part.join(member(1), drill.id, group.event()))
    await elsewhere(group, 1, "7/10")
    await elsewhere(group, 1, "9/10", what=OTHER_WHAT)
    await elsewhere(group, 1, "9/10", when="yesterday 12:00")  # from before it opened
    await elsewhere(group, 2, "9/10")  # does not take part
    mine = part(await group.part.mine(member(1), drill.id))
    assert (mine.tallies, mine.row and mine.row.entry.landed) == (1, 7)
    assert (await group.board(drill)).members == 1


async def test_a_tally_that_is_changed_or_taken_out_changes_the_standings(group: Group) -> None:
    drill = await group.open(Scoring.LONGEST_RUN)
    await listed(group, 1)
    tally_id = await group.tally(1, "10/20", run="8")
    changed = await group.log.change(member(1), tally_id, Entry(WHAT, "6/20"), group.event())
    assert changed
    (row,) = (await group.board(drill)).standings.rows
    assert row.entry.score is not None
    assert row.entry.score.points == 1  # a run of 8 of 6 cannot be
    await group.log.undo(member(1), tally_id, group.event())
    assert (await group.board(drill)).standings.rows == ()
    await group.log.put_back(member(1), tally_id, group.event())
    assert len((await group.board(drill)).standings.rows) == 1


async def test_what_is_logged_after_the_end_changes_no_recap(group: Group) -> None:
    drill = await group.open(days=1)
    await group.tally(1, "7/10")
    await group.go(timedelta(days=1, hours=1))
    (end,) = group.ends
    await elsewhere(group, 1, "9/9", when="2 hours ago")  # made in time, and logged too late
    again = await group.boards.closing(drill.id, timedelta(0))
    assert again == replace(end, late=False)
    assert (end.recap.landed, end.recap.tries, end.recap.members) == (7, 10, 1)


async def test_the_recap_names_firsts_and_the_most_improved_of_the_listed_alone(group: Group) -> None:
    await elsewhere(group, 1, "4/20")
    await elsewhere(group, 2, "2/20")
    await group.go(timedelta(hours=1))
    await group.open(Scoring.TOTAL_CLEAN, days=2)
    await listed(group, 1, 3)
    for member_id, result in ((1, "18/20"), (2, "19/20"), (3, "10/20"), (4, "20/20")):
        await group.tally(member_id, result)
    await group.go(timedelta(days=3))
    (end,) = group.ends
    assert [row.entry.member for row in end.recap.winners] == [1]
    assert [entry.member for entry in end.recap.most_improved] == [1]
    assert end.recap.first_timers == (3,)
    assert {won.member for won in end.recap.wins} <= {1, 3}
    assert (end.recap.members, end.recap.unlisted, end.recap.landed, end.recap.tries) == (4, 2, 67, 80)


async def test_days_are_those_of_the_server(group: Group) -> None:
    await group.bench.book.set_zone(member(900), "Asia/Tokyo")
    group.bench.clock.time = MONDAY.replace(hour=14, minute=30)  # 23:30 there
    drill = await group.open(Scoring.TOTAL_CLEAN, daily_cap=10)
    await group.tally(1, "10/10")
    await group.go(timedelta(hours=1))
    await group.tally(1, "10/10")
    mine = part(await group.part.mine(member(1), drill.id))
    assert mine.row is not None
    assert mine.row.entry.score is not None
    assert (mine.row.entry.score.points, mine.today) == (20, 10)
