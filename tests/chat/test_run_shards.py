"""Several shards: each stands for itself, and a process knows which are its own."""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
from chat.connecting import running, until
from chat.platform import RECONNECT, Platform

from bot.client import gateway, waits
from bot.client.shards import Shards
from bot.results.tally import ServerSettings
from bot.services.leaving import LeavingService

pytestmark = pytest.mark.usefixtures("hurried")
BOTH = Shards(0, 1, 2)
SERVERS = {0: 4 << 22, 1: 5 << 22}
"""One on each of two shards."""


def two() -> Platform:
    platform = Platform(shards=2)
    for shard, server_id in SERVERS.items():
        platform.servers[shard] = [server_id]
    return platform


async def test_both_shards_of_a_process_answer(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    async with running(two(), monkeypatch, tmp_path, BOTH) as found:
        await found.ready(0, 1)
        for server_id in SERVERS.values():
            await until(lambda server_id=server_id: found.bot.get_guild(server_id))
            await found.answers(server_id)
        await found.answers()
    assert sorted(found.platform.identified) == [0, 1]


@pytest.mark.parametrize("bad", [0, 1])
@pytest.mark.parametrize("way", ["refused", "silent"])
async def test_a_shard_that_does_not_become_ready_leaves_the_other_alone(
    way: str, bad: int, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(gateway, "READY_SECONDS", 0.1)
    platform, good = two(), 1 - bad
    setattr(platform, way, {bad})
    async with running(platform, monkeypatch, tmp_path, BOTH) as found:
        await found.ready(good)
        await until(lambda: found.bot.get_guild(SERVERS[good]))
        await found.answers(SERVERS[good])
        await until(lambda: platform.identified.count(bad) > 1)
        assert platform.identified.count(good) == len(found.bots) == 1
        await until(lambda: found.bot.scheduler._running)
        setattr(platform, way, set())
        await found.ready(0, 1)
        await until(lambda: found.bot.get_guild(SERVERS[bad]))
        await found.answers(SERVERS[bad])


async def resets(platform: Platform) -> None:
    platform.reset(1)


async def closes(platform: Platform) -> None:
    await platform.by_shard[1].close(code=1000)


@pytest.mark.parametrize("breaks", [resets, closes])
async def test_a_shard_that_is_lost_leaves_the_other_alone_and_comes_back(
    breaks: Callable[[Platform], Awaitable[None]], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    platform = two()
    async with running(platform, monkeypatch, tmp_path, BOTH) as found:
        await found.ready(0, 1)
        await until(lambda: found.bot.get_guild(SERVERS[0]) and found.bot.get_guild(SERVERS[1]))
        await breaks(platform)
        await found.answers(SERVERS[0])
        await until(lambda: platform.resumed == [1])
        await found.ready(0, 1)
        await found.answers(SERVERS[1])
        assert sorted(platform.identified) == [0, 1]


async def test_a_shard_comes_back_at_once_while_another_one_waits(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The library has one task see to all, which sleeps for the sake of one."""
    platform = two()
    platform.refused = {1}
    monkeypatch.setattr(waits, "FIRST_SECONDS", 10_000.0)
    monkeypatch.setattr(waits, "LONGEST_SECONDS", 10_000.0)
    async with running(platform, monkeypatch, tmp_path, BOTH) as found:
        await found.ready(0)
        await until(lambda: 1 in platform.identified)
        await until(lambda: found.bot._lines[1].socket is None)
        await platform.operate(RECONNECT)
        await until(lambda: platform.resumed == [0])
        await found.ready(0)
        await found.answers()


async def test_as_many_shards_are_connected_as_the_platform_recommends(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    async with running(two(), monkeypatch, tmp_path, shards=None) as found:
        await found.ready(0, 1)
        assert found.bot.shards_held == BOTH
        assert "GET /gateway/bot" in found.platform.asked


@pytest.mark.parametrize(("shards", "tells"), [(Shards(0, 0, 2), True), (Shards(1, 1, 2), False)])
async def test_of_several_processes_one_tells_the_platform_the_commands(
    shards: Shards, tells: bool, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    async with running(two(), monkeypatch, tmp_path, shards) as found:
        await found.ready(shards.first)
        assert found.platform.identified == [shards.first]
    assert ("PUT /applications/2/commands" in found.platform.asked) is tells


@pytest.mark.parametrize("shards", [Shards(0, 0, 2), Shards(1, 1, 2), BOTH])
async def test_servers_on_the_shards_of_others_are_not_taken_for_left(
    shards: Shards, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Nor are those on a shard of our own that is not connected."""
    platform = two()
    if shards is BOTH:
        platform.refused = {1}
    gone = 6 << 22  # which was on shard 0
    ready = [0] if shards is BOTH else [shards.first]
    async with running(platform, monkeypatch, tmp_path, shards) as found:
        await found.ready(*ready)
        bot, left = found.bot, set[int]()
        await until(lambda: bot.get_guild(SERVERS[ready[0]]))
        for server_id in (*SERVERS.values(), gone):
            await bot.book.set_server(server_id, ServerSettings(zone="UTC"))

        async def leave(server_id: int) -> None:
            left.add(server_id)

        monkeypatch.setattr(bot.leaving, "left", leave)
        await bot.on_shard_ready(ready[0])
        assert left == ({gone} if ready == [0] else set())


async def test_one_shard_begins_a_new_session_and_only_its_servers_are_compared(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Where one of several begins anew, the library tells of no new beginning of the bot."""
    platform = two()
    platform.resumes = False
    compared: list[set[int]] = []

    async def compare(_self: object, _joined: object, ours: Callable[[int], bool]) -> None:
        compared.append({server_id for server_id in SERVERS.values() if ours(server_id)})

    monkeypatch.setattr(LeavingService, "compare", compare)
    async with running(platform, monkeypatch, tmp_path, BOTH):
        await until(lambda: len(compared) == 2)
        await platform.by_shard[1].close(code=4009)  # "session timed out"
        await until(lambda: len(compared) == 3)
        assert compared[2] == {SERVERS[1]}
        assert sorted(map(tuple, compared[:2])) == [(SERVERS[0],), (SERVERS[1],)]
    assert not [record for record in caplog.records if record.levelno >= logging.ERROR]


async def test_the_latency_is_that_of_the_slowest_shard(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    async with running(two(), monkeypatch, tmp_path, BOTH) as found:
        await found.ready(0, 1)
        latencies = [line.socket.latency for line in found.bot._lines if line.socket is not None]
        assert found.bot.latency == max(latencies)
        assert len(latencies) == 2
