"""`cornerman run` in this process, against the platform on loopback."""

from __future__ import annotations

import asyncio
import os
import signal
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from chat.platform import Platform, command, serving
from chat.world import EnvClock, new_bot

from bot.app import Cornerman
from bot.client.run import run
from bot.client.shards import SINGLE, Shards

TOKEN = "aaaa.bbbb.cccc"
WORDS = "does Odrun's 5MP link into 2MP?"
LOOKS = 2_000
LOOK_SECONDS = 0.01


async def until(condition: Callable[[], object]) -> None:
    """Let the others go on until this holds; it fails the test where it never does."""
    for _ in range(LOOKS):
        if condition():
            return
        await asyncio.sleep(LOOK_SECONDS)
    pytest.fail("what was waited for did not come")


@dataclass(slots=True)
class Running:
    """What runs: `bots` has one for each try."""

    platform: Platform
    folder: Path
    shards: Shards | None
    bots: list[Cornerman] = field(default_factory=list)
    staying: asyncio.Task[None] | None = None
    asked: int = 100

    def make_bot(self) -> Cornerman:
        bot = new_bot(EnvClock(), self.folder, self.shards)
        bot._connection.guild_ready_timeout = 0.05  # the library waits for servers for as long as that
        self.bots.append(bot)
        return bot

    @property
    def bot(self) -> Cornerman:
        return self.bots[-1]

    def start(self) -> None:
        self.staying = asyncio.create_task(run(self.make_bot, TOKEN, lambda: 0.0))

    async def ready(self, *shards: int) -> None:
        """Wait until these shards are, the first of them unless others are named."""
        await until(lambda: self.bots and {*(shards or [0])} <= self.ready_shards())

    def ready_shards(self) -> set[int]:
        return {line.shard for line in self.bot._lines if line.ready_at is not None}

    async def answers(self, server_id: int | None = None) -> None:
        """Ask, and wait for the answer: the platform has it."""
        self.asked += 1
        before = len(self.platform.answered)
        shard = 0 if server_id is None else self.bot.shards_held.of(server_id)
        await self.platform.emit(
            "INTERACTION_CREATE", command(self.asked, "ask", server_id, question=WORDS), shard
        )
        await until(lambda: len(self.platform.answered) > before)
        assert "5MP" in str(self.platform.answered[-1])

    async def stop(self, by: signal.Signals = signal.SIGTERM) -> None:
        """Tell it to stop, and wait until it has. Raises what it raised."""
        assert self.staying is not None
        if not self.staying.done():
            os.kill(os.getpid(), by)
        await self.ends()

    async def ends(self) -> None:
        """Wait until it has ended by itself. Raises what it raised."""
        assert self.staying is not None
        await asyncio.wait_for(self.staying, 20)


@asynccontextmanager
async def running(
    platform: Platform, patch: pytest.MonkeyPatch, folder: Path, shards: Shards | None = SINGLE
) -> AsyncIterator[Running]:
    """It runs, or tries to; afterwards it is told to stop, and has left nothing open."""
    async with serving(platform, patch):
        found = Running(platform, folder, shards)
        found.start()
        yield found
        await found.stop()
        assert all(bot.is_closed() for bot in found.bots)


def lines(records: Any, logger: str) -> list[str]:
    """What a logger wrote."""
    return [record.getMessage() for record in records if record.name == logger]
