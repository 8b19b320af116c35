"""The table of what happens to group drills is true: each of its rows that use cases show is driven."""

from __future__ import annotations

import tomllib
from collections.abc import Awaitable, Callable
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

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
    group_on,
    in_log,
    landed,
    live,
    member,
    part,
    plan,
    refusal,
    the_open_one,
    weekly,
)

from bot.results.drills import (
    DrillEntry,
    DrillResult,
    DrillStage,
    Exercise,
    KeptDrill,
    Series,
)
from bot.results.log import Logged, LogRefusal, Undone
from bot.services.log import Entry

EVENTS: list[dict[str, Any]] = tomllib.loads(
    (Path(__file__).parents[1] / "data" / "drill_events.toml").read_text("utf-8")
)["event"]
THURSDAY = 4
Drive = Callable[[Group], Awaitable[None]]
DRIVES: dict[str, Drive] = {}


def row(event: str) -> Callable[[Drive], Drive]:
    """Says which row of the table a function drives."""

    def take(drive: Drive) -> Drive:
        DRIVES[event] = drive
        return drive

    return take


def test_every_row_of_the_table_is_driven_once() -> None:
    events = [one["event"] for one in EVENTS]
    assert len(events) == len(set(events))
    assert {one["level"] for one in EVENTS} == {"service", "chat"}
    assert {one["event"] for one in EVENTS if one["level"] == "service"} == set(DRIVES)
    assert all(one["then"].endswith(".") and not one["event"].endswith(".") for one in EVENTS)


@pytest.mark.parametrize("event", [one["event"] for one in EVENTS if one["level"] == "service"])
async def test_what_the_table_says_follows(event: str, tmp_path: Path) -> None:
    async with group_at(tmp_path) as group:
        await DRIVES[event](group)


@row("A coach cancels a drill")
async def _(group: Group) -> None:
    drill = await group.open()
    tally_id = await group.tally(1, "7/10")
    cancelled = await group.desk.cancel(COACH, drill.id, group.event())
    assert cancelled == replace(drill, stage=DrillStage.CANCELLED)
    assert drill.id in group.touched
    await group.go(10 * DAY)
    assert group.ends == []
    assert await in_log(group, 1) == [tally_id]
    assert refusal(await group.part.join(member(2), drill.id, group.event())) == "not-open"
    assert (await group.board(drill)).drill.stage is DrillStage.CANCELLED


@row("A coach cancels the weekly drill")
async def _(group: Group) -> None:
    await plan(group, WHAT, OTHER_WHAT)
    drill = await weekly(group)
    await group.go(DAY)
    assert isinstance(await group.desk.cancel(COACH, drill.id, group.event()), KeptDrill)
    await group.go(6 * DAY)
    follows = await the_open_one(group)
    assert (follows.opens_at, follows.closes_at) == (MONDAY + 7 * DAY, MONDAY + 14 * DAY)
    assert follows.plan.subject.character == "Mirrel Quay"
    assert group.ends == []


@row("The end is moved to a later day")
async def _(group: Group) -> None:
    drill = await group.open(days=2)
    await group.tally(1, "7/10")
    moved = await group.desk.move(COACH, drill.id, "in 5 days", group.event())
    assert isinstance(moved, KeptDrill)
    assert moved.closes_at == datetime(2026, 3, 7, 23, 59, tzinfo=UTC)
    await group.go(4 * DAY)
    await group.tally(1, "8/10")
    assert group.ends == []
    await group.go(2 * DAY)
    (end,) = group.ends
    assert end.recap.landed == 15


@row("The end is moved to an earlier day")
async def _(group: Group) -> None:
    drill = await group.open(days=7)
    await group.tally(1, "7/10")
    moved = await group.desk.move(COACH, drill.id, "Tuesday 12:00", group.event())
    assert isinstance(moved, KeptDrill)
    assert moved.closes_at == MONDAY + 18 * HOUR
    await group.go(10 * DAY)
    (end,) = group.ends
    assert end.recap.landed == 7


@row("The end is moved into the past")
async def _(group: Group) -> None:
    drill = await group.open(days=7)
    for typed, code in (("yesterday", "in-past"), ("2026-03-02 18:00", "in-past"), ("soon", "no-drill-time")):
        assert refusal(await group.desk.move(COACH, drill.id, typed, group.event())) == code
    assert refusal(await group.desk.move(COACH, drill.id, "2027-01-01", group.event())) == "bad-days"
    assert (await the_open_one(group)).closes_at == drill.closes_at


@row("The series moves to another day, hour or channel")
async def _(group: Group) -> None:
    await plan(group, WHAT, OTHER_WHAT)
    first = await weekly(group)
    again = await weekly(group, THURSDAY, "20:30", channel=CHANNEL + 1)
    assert again.id == first.id
    assert again.channel_id == CHANNEL
    assert again.closes_at == datetime(2026, 3, 5, 20, 30, tzinfo=UTC)
    assert [drill.id for drill in await live(group)] == [first.id]
    await group.go(4 * DAY)
    follows = await the_open_one(group)
    assert (follows.channel_id, follows.closes_at) == (CHANNEL + 1, again.closes_at + 7 * DAY)
    assert len(group.ends) == 1


