"""Group drills as coaches and members use them: what is refused, what is told, and nothing done twice."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from datetime import timedelta
from pathlib import Path

import pytest
from grouped import (
    CHANNEL,
    COACH,
    DAY,
    HOUR,
    MONDAY,
    OTHER_WHAT,
    WHAT,
    Group,
    group_at,
    in_log,
    live,
    member,
    part,
    plan,
    refusal,
    the_open_one,
    weekly,
)
from inline import link

from bot.results.drills import (
    GOAL_CHARACTERS,
    DrillAsked,
    DrillBoard,
    DrillEntry,
    DrillList,
    DrillStage,
    Exercise,
    KeptDrill,
    Series,
    Suggested,
)
from bot.results.log import Logged, LogRefusal
from bot.results.tally import Tally
from bot.services.drill_desk import MOST_DAYS, MOST_LISTED, MOST_OPEN
from core.drills.drill import Scoring
from core.learning.tally import Context

CLEAN = DrillAsked(WHAT, Scoring.TOTAL_CLEAN)


@pytest.fixture
async def group(tmp_path: Path) -> AsyncIterator[Group]:
    async with group_at(tmp_path) as group:
        yield group


async def test_a_drill_is_open_once_its_job_was_done(group: Group) -> None:
    asked = DrillAsked(WHAT, Scoring.BEST_TALLY, "  eight \n of ten ", "crouch", at_least=20)
    drill = await group.desk.open(COACH, asked, CHANNEL, 3, group.event())
    assert isinstance(drill, KeptDrill)
    assert (drill.stage, drill.opens_at, drill.closes_at) == (DrillStage.PLANNED, MONDAY, MONDAY + 3 * DAY)
    assert (drill.plan.goal, drill.plan.dummy, drill.plan.at_least) == ("eight of ten", "crouch", 20)
    assert (drill.plan.subject, drill.channel_id, drill.weekly) == (link("5MP, 2MP"), CHANNEL, False)
    assert await live(group) == []
    board = await group.boards.opening(drill.id)
    assert isinstance(board, DrillBoard)
    assert (await group.boards.open_drills(), await the_open_one(group)) == ((drill.id,), board.drill)


@pytest.mark.parametrize(
    ("what", "kind"), [(WHAT, "link"), ("Odrun: 5MP, 2MP xx 236LP", "route"), ("drill: block ten", "drill")]
)
async def test_a_link_a_route_and_a_task_in_words_can_be_drilled(group: Group, what: str, kind: str) -> None:
    drill = await group.open(what=what)
    await group.tally(1, "7/10")
    board = await group.board(drill)
    assert (drill.plan.subject.kind.value, board.standings.unlisted[0].landed) == (kind, 7)
    assert await group.part.subject_number(member(1), drill.id) == 1
    again = await group.part.typed(member(1), 0)
    assert isinstance(again, str)
    assert isinstance(await group.desk.add(COACH, DrillAsked(again, drill.plan.scoring), 1), Exercise)


@pytest.mark.parametrize(
    ("asked", "days", "code"),
    [
        (CLEAN, 0, "bad-days"),
        (CLEAN, MOST_DAYS + 1, "bad-days"),
        (DrillAsked(WHAT, Scoring.BEST_TALLY, at_least=0), 7, "bad-number"),
        (DrillAsked(WHAT, Scoring.TOTAL_CLEAN, daily_cap=10_000), 7, "bad-number"),
        (DrillAsked(WHAT, Scoring.TOTAL_CLEAN, goal="x" * (GOAL_CHARACTERS + 1)), 7, "drill-too-long"),
        (DrillAsked("  ", Scoring.TOTAL_CLEAN), 7, "not-drillable"),
    ],
)
async def test_what_cannot_be_is_refused_and_nothing_is_stored(
    group: Group, asked: DrillAsked, days: int, code: str
) -> None:
    assert refusal(await group.desk.open(COACH, asked, CHANNEL, days, group.event())) == code
    assert await group.jobs.next_due() is None


async def test_moves_that_are_none_are_refused_as_in_the_log(group: Group) -> None:
    refused = await group.desk.open(COACH, DrillAsked("5XX, 2MP", CLEAN.scoring), CHANNEL, 7, 1)
    assert isinstance(refused, LogRefusal)


async def test_so_many_drills_are_open_at_most(group: Group) -> None:
    for number in range(MOST_OPEN):
        await group.open(what=f"drill: task {number}")
    assert refusal(await group.desk.open(COACH, CLEAN, CHANNEL, 7, group.event())) == "too-many-open"
    assert len(await live(group)) == MOST_OPEN
    await plan(group, WHAT)
    assert refusal(await group.desk.start_weekly(COACH, CHANNEL, 1, "18:00", 1)) == "too-many-open"


async def test_the_list_is_kept_in_the_order_in_which_it_is_used(group: Group) -> None:
    await plan(group, WHAT, OTHER_WHAT, "drill: block ten")
    assert refusal(await group.desk.add(COACH, CLEAN, group.event())) == "listed-already"
    assert await group.desk.complete_listed(COACH, "mir") == ("Mirrel Quay: 5MP, 2MP",)
    used = []
    await weekly(group)
    for _ in range(5):
        used.append((await the_open_one(group)).plan.subject)
        await group.go(7 * DAY)
    assert used[:3] != used[1:4]
    assert used[:2] == used[3:]
    listed = await group.desk.listed(COACH)
    assert isinstance(listed, DrillList)
    moments = [one.used_at for one in listed.exercises if one.used_at]
    assert moments == sorted(moments)
    assert isinstance(listed.series, Series)


async def test_a_list_has_an_end(group: Group) -> None:
    await plan(group, *(f"drill: task {number}" for number in range(MOST_LISTED)))
    assert refusal(await group.desk.add(COACH, CLEAN, group.event())) == "list-full"
    assert refusal(await group.desk.remove(COACH, WHAT, group.event())) == "no-such-exercise"


async def test_two_of_one_name_are_told_apart_by_whose_they_are(group: Group) -> None:
    await plan(group, WHAT, OTHER_WHAT)
    assert refusal(await group.desk.remove(COACH, "5MP, 2MP", group.event())) == "no-such-exercise"
    gone = await group.desk.remove(COACH, "Mirrel: 5MP, 2MP", group.event())
    assert isinstance(gone, Exercise)
    assert gone.plan.subject.character == "Mirrel Quay"
    assert isinstance(await group.desk.remove(COACH, "5mp, 2mp", group.event()), Exercise)


async def test_a_series_needs_a_list_a_day_and_an_hour(group: Group) -> None:
    assert refusal(await group.desk.start_weekly(COACH, CHANNEL, 1, "18:00", 1)) == "list-empty"
    await plan(group, WHAT)
    assert refusal(await group.desk.start_weekly(COACH, CHANNEL, 1, "noonish", 2)) == "no-drill-time"
    assert refusal(await group.desk.start_weekly(COACH, CHANNEL, 8, "18:00", 3)) == "no-weekday"
    assert refusal(await group.desk.stop_weekly(COACH, 4)) == "no-series"
    listed = await group.desk.listed(COACH)
    assert isinstance(listed, DrillList)
    assert listed.series is None


@pytest.mark.parametrize(("weekday", "days"), [(1, 7), (2, 8), (3, 2), (7, 6)])
async def test_the_first_drill_of_a_series_has_two_days_or_more(
    group: Group, weekday: int, days: int
) -> None:
    await plan(group, WHAT)
    drill = await weekly(group, weekday)
    assert drill.closes_at - MONDAY == timedelta(days=days)


async def test_a_series_that_is_stopped_opens_nothing_that_was_planned(group: Group) -> None:
    await plan(group, WHAT, OTHER_WHAT)
    drill = await weekly(group)
    await group.desk.cancel(COACH, drill.id, group.event())
    listed = await group.desk.listed(COACH)
    assert isinstance(listed, DrillList)
    assert [one.opens_at for one in listed.planned] == [MONDAY + 7 * DAY]
    assert isinstance(await group.desk.stop_weekly(COACH, group.event()), Series)
    await group.go(15 * DAY)
    assert (await live(group), group.ends) == ([], [])


async def test_a_planned_drill_of_a_series_moves_with_it(group: Group) -> None:
    await plan(group, WHAT, OTHER_WHAT)
    await group.desk.cancel(COACH, (await weekly(group)).id, group.event())
    planned = await weekly(group, 4, "20:00", CHANNEL + 1)
    opens_at = MONDAY + 3 * DAY + 2 * HOUR
    assert (planned.opens_at, planned.closes_at) == (opens_at, opens_at + 7 * DAY)
    assert planned.channel_id == CHANNEL + 1
    await group.go(3 * DAY + 2 * HOUR)
    assert (await the_open_one(group)).id == planned.id


async def test_a_drill_that_was_moved_is_not_closed_at_its_old_end(group: Group) -> None:
    drill = await group.open(days=1)
    await group.desk.move(COACH, drill.id, "in 3 days", group.event())
    group.bench.clock.time = drill.closes_at  # its job was taken just before
    assert await group.boards.closing(drill.id, timedelta(0)) is None
    assert (await the_open_one(group)).id == drill.id


async def test_each_step_taken_again_gives_the_same(group: Group) -> None:
    await plan(group, WHAT, OTHER_WHAT)
    drill = await weekly(group)
    await group.tally(1, "7/10")
    assert await group.boards.opening(drill.id) == await group.board(drill)
    group.bench.clock.time = drill.closes_at
    ends = [await group.boards.closing(drill.id, timedelta(0)) for _ in range(2)]
    assert ends[0] is not None
    assert ends[0].next is not None
    assert ends[0] == ends[1]
    assert await group.boards.opening(drill.id) is None
    await group.run()
    assert (await the_open_one(group)).id == ends[0].next.id


async def test_a_drill_whose_whole_time_the_bot_was_away_is_called_off_and_its_coach_told(
    group: Group,
) -> None:
    drill = await group.desk.open(COACH, CLEAN, CHANNEL, 2, group.event())
    assert isinstance(drill, KeptDrill)
    group.bench.clock.time += 3 * DAY
    await group.run()
    assert (group.ends, group.told) == ([], [("drill-lost", drill.id)])
    assert (await group.board(drill)).drill.stage is DrillStage.CANCELLED


async def test_a_day_is_as_long_as_the_clocks_make_it(group: Group) -> None:
    await group.bench.book.set_zone(COACH, "Europe/Berlin")
    drill = await group.open(days=28)  # over the night in which the clocks are set on
    assert drill.closes_at == MONDAY + timedelta(days=28) - HOUR


async def test_nothing_here_is_for_direct_messages_or_another_server(group: Group) -> None:
    drill = await group.open()
    nobody, elsewhere = member(1, 0), member(1, 2)
    assert refusal(await group.desk.open(nobody, CLEAN, CHANNEL, 7, 1)) == "no-server"
    assert refusal(await group.desk.listed(nobody)) == "no-server"
    assert refusal(await group.part.mine(nobody, 0)) == "no-server"
    assert refusal(await group.part.mine(elsewhere, 0)) == "none-open"
    tally_id = await group.tally(1, "7/10")
    for asked in (
        group.part.join(elsewhere, drill.id, 2),
        group.part.log(elsewhere, drill.id, DrillEntry("7/10"), 3),
        group.desk.cancel(elsewhere, drill.id, 4),
        group.desk.move(elsewhere, drill.id, "tomorrow", 5),
        group.judging.results(elsewhere, drill.id),
    ):
        assert refusal(await asked) == "no-such-drill"
    assert refusal(await group.judging.strike(elsewhere, tally_id, "no", 6)) == "no-such-tally"


@pytest.mark.parametrize(
    ("result", "run", "code"),
    [("7/10", "eight", "no-run"), ("7/10", "8", "run-range"), ("9/10", "4", "run-range")],
)
async def test_a_run_that_cannot_be_is_refused_and_no_tally_is_stored(
    group: Group, result: str, run: str, code: str
) -> None:
    drill = await group.open(Scoring.LONGEST_RUN)
    done = await group.part.log(member(1), drill.id, DrillEntry(result, run), group.event())
    assert refusal(done) == code
    assert await in_log(group, 1) == []
    assert not part(await group.part.mine(member(1), drill.id)).joined


async def test_a_result_that_is_none_is_refused_as_in_the_log(group: Group) -> None:
    await group.open()
    done = await group.part.log(member(1), 0, DrillEntry("many", "3"), group.event())
    assert isinstance(done, LogRefusal)
    assert (await group.part.mine(member(1), 0)) == part(await group.part.mine(member(2), 0))


async def test_a_drill_is_logged_as_training_whatever_was_logged_last(group: Group) -> None:
    await group.bench.log(Tally(link("5MP, 2MP"), MONDAY, 5, 5, context=Context.RANKED), member(1).owner)
    await group.open()
    done = await group.part.log(member(1), 0, DrillEntry("7/10", note=" cold \n hands "), group.event())
    assert isinstance(done, tuple)
    assert (done[0].kept.tally.context, done[0].kept.tally.note) == (Context.TRAINING, "cold hands")


async def test_an_event_that_comes_twice_has_one_effect_and_one_answer(group: Group) -> None:
    await plan(group, "drill: block ten")
    drills = [await group.desk.open(COACH, CLEAN, CHANNEL, 7, 1) for _ in range(2)]
    series = [await group.desk.start_weekly(COACH, CHANNEL, 1, "18:00", 2) for _ in range(2)]
    await group.run()
    assert drills[0] == drills[1]
    assert [one[0] for one in series if isinstance(one, tuple)] == [Series(1, CHANNEL, 1, MONDAY.time())] * 2
    assert len(await live(group)) == 2
    (drill, _) = drills
    assert isinstance(drill, KeptDrill)
    logs = [await group.part.log(member(1), drill.id, DrillEntry("7/10"), 3) for _ in range(2)]
    (first, then) = (one[0] for one in logs if isinstance(one, tuple))
    assert (first.again, then.again, first.kept) == (False, True, then.kept)
    assert len(await in_log(group, 1)) == 1
    left = [part(await group.part.leave(member(1), drill.id, 4)) for _ in range(2)]
    back = [part(await group.part.join(member(1), drill.id, 5)) for _ in range(2)]
    again = part(await group.part.leave(member(1), drill.id, 4))  # late, and known
    assert ([one.joined for one in left], [one.joined for one in back]) == ([False] * 2, [True] * 2)
    assert again.joined
    moved = [await group.desk.move(COACH, drill.id, "in 2 days", 6) for _ in range(2)]
    assert moved[0] == moved[1]
    cancelled = [await group.desk.cancel(COACH, drill.id, 7) for _ in range(2)]
    assert cancelled[0] == cancelled[1]


async def test_an_event_of_the_log_that_comes_after_the_end_is_still_known(group: Group) -> None:
    drill = await group.open(days=1)
    await group.tally(1, "7/10", event_id=3)
    await group.go(2 * DAY)
    done = await group.part.log(member(1), drill.id, DrillEntry("7/10"), 3)
    assert isinstance(done, tuple)
    assert done[0].again


async def test_what_most_drop_is_suggested_unless_it_was_drilled_lately(group: Group) -> None:
    whats = {"5MP, 2MP": (4, 4, 9), "2MP, 5MP": (9, 2, 3)}
    for what, rates in whats.items():
        for number, landed in enumerate(rates):
            tally = Tally(link(what), MONDAY, 10, landed)
            await group.bench.log(tally, member(number + 1).owner)
    await group.bench.log(
        Tally(link("5MP, 5MP"), MONDAY, 10, 0), member(1).owner
    )  # one alone is not shown up
    found = await group.desk.suggest(COACH)
    assert isinstance(found, Suggested)
    assert [(subject.what, one.below, one.members, one.landed) for subject, one in found.found] == [
        ("2MP, 5MP", 2, 3, 5),
        ("5MP, 2MP", 2, 3, 8),
    ]
    await group.open()
    found = await group.desk.suggest(COACH)
    assert isinstance(found, Suggested)
    assert [subject.what for subject, _ in found.found] == ["2MP, 5MP"]


async def test_two_hundred_who_log_at_once_are_all_counted(group: Group) -> None:
    drill = await group.open(daily_cap=50)
    members = range(1, 201)
    await asyncio.gather(*(group.tally(each, f"{each % 10 + 1}/10") for each in members))
    board = await group.board(drill)
    assert board.members == 200
    assert {one.member: one.landed for one in board.standings.unlisted} == {
        each: each % 10 + 1 for each in members
    }
    assert set(group.touched) == {drill.id}


async def test_whoever_takes_part_can_read_it_in_their_export(group: Group) -> None:
    drill = await group.open(Scoring.LONGEST_RUN)
    tally_id = await group.tally(1, "7/10", run="5")
    await group.judging.strike(COACH, tally_id, "no", group.event())
    (joined,) = (await group.privacy.export(member(1))).drills
    assert (joined.id, joined.subject, joined.left) == (drill.id, drill.plan.subject, False)
    assert [(note.tally_id, note.run, note.seen, note.reason) for note in joined.notes] == [
        (tally_id, 5, False, "no")
    ]


async def test_posts_are_refreshed_for_what_changes_an_open_drill_alone(group: Group) -> None:
    drill = await group.open()
    group.touched.clear()
    tally = Tally(link("5MP, 2MP", "Mirrel Quay"), MONDAY, 10, 7)
    group.watch.changed(member(1).owner, tally.subject)
    group.watch.changed(member(1, 2).owner, drill.plan.subject)
    assert group.touched == []
    group.watch.changed(member(1).owner, drill.plan.subject)
    assert group.touched == [drill.id]
    await group.go(8 * DAY)
    group.touched.clear()
    group.watch.changed(member(1).owner, drill.plan.subject)
    assert group.touched == []


async def test_the_post_of_an_open_drill_is_refreshed_when_its_game_changes(group: Group) -> None:
    drill = await group.open()
    group.touched.clear()
    group.watch.game_changed(drill.server_id + 1, "Saltglass")
    group.watch.game_changed(drill.server_id, "Kitewind")
    assert group.touched == []
    group.watch.game_changed(drill.server_id, "Saltglass")
    assert group.touched == [drill.id]


async def test_an_open_drill_is_known_after_a_restart(group: Group) -> None:
    drill = await group.open()
    group.watch.closed(drill)
    await group.watch.load()
    group.touched.clear()
    assert isinstance(await group.log.again(member(1), await group.tally(1, "7/10"), True, 9), Logged)
    assert group.touched[-1] == drill.id
