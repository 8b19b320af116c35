"""What a new version of a game changed: /patch."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.chat import Chat, place_of
from bot.components.offers import Choices, offered
from bot.components.patches import show_patch


class Patches(commands.Cog):
    """/patch."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(description="What the game's new version changed, and what it does to your routes")
    @app_commands.describe(since="An earlier version to compare with; else the one before")
    async def patch(self, interaction: discord.Interaction[Any], since: str = "") -> None:
        """Show what changed."""
        await show_patch(self._chat, interaction, since)

    @patch.autocomplete("since")
    async def offer_versions(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """The versions that are kept."""

        async def find() -> Choices:
            place = place_of(self._chat, interaction)
            return offered(await self._chat.game_desk.complete_version(place, typed))

        return await self._chat.offer_stored(interaction, find)
