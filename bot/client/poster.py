"""Posts in channels and direct messages, which are found again by a marker and can be changed."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

import discord

from bot.client import sending
from bot.ports import NotReachableError, NotReadableError, Outgoing

UNKNOWN_CHANNEL, NO_DIRECT_MESSAGES, NO_SHARED_SERVER, NOT_A_RECIPIENT = 10003, 50007, 50278, 50033
"""The platform's error codes."""
CLOSED = {UNKNOWN_CHANNEL, NO_DIRECT_MESSAGES, NO_SHARED_SERVER}
ID_CHARACTERS = 100  # of what a button carries, as the platform takes it
MOST_READ = 1_000
"""Messages of a channel that are read to find one of ours; a busy channel has many in few minutes."""


class ChannelPoster:
    """Posts for the bot. The marker ends what the first button of a post carries, after a `|`."""

    def __init__(self, bot: discord.Client) -> None:
        self._bot = bot

    async def post(self, channel_id: int, marker: str, content: Outgoing) -> int:
        """Post it; the id of the message. Raises NotReachableError, and ValueError where it has no button."""
        _mark(content.view, marker)
        try:
            return await sending.post(
                self._channel(channel_id),
                content.view,
                files=_files(content),
                mention=content.mention,
                nonce=marker,
            )
        except discord.HTTPException as error:
            if error.code in CLOSED:
                raise NotReachableError(f"channel {channel_id} takes no posts: {error.text}") from error
            raise

    async def find(self, channel_id: int, marker: str, since: datetime) -> int | None:
        """The id of our own message with this marker; None where there is none since then, or no such channel
        any more. Raises NotReadableError."""
        assert self._bot.user is not None
        history = self._channel(channel_id).history(after=since, oldest_first=True, limit=MOST_READ)
        try:
            if not await self._may_read(channel_id):  # the platform would say that there are no messages
                raise NotReadableError(f"channel {channel_id} does not let us read its history")
            async for message in history:
                if message.author.id == self._bot.user.id and _carries(message.components, marker):
                    return message.id
        except discord.NotFound:
            return None
        except discord.Forbidden as error:
            raise NotReadableError(f"channel {channel_id} is hidden from us: {error.text}") from error
        return None

    async def edit(self, channel_id: int, message_id: int, marker: str, content: Outgoing) -> bool:
        """Change a post of ours, its pictures too; False where it or its channel is gone. Raises ValueError
        where the new card has no button."""
        _mark(content.view, marker)
        message = self._channel(channel_id).get_partial_message(message_id)
        try:
            await sending.amend(message, content.view, files=_files(content))
        except discord.NotFound:
            return False
        return True

    async def direct(self, user_id: int) -> int | None:
        """The channel of our direct messages with this user; None where there is no such user."""
        try:
            return (await self._bot.create_dm(discord.Object(user_id))).id
        except discord.HTTPException as error:
            if isinstance(error, discord.NotFound) or error.code == NOT_A_RECIPIENT:
                return None
            raise

    def _channel(self, channel_id: int) -> discord.PartialMessageable:
        return self._bot.get_partial_messageable(channel_id)  # one that is not in the cache does as well

    async def _may_read(self, channel_id: int) -> bool:
        """Whether a channel's history is open to us; it is fetched where another process holds its server."""
        channel = self._bot.get_channel(channel_id)
        if channel is not None:
            if isinstance(channel, discord.Thread):
                channel = channel.parent
            if not isinstance(channel, discord.abc.GuildChannel):
                return True
            return channel.permissions_for(channel.guild.me).read_message_history
        fetched = await self._bot.fetch_channel(channel_id)
        if isinstance(fetched, discord.Thread):
            fetched = await self._bot.fetch_channel(fetched.parent_id)
        if not isinstance(fetched, discord.abc.GuildChannel):
            return True
        assert self._bot.user is not None
        fetched.guild = await self._bot.fetch_guild(fetched.guild.id, with_counts=False)  # with its roles
        me = await fetched.guild.fetch_member(self._bot.user.id)
        return fetched.permissions_for(me).read_message_history


def _mark(view: discord.ui.LayoutView, marker: str) -> None:
    """Let the first button of the card carry the marker, which it may do already: a post may be tried again.
    Raises ValueError where there is none, or where it carries too much."""
    button = next(_buttons(view.walk_children()), None)
    if button is None or button.custom_id is None:
        raise ValueError("a post needs a button of ours, which carries its marker")
    if button.custom_id.endswith(f"|{marker}"):
        return
    marked = f"{button.custom_id}|{marker}"
    if len(marked) > ID_CHARACTERS:
        raise ValueError(f"the first button of a post carries too much for a marker: {button.custom_id}")
    button.custom_id = marked


def _buttons(items: Iterable[discord.ui.Item[Any]]) -> Iterator[discord.ui.Button[Any]]:
    """The buttons among these that carry something: not those which lead to an address."""
    for item in items:
        inner = item.item if isinstance(item, discord.ui.DynamicItem) else item
        if isinstance(inner, discord.ui.Button) and inner.custom_id is not None:
            yield inner


def _carries(components: Iterable[Any], marker: str) -> bool:
    """Whether something in these parts of a message carries the marker."""
    return any(
        (getattr(part, "custom_id", None) or "").endswith(f"|{marker}")
        or _carries(getattr(part, "children", ()), marker)
        for part in components
    )


def _files(content: Outgoing) -> list[discord.File]:
    """The pictures as they are sent: each file is sent once, so that they are made anew each time."""
    return [discord.File(io.BytesIO(png), filename=name) for name, png in content.pictures]