@row("The series is stopped")
async def _(group: Group) -> None:
    await plan(group, WHAT)
    await weekly(group)
    assert isinstance(await group.desk.stop_weekly(COACH, group.event()), Series)
    await group.go(14 * DAY)
    (end,) = group.ends
    assert end.next is None
    assert await live(group) == []


@row("The list is emptied")
async def _(group: Group) -> None:
    await plan(group, WHAT)
    await weekly(group)
    assert isinstance(await group.desk.remove(COACH, WHAT, group.event()), Exercise)
    await group.go(8 * DAY)  # Tuesday
    (end,) = group.ends
    assert end.next is None
    assert await live(group) == []
    await plan(group, OTHER_WHAT)
    await group.go(6 * DAY)
    assert (await the_open_one(group)).opens_at == MONDAY + 14 * DAY


@row("A drill is taken out of the list while it is open")
async def _(group: Group) -> None:
    await plan(group, WHAT, OTHER_WHAT)
    drill = await weekly(group)
    await group.tally(1, "7/10")
    assert isinstance(await group.desk.remove(COACH, "odrun vale: 5mp, 2mp", group.event()), Exercise)
    assert (await the_open_one(group)).plan == drill.plan
    await group.go(7 * DAY)
    (end,) = group.ends
    assert end.recap.landed == 7
    assert end.next is not None
    assert end.next.plan.subject.character == "Mirrel Quay"


@row("A member leaves the drill and returns")
async def _(group: Group) -> None:
    drill = await group.open()
    tally_id = await group.tally(1, "7/10")
    gone = part(await group.part.leave(member(1), drill.id, group.event()))
    assert (gone.joined, gone.row, gone.tallies) == (False, None, 0)
    assert await landed(group, drill) == 0
    assert (await group.board(drill)).members == 0
    assert refusal(await group.part.leave(member(1), drill.id, group.event())) == "not-joined"
    back = part(await group.part.join(member(1), drill.id, group.event()))
    assert (back.joined, back.tallies) == (True, 1)
    assert await landed(group, drill) == 7
    assert await in_log(group, 1) == [tally_id]


@row("A member no longer wants to be named")
async def _(group: Group) -> None:
    drill = await group.open(days=1)
    part(await group.part.list_me(member(1), 0, True, group.event()))
    await group.tally(1, "7/10")
    await group.go(2 * DAY)
    (end,) = group.ends
    assert [one.entry.member for one in end.recap.winners] == [1]
    group.touched.clear()
    part(await group.part.list_me(member(1), drill.id, False, group.event()))
    assert group.touched == [drill.id]
    again = await group.boards.closing(drill.id, timedelta(0))
    assert again is not None
    assert (again.recap.winners, again.recap.unlisted, again.recap.landed) == ((), 1, 7)


@row("A member erases what is kept of them")
async def _(group: Group) -> None:
    over = await group.open(days=1)
    for member_id in (1, 2):
        await group.tally(member_id, "7/10")
    await group.go(2 * DAY)
    still = await group.open()
    await group.tally(1, "5/10", still.id)
    group.touched.clear()
    await group.privacy.erase(member(1))
    assert group.touched == [over.id, still.id]
    assert await landed(group, still) == 0
    assert (await group.board(still)).members == 0
    again = await group.boards.closing(over.id, timedelta(0))
    assert again is not None
    assert (again.recap.members, again.recap.landed) == (1, 7)
    assert (await group.privacy.export(member(1))).drills == ()


@row("A tally is taken out of the log, or changed")
async def _(group: Group) -> None:
    drill = await group.open()
    tally_id = await group.tally(1, "7/10")
    group.touched.clear()
    await group.log.change(member(1), tally_id, Entry("", "9/10"), group.event())
    assert await landed(group, drill) == 9
    assert isinstance(await group.log.undo(member(1), tally_id, group.event()), Undone)
    assert await landed(group, drill) == 0
    assert group.touched == [drill.id, drill.id]


@row("A tally is logged after the end")
async def _(group: Group) -> None:
    drill = await group.open(days=1)
    await group.tally(1, "7/10")
    await group.go(2 * DAY)
    assert refusal(await group.part.log(member(1), drill.id, DrillEntry("9/10"), group.event())) == "not-open"
    late = Entry(WHAT, "9/10", when="2026-03-03 12:00")
    assert isinstance(await group.log.log(member(1), late, group.event()), Logged)
    again = await group.boards.closing(drill.id, timedelta(0))
    assert again is not None
    assert again.recap.landed == 7
    assert len(await in_log(group, 1)) == 2


