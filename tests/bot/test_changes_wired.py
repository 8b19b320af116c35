"""Two bots as the program puts them together, each with half of the servers, on one database."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import timedelta

import pytest
from databases import new_on_server, server
from inline import HandClock, InlineWorker
from logged import LINK, logged
from processes import FIRST_MARK, LONGEST_SECONDS, tell
from pydantic import SecretStr
from stored import NOW

from bot.app import Cornerman, build
from bot.client.shards import Shards
from bot.config import Settings
from bot.results.coaching import Coaching
from bot.results.drills import DrillAsked, DrillPart, KeptDrill
from bot.results.place import Place
from bot.scheduler.refresher import Refresher
from bot.scheduler.scheduler import Scheduler
from bot.services.access import Standing
from bot.services.in_step import POST
from core.drills.drill import Scoring

pytestmark = pytest.mark.postgresql

ITS = 1 << 22
"""A server on the second of two shards: direct messages come to the first."""
COACH, WREN = Place(ITS, 20, 900), Place(ITS, 20, 70)
Touched = asyncio.Queue[tuple[Refresher, int]]


@asynccontextmanager
async def bot_of(shard: int) -> AsyncIterator[Cornerman]:
    """The bot that holds one of two shards; not connected to the platform."""
    settings = Settings.model_construct(database=SecretStr(server().url("wired")))
    async with build(settings, HandClock(NOW), InlineWorker(), Shards(shard, shard, 2)) as bot:
        await bot.store.open()
        await bot.in_step.open()
        yield bot


@pytest.fixture
def touched(monkeypatch: pytest.MonkeyPatch) -> Touched:
    """The posts that are to be refreshed, and by whom."""
    found: Touched = asyncio.Queue()
    monkeypatch.setattr(Refresher, "touch", lambda who, number: found.put_nowait((who, number)))
    return found


@pytest.fixture
async def bots(touched: Touched) -> AsyncIterator[tuple[Cornerman, Cornerman]]:
    """One for each shard."""
    assert touched.empty()  # it stands in the refreshers' place before they begin
    new_on_server("wired")
    async with bot_of(0) as one, bot_of(1) as other:
        yield one, other


async def next_but_marks(touched: Touched) -> tuple[Refresher, int]:
    async with asyncio.timeout(LONGEST_SECONDS):
        while (found := await touched.get())[1] >= FIRST_MARK:
            pass
    return found


async def heard(bot: Cornerman, touched: Touched) -> None:
    """Wait until it has taken up all that was committed until now; what was touched before is forgotten."""
    server_id = next(one for one in (0, ITS) if bot.shards_held.holds(one))
    tell(server().url("wired"), f"{POST} {server_id} {FIRST_MARK}")
    async with asyncio.timeout(LONGEST_SECONDS):
        while await touched.get() != (bot.refresher, FIRST_MARK):
            pass


async def test_a_tally_logged_in_direct_messages_has_the_post_refreshed_by_who_has_the_server(
    bots: tuple[Cornerman, Cornerman], touched: Touched
) -> None:
    one, other = bots
    asked = DrillAsked("Odrun: 5MP, 2MP", Scoring.TOTAL_CLEAN)
    drill = await other.drill_desk.open(COACH, asked, 20, 7, 1)
    assert isinstance(drill, KeptDrill)
    await other.drill_boards.opening(drill.id)
    assert isinstance(await other.drill_part.join(WREN, drill.id, 2), DrillPart)
    await heard(one, touched)
    direct = one.book.home(Place(None, 5, WREN.member_id))
    assert direct.server_id == ITS
    while not touched.empty():
        touched.get_nowait()
    logged(await one.log.log(direct, replace(LINK, what="Odrun: 5MP, 2MP"), 3))
    assert await next_but_marks(touched) == (other.refresher, drill.id)
    board = await other.drill_boards.board(drill.id)
    assert board is not None
    assert [entry.landed for entry in board.standings.entries] == [7]


async def test_a_job_that_one_bot_adds_arms_the_other_s_scheduler(
    bots: tuple[Cornerman, Cornerman], touched: Touched, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, other = bots
    armed: list[tuple[Scheduler, object]] = []
    monkeypatch.setattr(Scheduler, "arm", lambda who, at: armed.append((who, at)))
    other.in_step.ring_with(other.scheduler.arm)
    asked = DrillAsked("Odrun: 5MP, 2MP", Scoring.TOTAL_CLEAN)
    assert isinstance(await one.drill_desk.open(COACH, asked, 20, 7, 1), KeptDrill)
    await heard(other, touched)
    assert (other.scheduler, NOW) in armed
    assert NOW + timedelta(days=7) > max(at for who, at in armed if who is other.scheduler)  # type: ignore[type-var]


async def test_who_a_coach_takes_on_in_one_bot_stands_as_a_student_in_the_other(
    bots: tuple[Cornerman, Cornerman], touched: Touched
) -> None:
    one, other = bots
    await one.book.change_server(COACH, {"coach_role": 5, "moderator_role": 6})
    asked = await one.coaching.ask(COACH, WREN.member_id, 1)
    assert isinstance(asked, Coaching)
    assert isinstance(await one.coaching.answer(WREN, asked.id, True, 2), Coaching)
    await heard(other, touched)

    def standing(*roles: int) -> Standing:
        who = {"server_id": ITS, "member_id": WREN.member_id, "manages_server": False, "joined": True}
        return other.access.standing(**who, roles=roles)  # type: ignore[arg-type]

    assert [standing(), standing(5), standing(6)] == [Standing.STUDENT, Standing.COACH, Standing.MODERATOR]
