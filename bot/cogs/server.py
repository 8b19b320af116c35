"""What a server's moderators decide."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.chat import Chat, place_of
from bot.components.layout import Layout
from bot.components.offers import Choices, offered
from bot.render.chat import no_zone_card, zone_card
from bot.services.settings import complete_zones


class Server(commands.Cog):
    """/zone."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(description="Choose the time zone that this server's weeks and times are told in")
    @app_commands.describe(name="Such as Europe/Lisbon or America/Chicago")
    @app_commands.default_permissions(manage_guild=True)
    @app_commands.allowed_contexts(guilds=True, dms=False, private_channels=False)
    async def zone(self, interaction: discord.Interaction[Any], name: str | None = None) -> None:
        """Choose the server's time zone, or show it."""
        chat, place = self._chat, place_of(self._chat, interaction)
        chosen: str | None = chat.book.zone(place.owner).key
        if name is not None:
            chosen = await chat.book.set_zone(place, name, interaction.id)
        game = chat.desk.game_of(place)
        card = (
            zone_card(chosen, game) if chosen else no_zone_card(name or "", complete_zones(name or ""), game)
        )
        await chat.reply(interaction, Layout(card), private=True)

    @zone.autocomplete("name")
    async def offer_zones(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Time zones."""
        return self._chat.offer(interaction, lambda: offered(complete_zones(typed)))
