"""The gateway breaks off, and nothing is lost or done twice. All goes over real sockets."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
from chat.connecting import TOKEN, WORDS, Running, running, until
from chat.platform import INVALID, RECONNECT, Platform, command

from bot.app import Cornerman
from bot.client import gateway
from bot.results.tally import ServerSettings
from bot.storage import jobs

pytestmark = pytest.mark.usefixtures("hurried")
PIER, QUAY = 5 << 22, 6 << 22
"""Two servers."""


async def asked_to(found: Running) -> None:
    await found.platform.operate(RECONNECT)


async def suspended(found: Running) -> None:
    await found.platform.operate(INVALID, True)


async def reset(found: Running) -> None:
    found.platform.reset()


async def closed(found: Running) -> None:
    await found.platform.by_shard[0].close(code=4000)


async def closed_as_if_done(found: Running) -> None:
    await found.platform.by_shard[0].close(code=1000)


async def says_nothing(found: Running) -> None:
    """Nor has it a receipt for a heartbeat."""
    found.platform.receipts = False


BREAKS: list[Callable[[Running], Awaitable[None]]] = [asked_to, suspended, reset, closed, says_nothing]


@pytest.fixture
def _impatient(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """Where the platform says nothing, that is found out soon."""
    if request.node.callspec.params["breaks"] is says_nothing:
        make = Running.make_bot

        def impatient(found: Running) -> object:
            bot = make(found)
            bot._connection.heartbeat_timeout = 0.2
            return bot

        monkeypatch.setattr(Running, "make_bot", impatient)


@pytest.mark.usefixtures("_impatient")
@pytest.mark.parametrize("breaks", BREAKS)
async def test_a_session_goes_on_where_it_broke_off_and_what_was_missed_is_answered(
    breaks: Callable[[Running], Awaitable[None]],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    caplog: pytest.LogCaptureFixture,
) -> None:
    platform = Platform()
    with caplog.at_level(logging.INFO):
        async with running(platform, monkeypatch, tmp_path) as found:
            await found.ready()
            await breaks(found)
            await until(lambda: platform.by_shard[0].closed or platform.resumed)
            if not platform.resumed:  # asked while we were away
                platform.missed[0].append(("INTERACTION_CREATE", command(21, "ask", question=WORDS)))
                await until(lambda: platform.answered)
            await until(lambda: platform.resumed)
            await found.ready()
            await found.answers()
            assert platform.identified == [0]
            assert len(found.bots) == 1
    assert "Traceback" not in caplog.text
    assert TOKEN not in caplog.text


async def test_what_is_sent_again_after_a_break_is_not_done_again(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    platform = Platform()
    async with running(platform, monkeypatch, tmp_path) as found:
        await found.ready()
        await found.answers()
        await found.answers()
        await platform.operate(RECONNECT)
        await until(lambda: platform.resumed)
        await found.answers()
        await found.bot.work.drain()
        callbacks = [one for one in platform.asked if one.endswith("/callback")]
        assert len(callbacks) == len(set(callbacks)) == len(platform.answered) == 3
        assert len(platform.missed[0]) == 3


@pytest.mark.parametrize("breaks", [suspended, closed_as_if_done])
async def test_where_the_session_is_over_another_one_begins(
    breaks: Callable[[Running], Awaitable[None]], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    platform = Platform(resumes=False)
    async with running(platform, monkeypatch, tmp_path) as found:
        await found.ready()
        await breaks(found)
        await until(lambda: len(platform.identified) == 2)
        await found.ready()
        await found.answers()
        assert len(found.bots) == 1


async def test_an_invalid_session_is_not_taken_up(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    platform = Platform()
    async with running(platform, monkeypatch, tmp_path) as found:
        await found.ready()
        await platform.operate(INVALID, False)
        await until(lambda: len(platform.identified) == 2)
        await found.ready()
        assert platform.resumed == []


async def test_events_that_were_lost_do_no_harm(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A server took us and another sent us away while nobody told us: as if we had been there."""
    platform = Platform(resumes=False)
    platform.servers[0] = [PIER]
    async with running(platform, monkeypatch, tmp_path) as found:
        await found.ready()
        bot = found.bot
        for server_id in (PIER, QUAY):
            await bot.book.set_server(server_id, ServerSettings(zone="UTC"))
        await until(lambda: bot.get_guild(PIER))
        await bot.leaving.left(QUAY)
        touched: list[int] = []
        monkeypatch.setattr(bot.refresher, "touch", touched.append)
        monkeypatch.setattr(bot.drill_boards, "open_drills", _five)
        platform.servers[0] = [QUAY]
        await closed(found)
        await until(lambda: bot.get_guild(QUAY) and not bot.get_guild(PIER) and touched)
        assert touched == [5]
        for _ in range(200):
            async with bot.store.read() as reading:
                forgotten = {job.key for job in await jobs.unfinished(reading, "forget-server:")}
            if forgotten == {f"forget-server:{PIER}"}:
                break
            await asyncio.sleep(0.01)
        assert forgotten == {f"forget-server:{PIER}"}
        await found.answers(QUAY)


