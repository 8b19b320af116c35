"""What is refreshed at once is let finish before the bot goes."""

from __future__ import annotations

import asyncio

from bot.scheduler.refresher import Refresher


async def test_stopping_waits_for_what_is_refreshed_at_once() -> None:
    began, go, done = asyncio.Event(), asyncio.Event(), []

    async def refresh(number: int) -> None:
        began.set()
        await go.wait()
        done.append(number)

    refresher = Refresher(refresh)
    refreshing = asyncio.create_task(refresher.now(5))
    await began.wait()
    stopping = asyncio.create_task(refresher.stop())
    await asyncio.sleep(0)
    await asyncio.sleep(0)
    assert not stopping.done()
    go.set()
    await stopping
    assert done == [5]
    await refreshing


async def test_after_the_end_nothing_is_refreshed_at_once() -> None:
    done: list[int] = []

    async def refresh(number: int) -> None:
        done.append(number)

    refresher = Refresher(refresh)
    await refresher.now(4)
    await refresher.stop()
    await refresher.now(5)
    assert done == [4]
