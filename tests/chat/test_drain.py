"""Going: no new work is taken, what runs may finish."""

from __future__ import annotations

import asyncio

from chat.world import World, text_of

from bot.client.policy import RESTARTING
from bot.client.work import Doing, Work

ASKING = Doing("command ask", None, 70)
LINK = {"first": "5MP", "second": "2MP", "character": "Odrun"}


async def test_what_runs_is_waited_for() -> None:
    work, done = Work(), []

    async def handler() -> None:
        work.begin(ASKING)
        await asyncio.sleep(0.01)
        done.append(True)

    task = asyncio.create_task(handler())
    await asyncio.sleep(0)
    assert await work.drain() == 0
    assert done == [True]
    await task


async def test_what_does_not_end_is_waited_for_no_longer_than_said() -> None:
    work, never = Work(), asyncio.Event()

    async def handler() -> None:
        work.begin(ASKING)
        await never.wait()

    task = asyncio.create_task(handler())
    await asyncio.sleep(0)
    assert await work.drain(seconds=0.01) == 1
    assert not task.done()
    never.set()
    await task


async def test_nothing_to_wait_for_is_no_wait() -> None:
    work = Work()
    work.begin(ASKING)  # the task that drains does not wait for itself
    assert await work.drain(seconds=60) == 0
    assert work.draining


async def test_who_comes_while_the_bot_is_going_is_told_so(world: World) -> None:
    salt = world.salt
    await world.bot.work.drain()
    refused = await salt.ann.slash(salt.channel, "link", **LINK)
    assert refused.ephemeral
    assert text_of(refused).strip() == RESTARTING
    assert await salt.ann.autocomplete(salt.channel, "move", "character", "od") == []
    await salt.ann.send(salt.channel, f"{world.mention} is Mirrel's 236HK safe?")
    assert text_of(salt.channel.last_message).strip() == RESTARTING