def away(bot: Cornerman) -> bool:
    """Whether we know the first server for one that the platform has lost."""
    found = bot.get_guild(PIER)
    return found is not None and found.unavailable


async def test_servers_that_the_platform_has_lost_for_now_are_not_taken_for_left(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """An outage, that we hear of while connected, and in the middle of which another session begins."""
    platform = Platform(resumes=False)
    platform.servers[0] = [PIER]
    async with running(platform, monkeypatch, tmp_path) as found:
        await found.ready()
        bot = found.bot
        await until(lambda: bot.get_guild(PIER))
        for server_id in (PIER, QUAY):
            await bot.book.set_server(server_id, ServerSettings(zone="UTC"))
        await platform.emit("GUILD_DELETE", {"id": str(PIER), "unavailable": True})
        await until(lambda: away(bot))
        platform.away.add(PIER)
        await closed(found)
        for _ in range(2_000):
            async with bot.store.read() as reading:
                forgotten = {job.key for job in await jobs.unfinished(reading, "forget-server:")}
            if forgotten:  # of the server that we did leave; it is looked at last
                break
            await asyncio.sleep(0.01)
        assert forgotten == {f"forget-server:{QUAY}"}
        assert away(bot)


async def test_an_event_that_the_library_cannot_read_ends_nothing(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    platform = Platform()
    async with running(platform, monkeypatch, tmp_path) as found:
        await found.ready()
        await platform._say(platform.by_shard[0], "MESSAGE_CREATE", {})
        await until(lambda: platform.resumed)
        await found.answers()
        assert len(found.bots) == 1
    errors = [record for record in caplog.records if record.levelno >= logging.ERROR]
    assert [one.name for one in errors] == ["bot.client.gateway"]


async def test_a_connection_that_breaks_again_and_again_is_not_tried_without_a_rest(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    platform = Platform()
    with caplog.at_level(logging.INFO):
        async with running(platform, monkeypatch, tmp_path) as found:
            for number in range(4):
                await found.ready()
                await platform.operate(RECONNECT)
                await until(lambda number=number: len(platform.resumed) > number)
    told = [record.getMessage() for record in caplog.records if record.name == "bot.client.gateway"]
    assert ["at once" in one for one in told] == [True, False, False, False]


async def test_a_connection_that_was_steady_for_long_is_tried_at_once_each_time(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(gateway, "STEADY_SECONDS", 0.0)
    platform = Platform()
    with caplog.at_level(logging.INFO):
        async with running(platform, monkeypatch, tmp_path) as found:
            for number in range(3):
                await found.ready()
                await platform.operate(RECONNECT)
                await until(lambda number=number: len(platform.resumed) > number)
    told = [record.getMessage() for record in caplog.records if record.name == "bot.client.gateway"]
    assert len(told) == 3
    assert all("at once" in one for one in told)


async def _five(_of: object) -> tuple[int, ...]:
    return (5,)
