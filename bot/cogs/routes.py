"""A member's saved routes."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.chat import Chat, place_of
from bot.components.layout import Layout
from bot.components.log import log_layout
from bot.components.offers import Choices, offered
from bot.render.routes import forgotten_card, routes_card, saved_card
from bot.results.log import LogRefusal


class Routes(commands.Cog):
    """/route save, list and forget."""

    route = app_commands.Group(name="route", description="Routes that you keep under names of your own")

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @route.command(description="Save a route under a name; only you see it")
    @app_commands.describe(moves="The route: 5MP > 2MP > 236LP", name="What you call it")
    async def save(self, interaction: discord.Interaction[Any], moves: str, name: str) -> None:
        """Save a route."""
        place = place_of(self._chat, interaction)
        saved = await self._chat.routes.save(place, moves, name, interaction.id)
        if isinstance(saved, LogRefusal):
            layout = log_layout(self._chat, place, saved)
        else:
            layout = Layout(saved_card(saved, self._chat.desk.game_of(place)))
        await self._chat.reply(interaction, layout, private=True)

    @route.command(name="list", description="The routes that you saved")
    async def list_all(self, interaction: discord.Interaction[Any]) -> None:
        """List the member's routes."""
        place = place_of(self._chat, interaction)
        routes = await self._chat.routes.listed(place)
        card = routes_card(routes, self._chat.desk.game_of(place))
        await self._chat.reply(interaction, Layout(card), private=True)

    @route.command(description="Forget a saved route; what you logged for it stays")
    @app_commands.describe(name="What you called it")
    async def forget(self, interaction: discord.Interaction[Any], name: str) -> None:
        """Forget a route."""
        place = place_of(self._chat, interaction)
        gone = await self._chat.routes.forget(place, name, interaction.id)
        if isinstance(gone, LogRefusal):
            layout = log_layout(self._chat, place, gone)
        else:
            layout = Layout(forgotten_card(gone, self._chat.desk.game_of(place)))
        await self._chat.reply(interaction, layout, private=True)

    @forget.autocomplete("name")
    async def offer_names(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Names of the member's routes."""

        async def find() -> Choices:
            return offered(await self._chat.routes.complete(place_of(self._chat, interaction), typed))

        return await self._chat.offer_stored(interaction, find)
