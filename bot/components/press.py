"""What all buttons have in common: they outlive a restart, for all that they need stands in their id."""

from __future__ import annotations

import re
from typing import Any, Self

import discord

from bot.components.chat import Chat
from bot.components.layout import Layout


class Press(discord.ui.DynamicItem[discord.ui.Button[Layout]], template=r"(?!)"):
    """A persistent button. discord.py swallows what goes wrong in one: so each is run by the bot's policy."""

    ACTION: str

    @classmethod
    async def from_custom_id(
        cls, _: discord.Interaction[Any], item: discord.ui.Item[Any], __: re.Match[str], /
    ) -> Self:
        """The button that was pressed, made again from its id."""
        assert isinstance(item, discord.ui.Button)
        return cls(item)

    async def callback(self, interaction: discord.Interaction[Any]) -> None:
        """Run what the button does."""
        chat: Chat = interaction.client
        await chat.press(interaction, f"button {self.ACTION}", lambda: self.pressed(chat, interaction))

    async def pressed(self, chat: Chat, interaction: discord.Interaction[Any]) -> None:
        """What the button does."""
        raise NotImplementedError