@row("A coach strikes a tally after the end")
async def _(group: Group) -> None:
    drill = await group.open(days=1)
    tally_id = await group.tally(1, "7/10")
    await group.go(2 * DAY)
    group.touched.clear()
    struck = await group.judging.strike(COACH, tally_id, "the wrong dummy", group.event())
    assert isinstance(struck, DrillResult)
    assert struck.reason == "the wrong dummy"
    again = await group.boards.closing(drill.id, timedelta(0))
    assert again is not None
    assert again.recap.landed == 0
    assert group.touched == [drill.id]
    assert await in_log(group, 1) == [tally_id]
    await group.run()
    assert group.told == [("struck", tally_id)]
    verdict = await group.judging.verdict(tally_id)
    assert verdict is not None
    assert (verdict.member.member_id, verdict.result.reason) == (1, "the wrong dummy")


@row("The channel is deleted")
async def _(group: Group) -> None:
    drill = await group.open()
    await group.boards.lost(drill.id)
    await group.run()
    tally_id = await group.tally(1, "7/10")
    await group.go(10 * DAY)
    await group.boards.lost(drill.id)  # nor could the recap be posted
    await group.run()
    assert group.told == [("drill-lost", drill.id)]
    assert drill.opened_by == COACH.member_id
    assert await in_log(group, 1) == [tally_id]
    assert len(group.ends) == 1


@row("The coach leaves or erases what is kept of them")
async def _(group: Group) -> None:
    await plan(group, WHAT)
    drill = await weekly(group)
    tally_id = await group.tally(1, "7/10")
    await group.tally(1, "5/10")
    assert isinstance(await group.judging.strike(COACH, tally_id, "no", group.event()), DrillResult)
    await group.privacy.erase(COACH)
    assert await landed(group, drill) == 5
    assert (await the_open_one(group)).opened_by is None
    await group.boards.lost(drill.id)  # and there is nobody to tell
    await group.go(8 * DAY)
    assert len(group.ends) == 1
    assert len(await live(group)) == 1
    assert ("drill-lost", drill.id) not in group.told


@row("The bot is away over the end")
async def _(group: Group) -> None:
    drill = await group.open(days=1)
    await group.tally(1, "7/10")
    group.bench.clock.time += 2 * DAY
    back = await group_on(group.bench)
    assert refusal(await back.part.log(member(1), drill.id, DrillEntry("9/10"), back.event())) == "not-open"
    late = Entry(WHAT, "9/10", when="2026-03-03 12:00")  # made in time, but told only now
    assert isinstance(await back.log.log(member(1), late, 77), Logged)
    await back.run()
    (end,) = back.ends
    assert (end.late, end.recap.landed) == (True, 7)


@row("The bot is away for weeks of a series")
async def _(group: Group) -> None:
    await plan(group, WHAT, OTHER_WHAT)
    await weekly(group)
    group.bench.clock.time = MONDAY + 27 * DAY  # a Sunday, three ends later
    back = await group_on(group.bench)
    await back.run()
    (end,) = back.ends
    assert end.late
    assert end.next is not None
    follows = await the_open_one(back)
    assert follows == replace(end.next, stage=DrillStage.OPEN)
    assert (follows.opens_at, follows.closes_at) == (MONDAY + 27 * DAY, MONDAY + 35 * DAY)


@row("The bot is away when a planned drill opens")
async def _(group: Group) -> None:
    await plan(group, WHAT, OTHER_WHAT)
    drill = await weekly(group)
    await group.desk.cancel(COACH, drill.id, group.event())  # the next one is planned for Monday
    group.bench.clock.time = MONDAY + 13 * DAY  # the day before that one closes
    back = await group_on(group.bench)
    await back.run()
    assert (await the_open_one(back)).closes_at == MONDAY + 21 * DAY
    await back.go(8 * DAY)
    assert [end.late for end in back.ends] == [False]


@row("The server chooses another time zone")
async def _(group: Group) -> None:
    await plan(group, WHAT)
    drill = await weekly(group)
    await group.bench.book.set_zone(COACH, "America/New_York")
    assert (await the_open_one(group)).closes_at == drill.closes_at
    await group.go(7 * DAY)
    follows = await the_open_one(group)
    assert follows.opens_at == MONDAY + 7 * DAY
    shown = follows.closes_at.astimezone(ZoneInfo("America/New_York"))
    assert (shown.date().isoformat(), shown.time()) == ("2026-03-16", time(18))


@row("The clocks change")
async def _(group: Group) -> None:
    zone = ZoneInfo("Europe/Berlin")
    await group.bench.book.set_zone(COACH, "Europe/Berlin")
    await plan(group, WHAT)
    await weekly(group)
    await group.go(35 * DAY)  # the clocks are set on on 29 March
    ends = [end.board.drill.closes_at for end in group.ends]
    assert {end.astimezone(zone).time() for end in ends} == {time(18)}
    assert len({end.time() for end in ends}) == 2


@row("The server chooses another game")
async def _(group: Group) -> None:
    drill = await group.open()
    assert not isinstance(await group.bench.desk.choose_game(COACH, "kitewind"), LogRefusal)
    await group.tally(1, "7/10")
    assert await landed(group, drill) == 7
    assert (await group.board(drill)).game_version
