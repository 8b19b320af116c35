"""Two servers with a game each, a member of every standing, and reading what they were answered."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import discord
import simcord
from databases import database_at
from inline import InlineWorker

from bot.app import Cornerman, build
from bot.client.shards import SINGLE, Shards
from bot.config import Settings
from bot.results.tally import ServerSettings
from bot.services.access import Standing

BEGIN = datetime(2026, 1, 1, tzinfo=UTC)
GAMES = {"Saltglass": "Harbour", "Kitewind": "Hilltop"}


class EnvClock:
    """The simulator's time."""

    env: simcord.Env | None = None

    def now(self) -> datetime:
        return self.env.now() if self.env else BEGIN


def new_bot(clock: EnvClock, folder: Path, shards: Shards | None = SINGLE) -> Cornerman:
    """The bot as `run` and the room build it, with the default settings whatever the environment says; its
    database lies in this folder, and its pictures are drawn in this process."""
    settings = Settings.model_construct(database=database_at(folder))
    return build(settings, clock, InlineWorker(), shards)


@dataclass(slots=True)
class Server:
    """One server: its game, a channel, and a member of each standing."""

    game: str
    guild: simcord.GuildHandle
    channel: simcord.ChannelHandle
    other_channel: simcord.ChannelHandle
    ann: simcord.MemberActor
    bo: simcord.MemberActor
    by_standing: dict[Standing, simcord.MemberActor]

    @property
    def mod(self) -> simcord.MemberActor:
        return self.by_standing[Standing.MODERATOR]


@dataclass(slots=True)
class World:
    """Everything."""

    env: simcord.Env
    clock: EnvClock
    servers: dict[str, Server]
    folder: Path

    @property
    def bot(self) -> Cornerman:
        bot = self.env.bot
        assert isinstance(bot, Cornerman)
        return bot

    @property
    def salt(self) -> Server:
        return self.servers["Saltglass"]

    @property
    def kite(self) -> Server:
        return self.servers["Kitewind"]

    @property
    def mention(self) -> str:
        assert self.bot.user is not None
        return self.bot.user.mention

    async def restart(self, shards: Shards = SINGLE) -> None:
        """Another process takes over, with these shards: all that was in memory is gone."""
        old = self.bot
        await old.scheduler.stop(0)
        await old.refresher.stop()
        await old.in_step.close()
        await self.env.restart_bot(new_bot(self.clock, self.folder, shards))
        await old.store.close()


async def build_world(env: simcord.Env, clock: EnvClock, folder: Path) -> World:
    """Found the servers; each one's moderator chooses its game, as a moderator does."""
    servers: dict[str, Server] = {}
    bot: Any = env.bot
    for game, name in GAMES.items():
        guild = env.create_guild(name)
        role = guild.create_role("Host", permissions=discord.Permissions(manage_guild=True))
        coach = guild.create_role("Corner")
        channel = guild.create_text_channel("frames")
        people = {
            standing: guild.add_member(
                env.create_user(f"{standing.value}-{name}".lower()),
                roles={Standing.MODERATOR: [role], Standing.COACH: [coach]}.get(standing, []),
            )
            for standing in (Standing.MEMBER, Standing.STUDENT, Standing.COACH, Standing.MODERATOR)
        }
        await bot.book.set_server(guild.id, ServerSettings(coach_role=coach.id))
        servers[game] = Server(
            game,
            guild,
            channel,
            guild.create_text_channel("talk"),
            people[Standing.MEMBER],
            people[Standing.STUDENT],
            people,
        )
        await env.settle()
        if game != Settings.model_construct().default_game:
            await people[Standing.MODERATOR].slash(channel, "game choose", name=game)
    return World(env, clock, servers, folder)


def walk(components: Any) -> Iterator[dict[str, Any]]:
    """Every component of an answer."""
    return iter(simcord.components.walk_components(components))


def text_of(answer: Any) -> str:
    """All text of an answer as it went over the wire."""
    response = getattr(answer, "response", answer)
    return "\n".join(
        [response.content or "", *(one["content"] for one in walk(parts(response)) if one["type"] == 10)]
    )


def labels_of(answer: Any) -> list[str]:
    """What the buttons of an answer say."""
    response = getattr(answer, "response", answer)
    return [one["label"] for one in walk(parts(response)) if one["type"] == 2]


def parts(response: Any) -> Any:
    """The components of a message as they went over the wire."""
    return [part if isinstance(part, dict) else part.to_dict() for part in response.components]


def answers_in(server_channel: simcord.ChannelHandle, bot: Cornerman) -> list[Any]:
    """What the bot has written into a channel."""
    assert bot.user is not None
    return [message for message in server_channel.history() if message.author.id == bot.user.id]
