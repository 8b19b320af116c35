"""What commands and buttons need of the bot that they run in."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any, Protocol

import discord
from discord import app_commands

from bot.results.place import Place
from bot.services.desk import AskDesk


class Chat(Protocol):
    """The bot as its cogs and buttons see it."""

    desk: AskDesk

    @property
    def user(self) -> discord.ClientUser | None:
        """The bot's own account; None before it has connected."""

    async def reply(
        self, interaction: discord.Interaction[Any], view: discord.ui.LayoutView, *, private: bool = False
    ) -> None:
        """Answer a command or a button with a card; `private`: only who asked sees it."""

    async def answer(self, message: discord.Message, view: discord.ui.LayoutView) -> None:
        """Answer a message with a card."""

    async def press(
        self, interaction: discord.Interaction[Any], action: str, work: Callable[[], Awaitable[None]]
    ) -> None:
        """Do what a button asks for, if it may; errors are told to who pressed it."""

    async def hear(self, message: discord.Message, action: str, work: Callable[[], Awaitable[None]]) -> None:
        """Do what a message asks for, if it may; errors are told to its author."""

    def offer(
        self, interaction: discord.Interaction[Any], find: Callable[[], list[app_commands.Choice[str]]]
    ) -> list[app_commands.Choice[str]]:
        """What completes an option; nothing, and a note of the error, where that fails."""


def place_of(event: discord.Interaction[Any] | discord.Message) -> Place:
    """Where a command, a press or a message came from, and from whom."""
    member = event.author if isinstance(event, discord.Message) else event.user
    server, channel = event.guild, event.channel
    if isinstance(event, discord.Interaction):
        return Place(event.guild_id, event.channel_id or 0, member.id)
    assert channel is not None
    return Place(server.id if server else None, channel.id, member.id)
