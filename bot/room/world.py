"""The community, brought to life in the simulator."""

from __future__ import annotations

import re
import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any

import discord
import simcord

from bot.app import Cornerman
from bot.client import sending
from bot.components.drill_jobs import refresh_drill
from bot.components.welcome import welcome_layout
from bot.render.welcome import welcome_card
from bot.results.place import Owner, Place
from bot.room.community import Community
from bot.room.groups import write_groups
from bot.room.history import write_history

BEGIN = datetime(2026, 1, 1, tzinfo=UTC)
"""When the simulator's time begins."""


class RoomClock:
    """The simulator's time, which `day` and `week` move; between them it goes on as any clock does, so that
    a quiz can be answered too slowly."""

    env: simcord.Env | None = None

    def __init__(self) -> None:
        self._began_seconds = _real_seconds()

    def now(self) -> datetime:
        """The time now; before the simulator has started, when it will start."""
        if self.env is None:
            return BEGIN
        return self.env.now() + timedelta(seconds=_real_seconds() - self._began_seconds)

    def hand_over(self) -> None:
        """Show the simulator's own time again, which is then moved to where this clock was: its timers count
        only what it goes through itself."""
        self._began_seconds = _real_seconds()


def _real_seconds() -> float:
    """Of a clock that the simulator leaves alone, as it does not `time.monotonic`."""
    return time.clock_gettime(time.CLOCK_MONOTONIC)


@dataclass(frozen=True, slots=True)
class View:
    """What the page can show: one channel, through the eyes of those who may read it."""

    title: str
    channel: simcord.ChannelHandle
    viewers: tuple[simcord.MemberActor | simcord.UserHandle, ...]


@dataclass(frozen=True, slots=True)
class World:
    """Every view: `channels` and `messages` by the names of channels and members. `first` is what opens.
    `moderator`: of the first server, who loads patches; `patches`: where they are told of."""

    channels: Mapping[str, View]
    messages: Mapping[str, View]
    first: View
    moderator: simcord.MemberActor
    patches: View


async def found(env: simcord.Env, bot: Cornerman, community: Community) -> World:
    """Build the servers, name the bot, let the hosts choose their games and the bot greet, and give the
    members their months of practice."""
    assert bot.user is not None
    await bot.user.edit(username=community.bot)
    channels: dict[str, View] = {}
    messages: dict[str, View] = {}
    owners: dict[str, Owner] = {}
    people: dict[str, simcord.MemberActor] = {}
    role_ids: dict[str, int] = {}
    for server in community.servers:
        guild = env.create_guild(server.name)
        roles = {
            name: guild.create_role(name, permissions=discord.Permissions(**dict.fromkeys(may, True)))
            for name, may in server.roles.items()
        }
        members = {
            who.name: guild.add_member(
                env.create_user(who.name.lower(), global_name=who.shown),
                roles=[roles[who.role]] if who.role else [],
            )
            for who in server.members
        }
        for channel in server.channels:
            handle = guild.create_text_channel(channel.name, topic=channel.topic)
            channels[channel.name] = View(f"#{channel.name}", handle, tuple(members.values()))
        for name, member in members.items():
            view = View(f"{name}'s direct messages", member.user.dm_channel, (member.user,))
            messages[name] = view
        people |= members
        owners |= {name: Owner(guild.id, member.user.id) for name, member in members.items()}
        role_ids |= {f"{server.name}: {name}": role.id for name, role in roles.items()}
        await env.settle()
        if server.game is not None:
            host = members[server.host.name]
            await host.slash(channels[server.welcome].channel, "game choose", name=server.game)
        await _greet(bot, guild.id, channels[server.welcome].channel.id)
        await env.settle()
    await write_history(bot.store, owners, bot.desk.games)
    await bot.book.load()
    channel_ids = {name: view.channel.id for name, view in channels.items()}
    await write_groups(bot, owners, channel_ids, role_ids)
    for server in community.servers:
        if server.patches is not None:
            await _tell_patches(bot, owners[server.host.name].server_id, channel_ids[server.patches])
    await env.settle()
    for drill_id in await bot.drill_boards.open_drills():
        await refresh_drill(bot, drill_id)
    first = community.servers[0]
    moderator, patches = people[first.host.name], channels[first.patches or first.welcome]
    return World(channels, messages, channels[first.welcome], moderator, patches)


async def _tell_patches(bot: Cornerman, server_id: int, channel_id: int) -> None:
    chosen = replace(bot.book.server(server_id), patch_channel=channel_id)
    await bot.book.set_server(server_id, chosen)


async def _greet(bot: Cornerman, server_id: int, channel_id: int) -> None:
    channel = bot.get_channel(channel_id)
    assert bot.user is not None
    assert isinstance(channel, discord.TextChannel)
    place = Place(server_id, channel_id, bot.user.id)
    await sending.post(channel, welcome_layout(bot.desk, place, welcome_card))


def spell_out_mentions(env: simcord.Env) -> None:
    """Make @Cornerman, as it is typed into the page, the mention that a chat client would send: the page's
    text box has no list to pick a name from."""
    create, bot = env.backend.create_message, env.bot.user
    assert bot is not None
    typed = re.compile(rf"(?<![\w<@])@{re.escape(bot.name)}\b", re.IGNORECASE)

    def create_message(channel_id: int, author_id: int, content: str | None = "", **fields: Any) -> Any:
        if content and author_id != bot.id:
            content = typed.sub(bot.mention, content)
        return create(channel_id, author_id, content, **fields)

    env.backend.create_message = create_message  # type: ignore[method-assign]
