"""What another try may mend is waited for, for ever; what it cannot ends it at once."""

from __future__ import annotations

import logging
import socket
from pathlib import Path

import discord
import pytest
from chat.connecting import TOKEN, Running, lines, running, until
from chat.platform import Platform, serving

from bot.client import gateway, waits
from bot.client import run as supervising
from bot.client.run import (
    BAD_SHARDS,
    BAD_TOKEN,
    FAILED,
    NO_NETWORK,
    NOT_PLATFORM,
    RunError,
    SettingsError,
    run,
)
from bot.client.shards import Shards
from bot.client.waits import Waits

hurried = pytest.mark.usefixtures("hurried")


def test_it_is_waited_for_longer_and_longer_up_to_five_minutes() -> None:
    long = Waits(lambda: 0.0)
    assert [long.next() for _ in range(9)] == [5, 10, 20, 40, 80, 160, 300, 300, 300]
    long.reset()
    assert long.next() == 5
    for _ in range(10_000):
        assert long.next() <= 300


def test_by_chance_a_wait_is_shorter_by_up_to_a_quarter() -> None:
    assert [Waits(lambda: 1.0).next(), Waits(lambda: 0.5).next()] == [3.75, 4.375]
    some = Waits()
    assert all(3.75 <= Waits().next() <= 5 for _ in range(50))
    assert some.next() != some.next()


