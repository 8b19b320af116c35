"""Over real sockets, with the real library: what it would send twice, and how long it would be held back."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import aiohttp
import discord
import pytest
from aiohttp import web
from chat.world import EnvClock, new_bot

from bot.client.once import Once
from bot.client.sending import post

SECONDS = 20  # none of this waits


@dataclass(slots=True)
class Counter:
    """Takes everything, and then answers with the next of these statuses, at last with 200. `lost`: it ends
    the connection instead of a 500."""

    statuses: list[int] = field(default_factory=list)
    taken: list[str] = field(default_factory=list)
    lost: bool = False

    async def take(self, request: web.Request) -> web.StreamResponse:
        self.taken.append(f"{request.method} {request.path.removeprefix('/api/v10')}")
        await request.read()
        status = self.statuses.pop(0) if self.statuses else 200
        if self.lost and status == 500:
            assert request.transport is not None
            request.transport.abort()
        said = {"id": "9", "channel_id": "5", "content": "x", "retry_after": 3600, "global": False}
        return web.Response(
            body=json.dumps(said).encode(),
            status=status,
            headers={"Content-Type": "application/json", "Via": "1.1 google"},
        )


@pytest.fixture
async def counter(monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Counter]:
    counter, app, slept = Counter(), web.Application(), asyncio.sleep
    app.router.add_route("*", "/{path:.*}", counter.take)
    runner = web.AppRunner(app, shutdown_timeout=1)
    await runner.setup()
    await web.TCPSite(runner, "127.0.0.1", 0).start()
    base = f"http://127.0.0.1:{runner.addresses[0][1]}/api/v10"
    monkeypatch.setattr(discord.http.Route, "BASE", base)
    monkeypatch.setattr(discord.webhook.async_.asyncio, "sleep", lambda _: slept(0))  # between its tries
    yield counter
    await runner.cleanup()


async def send(session: Any) -> None:
    """A message beside an answer, as the library sends it."""
    hook = discord.Webhook.partial(2, "token", session=session)
    await asyncio.wait_for(hook.send("x"), SECONDS)


async def test_the_library_by_itself_sends_again_what_was_taken(counter: Counter) -> None:
    """Why there is something to be done at all; if this fails, `once.py` can go."""
    counter.statuses = [500]
    async with aiohttp.ClientSession() as session:
        await send(session)
    assert len(counter.taken) == 2


@pytest.mark.parametrize("status", [500, 502, 503, 504])
async def test_what_was_taken_and_failed_is_not_sent_again(counter: Counter, status: int) -> None:
    counter.statuses = [status]
    async with aiohttp.ClientSession() as session:
        with pytest.raises(discord.DiscordServerError):
            await send(Once(session))
    assert counter.taken == ["POST /webhooks/2/token"]


async def test_what_was_taken_before_the_connection_was_lost_is_not_sent_again(counter: Counter) -> None:
    counter.statuses, counter.lost = [500], True
    async with aiohttp.ClientSession() as session:
        with pytest.raises((aiohttp.ClientError, OSError)):
            await send(Once(session))
    assert len(counter.taken) == 1


@pytest.mark.parametrize("number", [54, 10054])
async def test_a_reset_by_the_numbers_that_the_library_knows_is_not_sent_again(number: int) -> None:
    """Those of other systems than the one that this runs on."""
    tries: list[str] = []

    class Reset:
        def request(self, *_: object, **__: object) -> Any:
            tries.append("one")
            raise OSError(number, "connection reset")

    with pytest.raises(ConnectionError):
        await send(Once(Reset()))  # type: ignore[arg-type]
    assert tries == ["one"]


async def test_what_is_taken_goes_through_as_ever(counter: Counter) -> None:
    async with aiohttp.ClientSession() as session:
        await send(Once(session))
    assert len(counter.taken) == 1


async def test_being_held_back_for_long_is_an_error_at_once_and_no_long_sleep(
    counter: Counter, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    slept: list[float] = []
    short = asyncio.sleep

    async def sleep(seconds: float) -> None:
        slept.append(seconds)
        await short(0)

    bot = new_bot(EnvClock(), tmp_path)
    async with bot:
        await bot.http.static_login("aaaa.bbbb.cccc")
        counter.taken, counter.statuses = [], [429]
        monkeypatch.setattr(discord.http.asyncio, "sleep", sleep)
        with pytest.raises(discord.RateLimited) as caught:
            await asyncio.wait_for(post(bot.get_partial_messageable(5), discord.ui.LayoutView()), SECONDS)
    assert caught.value.retry_after == 3600
    assert counter.taken == ["POST /channels/5/messages"]
    assert [one for one in slept if one > 30] == []
