"""Playing a route as a member does: with their own tallies, side and controls."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from inline import HERE, MIRREL, ODRUN, Bench, InlineWorker, bench_at, link
from played import ROUTE, opened

from bot.ports import WorkerError
from bot.results.playing import ClickTrack, InputSheet, NoTrack, RhythmSheet, Unplayable
from bot.results.tally import MemberSettings, Setup, Side, Tally
from bot.services.playing import LOOPS, PlayService
from core.inputs import Facing, Plan

NOW = datetime(2026, 3, 2, 20, 15, tzinfo=UTC)


class DeadWorker(InlineWorker):
    """Does nothing."""

    async def run(self, *_: Any, **__: Any) -> Any:
        raise WorkerError("It died.")


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        yield bench


def service(bench: Bench, worker: InlineWorker | None = None) -> PlayService:
    return PlayService(bench.store, bench.desk, bench.book, worker or InlineWorker())


async def log(bench: Bench, presses: int, tries: int = 20) -> None:
    tally = Tally(link("5MP, 2MP"), NOW - timedelta(hours=1), tries, tries // 2, presses=presses)
    await bench.log(tally)


async def test_the_member_s_own_tallies_say_whether_a_link_is_pressed_twice(bench: Bench) -> None:
    await log(bench, 2)
    sheet = await service(bench).rhythm(HERE, opened(ROUTE))
    assert isinstance(sheet, RhythmSheet)
    assert [(one.input, one.own) for one in sheet.twice] == [("2MP", True)]
    await log(bench, 1, 40)
    sheet = await service(bench).rhythm(HERE, opened(ROUTE))
    assert isinstance(sheet, RhythmSheet)
    assert sheet.twice == ()


async def test_the_same_link_of_another_character_says_nothing(bench: Bench) -> None:
    await bench.log(Tally(link("5MP, 2MP", MIRREL), NOW, 20, 10, presses=2))
    sheet = await service(bench).rhythm(HERE, opened(ROUTE))
    assert isinstance(sheet, RhythmSheet)
    assert sheet.twice == ()


async def test_another_member_s_tallies_say_nothing(bench: Bench) -> None:
    await log(bench, 2)
    sheet = await service(bench).rhythm(replace(HERE, member_id=101), opened(ROUTE))
    assert isinstance(sheet, RhythmSheet)
    assert sheet.twice == ()


@pytest.mark.parametrize(
    ("own", "asked", "faces"),
    [
        (None, None, Facing.RIGHT),
        (Side.LEFT, None, Facing.LEFT),
        (Side.LEFT, Side.RIGHT, Facing.RIGHT),
        (None, Side.LEFT, Facing.LEFT),
    ],
)
async def test_the_side_is_the_one_asked_for_else_the_member_s(
    bench: Bench, own: Side | None, asked: Side | None, faces: Facing
) -> None:
    bench.book.hold(HERE.owner, MemberSettings(setup=Setup(side=own)))
    sheet = await service(bench).inputs(HERE, opened(ROUTE), asked)
    assert isinstance(sheet, InputSheet)
    assert sheet.side is faces


async def test_the_member_s_own_control_scheme_is_planned_for(bench: Bench) -> None:
    bench.book.hold(HERE.owner, MemberSettings(ODRUN, setup=Setup(controls="one-button")))
    sheet = await service(bench).inputs(HERE, opened("5MP, 2MP xx 236MP", scheme="one-button"))
    assert isinstance(sheet, InputSheet)
    assert sheet.scheme == "one-button"
    assert isinstance(sheet.plan, Plan)
    assert sheet.plan.saved == 0


async def test_without_a_worker_there_is_no_plan_and_no_track_but_still_a_rhythm(bench: Bench) -> None:
    dead, route = service(bench, DeadWorker()), opened(ROUTE)
    assert isinstance(await dead.rhythm(HERE, route), RhythmSheet)
    sheet = await dead.inputs(HERE, route)
    assert isinstance(sheet, InputSheet)
    assert sheet.plan is None
    assert await dead.clicks(HERE, route) == NoTrack(route, failed=True)


async def test_a_route_that_does_not_work_is_not_played(bench: Bench) -> None:
    route = opened("5LP, 5MP xx 236HP")
    play = service(bench)
    for result in (
        await play.rhythm(HERE, route),
        await play.inputs(HERE, route),
        await play.clicks(HERE, route),
    ):
        assert result == Unplayable(route)


async def test_a_track_is_four_rounds_where_nobody_asks_for_more(bench: Bench) -> None:
    made = await service(bench).clicks(HERE, opened(ROUTE))
    assert isinstance(made, ClickTrack)
    assert (made.track.loops, made.track.speed) == (LOOPS, 1.0)