@hurried
async def test_a_platform_that_is_down_at_first_is_waited_for_with_a_line_for_each_try(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    platform = Platform(status=503)
    with caplog.at_level(logging.INFO):
        async with running(platform, monkeypatch, tmp_path) as found:
            await until(lambda: len(found.bots) > 3)
            platform.status = 200
            await found.ready()
            await found.answers()
            assert all(bot.is_closed() for bot in found.bots[:-1])
    told = lines(caplog.records, "bot.client.run")
    assert told[:3] == [f"{NO_NETWORK} The next try is in 0 s."] * 3
    assert not [record for record in caplog.records if record.levelno >= logging.ERROR]
    assert "Traceback" not in caplog.text
    assert TOKEN not in caplog.text


@hurried
async def test_where_nothing_listens_it_is_waited_for(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
    monkeypatch.setattr(discord.http.Route, "BASE", f"http://127.0.0.1:{port}/api/v10")
    found = Running(Platform(), tmp_path, Shards(0, 0, 1))
    found.start()
    await until(lambda: len(found.bots) > 2)
    async with serving(found.platform, monkeypatch):
        await found.ready()
        await found.stop()


@hurried
@pytest.mark.parametrize("way", ["silent", "refused", "closed"])
async def test_a_gateway_that_is_never_ready_is_tried_again(
    way: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(gateway, "READY_SECONDS", 0.05)
    platform = Platform(silent={0} if way == "silent" else set(), refused={0} if way == "refused" else set())
    platform.close_code = 1000 if way == "closed" else None
    async with running(platform, monkeypatch, tmp_path) as found:
        await until(lambda: len(platform.identified) > 3)
        platform.silent, platform.refused, platform.close_code = set(), set(), None
        await found.ready()
        await found.answers()
        assert len(found.bots) == 1


async def test_a_signal_ends_the_waiting_at_once(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(waits, "FIRST_SECONDS", 10_000.0)
    monkeypatch.setattr(waits, "LONGEST_SECONDS", 10_000.0)
    platform = Platform(status=503)
    async with running(platform, monkeypatch, tmp_path) as found:
        await until(lambda: found.bots and found.bots[0].is_closed())
    assert len(found.bots) == 1


async def test_a_signal_ends_the_waiting_of_a_shard_at_once(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(waits, "FIRST_SECONDS", 10_000.0)
    monkeypatch.setattr(waits, "LONGEST_SECONDS", 10_000.0)
    platform = Platform(refused={0})
    async with running(platform, monkeypatch, tmp_path):
        await until(lambda: platform.identified)


@hurried
async def test_a_connection_that_is_ended_for_good_begins_anew_with_another_bot(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    platform = Platform()
    async with running(platform, monkeypatch, tmp_path) as found:
        await found.ready()
        await platform.sockets[-1].close(code=4012)  # "invalid API version"
        await until(lambda: len(found.bots) == 2)
        await found.ready()
        await found.answers()
    assert "The platform ended the connection (4012). The next try" in caplog.text


@hurried
async def test_more_shards_are_taken_where_the_platform_comes_to_ask_for_them(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    platform = Platform()
    async with running(platform, monkeypatch, tmp_path, shards=None) as found:
        await found.ready()
        assert found.bot.shards_held == Shards(0, 0, 1)
        platform.shards = 2
        await platform.sockets[-1].close(code=4011)  # "sharding required"
        await until(lambda: len(found.bots) == 2)
        await found.ready(0, 1)
        assert found.bot.shards_held == Shards(0, 1, 2)


async def test_shards_that_were_chosen_and_are_too_few_end_it_with_a_sentence(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    platform = Platform(close_code=4011)
    found = Running(platform, tmp_path, Shards(1, 1, 2))
    async with serving(platform, monkeypatch):
        found.start()
        with pytest.raises(SettingsError, match="larger count") as caught:
            await found.ends()
    assert str(caught.value) == BAD_SHARDS.format(shards="1-1/2")


@hurried
async def test_a_bug_in_the_connection_is_logged_and_begun_anew(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    connect, failures = gateway.ShardedBot.connect, [RuntimeError("a bug"), LookupError("another")]

    async def fails_first(self: gateway.ShardedBot, *, reconnect: bool = True) -> None:
        if failures:
            raise failures.pop()
        await connect(self, reconnect=reconnect)

    monkeypatch.setattr(gateway.ShardedBot, "connect", fails_first)
    async with running(Platform(), monkeypatch, tmp_path) as found:
        await until(lambda: len(found.bots) == 3)
        await found.ready()
        await found.answers()
    errors = [record for record in caplog.records if record.levelno >= logging.ERROR]
    assert [(one.name, bool(one.exc_info)) for one in errors] == [("bot.client.run", True)] * 2
    assert lines(caplog.records, "bot.client.run").count(f"{FAILED} The next try is in 0 s.") == 2


@hurried
@pytest.mark.parametrize(
    "trouble",
    [{"status": 403}, {"body": "<h1>We will be back</h1>"}, {"status": 429}],
    ids=["forbidden", "not-the-platform", "too-many"],
)
async def test_who_was_logged_in_once_waits_for_better_times(
    trouble: dict[str, object], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """What would be told to whoever started it passes, where it worked a moment ago."""
    monkeypatch.setattr(supervising, "LOGIN_SECONDS", 0.5)  # the library holds back where that is asked of it
    platform = Platform()
    async with running(platform, monkeypatch, tmp_path) as found:
        await found.ready()
        for name, value in trouble.items():
            setattr(platform, name, value)
        await platform.sockets[-1].close(code=4012)
        await until(lambda: len(found.bots) > 2)
        platform.status, platform.body = 200, None
        await found.ready()


@hurried
async def test_a_token_that_was_withdrawn_ends_it_also_later(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    platform = Platform()
    found = Running(platform, tmp_path, Shards(0, 0, 1))
    async with serving(platform, monkeypatch):
        found.start()
        await found.ready()
        await platform.sockets[-1].close(code=4004)
        with pytest.raises(SettingsError) as caught:
            await found.ends()
    assert str(caught.value) == BAD_TOKEN


async def test_what_keeps_it_from_the_first_try_is_told(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def broken() -> None:
        raise LookupError("a game file that cannot be read")

    with pytest.raises(LookupError):
        await run(broken, TOKEN)  # type: ignore[arg-type]
    found = Running(Platform(body="<h1>Please log in to this network</h1>"), tmp_path, None)
    async with serving(found.platform, monkeypatch):
        found.start()
        with pytest.raises(RunError) as caught:
            await found.ends()
    assert str(caught.value) == NOT_PLATFORM
