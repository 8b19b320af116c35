"""The room's community in the test itself, without a page."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

import simcord
from chat.world import answers_in, text_of
from databases import database_at
from inline import InlineWorker

from bot.app import Cornerman, build
from bot.client.shards import SINGLE
from bot.config import Settings
from bot.room.community import read_community
from bot.room.passing import Passing
from bot.room.world import RoomClock, World, found


@dataclass(frozen=True, slots=True)
class Opened:
    """The community, as it is when the room opens."""

    env: simcord.Env
    bot: Cornerman
    world: World
    passing: Passing

    def told(self, name: str) -> list[str]:
        """What the bot wrote to a member."""
        channel = self.world.messages[name].channel
        return [text_of(message).replace("\\", "") for message in answers_in(channel, self.bot)]


@asynccontextmanager
async def opened_at(tmp_path: Path) -> AsyncIterator[Opened]:
    """In the test itself: a fixture would end the simulator in another context than it began in."""
    clock = RoomClock()
    bot = build(Settings.model_construct(database=database_at(tmp_path)), clock, InlineWorker(), SINGLE)
    async with simcord.run(bot, check_errors=False) as env:
        clock.env = env
        world = await found(env, bot, read_community())
        yield Opened(env, bot, world, Passing(env, clock, bot.jobs))
        await bot.close()
