"""What a server's moderators decide."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.chat import Chat, place_of
from bot.components.layout import Layout
from bot.components.offers import Choices, offered
from bot.render.ask import card
from bot.render.chat import game_card
from bot.results.ask import UnknownName


class Server(commands.Cog):
    """/game."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(description="Choose the game that this server asks about, or see which it is")
    @app_commands.describe(name="The game's name")
    @app_commands.default_permissions(manage_guild=True)
    @app_commands.allowed_contexts(guilds=True, dms=False, private_channels=False)  # guild_only adds only
    async def game(self, interaction: discord.Interaction[Any], name: str | None = None) -> None:
        """Choose the server's game, or show it."""
        desk, place = self._chat.desk, place_of(interaction)
        chosen = desk.choose_game(place, name) if name is not None else desk.game_of(place)
        shown = card(chosen) if isinstance(chosen, UnknownName) else game_card(chosen, desk.complete_game(""))
        await self._chat.reply(interaction, Layout(shown), private=True)

    @game.autocomplete("name")
    async def offer_games(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """The games there are."""
        return self._chat.offer(interaction, lambda: offered(self._chat.desk.complete_game(typed)))
