"""Who is who in a server, asked of the platform: unasked it does not tell who left, nor anything of servers
that another process holds."""

from __future__ import annotations

import asyncio
import logging
import time
from collections import OrderedDict
from collections.abc import Collection, Mapping

import aiohttp
import discord

MOST_REMEMBERED = 5_000
REMEMBERED_SECONDS = 3600.0
"""How long an answer is good for: names change, and members leave."""
SILENCE = (discord.HTTPException, discord.RateLimited, aiohttp.ClientError, OSError, TimeoutError)
"""What is raised where the platform does not tell."""

log = logging.getLogger(__name__)


class Names:
    """The names that members and servers go by, some of them remembered for a while."""

    def __init__(self, bot: discord.Client) -> None:
        self._bot = bot
        self._remembered: OrderedDict[tuple[int, int], tuple[float, str]] = OrderedDict()

    async def of(self, server_id: int, member_ids: Collection[int]) -> Mapping[int, str]:
        """The names that are shown for these members, as they wrote them. Who left the server is left out,
        and so is whom the platform does not tell just now."""
        if not member_ids:
            return {}
        try:
            guild = await self._guild(server_id)
        except SILENCE as error:
            log.info("the platform did not tell of a server: %r", error)
            return {}
        if guild is None:
            return {}
        asked = list(dict.fromkeys(member_ids))
        names = await asyncio.gather(*(self._name(guild, member_id) for member_id in asked))
        return {member_id: name for member_id, name in zip(asked, names, strict=True) if name is not None}

    async def server(self, server_id: int) -> str | None:
        """What the server is called, as its moderators wrote it; None where we are not in it, and where the
        platform does not tell just now."""
        try:
            guild = await self._guild(server_id)
        except SILENCE as error:
            log.info("the platform did not tell a server's name: %r", error)
            return None
        return guild.name if guild is not None else None

    async def are_we_in(self, server_id: int) -> bool:
        """Whether we are in this server now. Raises what the platform's silence raises: no server is to be
        taken for left because of it, nor because the platform has lost it for now."""
        return self._bot.get_guild(server_id) is not None or await self._guild(server_id) is not None

    async def is_here(self, server_id: int, member_id: int) -> bool:
        """Whether this is a member of the server now. Raises what the platform's silence raises: nobody is to
        be taken for gone because of it."""
        guild = await self._guild(server_id)
        return guild is not None and await self._fetched(guild, member_id) is not None

    async def with_role(self, server_id: int, member_ids: Collection[int], role_id: int) -> tuple[int, ...]:
        """Those of these members who have this role now, in their order. Raises as `is_here` does."""
        guild = await self._guild(server_id)
        if guild is None:
            return ()
        asked = list(dict.fromkeys(member_ids))
        members = await asyncio.gather(*(self._fetched(guild, member_id) for member_id in asked))
        return tuple(one.id for one in members if one is not None and _has_role(one, role_id))

    async def _guild(self, server_id: int) -> discord.Guild | None:
        """The server, fetched where this process does not hold it or has not heard of it yet; None where we
        are not in it."""
        guild = self._bot.get_guild(server_id)
        if guild is not None and not guild.unavailable:
            return guild
        try:
            return await self._bot.fetch_guild(server_id, with_counts=False)
        except (discord.NotFound, discord.Forbidden):
            return None

    async def _name(self, guild: discord.Guild, member_id: int) -> str | None:
        cached = guild.get_member(member_id)
        if cached is not None:
            return cached.display_name
        until, name = self._remembered.get((guild.id, member_id), (0.0, ""))
        if _seconds() < until:
            self._remembered.move_to_end((guild.id, member_id))
            return name
        try:
            member = await self._fetched(guild, member_id)
        except SILENCE as error:
            log.info("the platform did not tell a member's name: %r", error)
            return None
        return member.display_name if member is not None else None

    async def _fetched(self, guild: discord.Guild, member_id: int) -> discord.Member | None:
        """The member, as the platform knows them now; None for who is none."""
        key = (guild.id, member_id)
        self._remembered.pop(key, None)
        try:
            member = await guild.fetch_member(member_id)
        except discord.NotFound:
            return None
        self._remembered[key] = (_seconds() + REMEMBERED_SECONDS, member.display_name)
        while len(self._remembered) > MOST_REMEMBERED:
            self._remembered.popitem(last=False)
        return member


def _has_role(member: discord.Member, role_id: int) -> bool:
    return role_id == member.guild.id or member.get_role(role_id) is not None  # the first is everybody's


def _seconds() -> float:
    return time.monotonic()
