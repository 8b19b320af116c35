"""A member's own character and controls."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.chat import Chat, place_of
from bot.components.layout import Layout
from bot.components.offers import Choices, offered
from bot.render.ask import card
from bot.render.chat import own_card
from bot.services.complete import complete_controls
from bot.services.desk import TAKES_BACK


class Members(commands.Cog):
    """/character."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(description="Choose your own character here, or see whom you chose")
    @app_commands.describe(
        name="The character you play; none takes the choice back",
        controls="How you control them, where the game has several ways; none takes it back",
    )
    async def character(
        self, interaction: discord.Interaction[Any], name: str | None = None, controls: str | None = None
    ) -> None:
        """Choose the member's own character and controls, or show them."""
        desk, place = self._chat.desk, place_of(self._chat, interaction)
        refused = await desk.choose_own(place, name, controls, interaction.id)
        own = own_card(desk.game_of(place), desk.character_of(place), desk.controls_of(place))
        await self._chat.reply(interaction, Layout(card(refused) if refused else own), private=True)

    @character.autocomplete("name")
    async def offer_names(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Characters of the server's game, and none."""
        desk, place = self._chat.desk, place_of(self._chat, interaction)
        return self._chat.offer(
            interaction, lambda: offered([*desk.complete_character(place, typed), TAKES_BACK])
        )

    @character.autocomplete("controls")
    async def offer_controls(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Control schemes of the server's game, and none."""
        desk, place = self._chat.desk, place_of(self._chat, interaction)
        return self._chat.offer(
            interaction, lambda: offered([*complete_controls(desk.game_of(place), typed), TAKES_BACK])
        )
