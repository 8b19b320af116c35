"""What a member does when a starter lands, and the quiz about it."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.chat import Chat, place_of
from bot.components.offers import Choices, offered, offered_moves
from bot.components.quiz import ask_next
from bot.components.sheet import reply_with, show_sheet
from bot.services.quiz import LIMIT_SECONDS, LONGEST_SECONDS, SHORTEST_SECONDS

STARTER = "The move that lands first"
SITUATION = "How it lands: hit, counter hit, punish, airborne ..."


class Conversions(commands.Cog):
    """/conversion set, show, clear and quiz."""

    conversion = app_commands.Group(name="conversion", description="What you do when a move of yours lands")

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @conversion.command(description="Keep which of your routes you play when this lands; only you see it")
    @app_commands.describe(starter=STARTER, situation=SITUATION, route="A route that you saved, by its name")
    async def set(
        self, interaction: discord.Interaction[Any], starter: str, situation: str, route: str
    ) -> None:
        """Keep a conversion."""
        place = place_of(self._chat, interaction)
        result = await self._chat.conversions.set(place, starter, situation, route, interaction.id)
        await reply_with(self._chat, interaction, result)

    @conversion.command(description="Your sheet: what you do when a move lands, and what is missing")
    @app_commands.describe(
        character="Whose moves; your own where you name none",
        share="Show it to everybody in this channel; else only you see it",
    )
    async def show(
        self, interaction: discord.Interaction[Any], character: str | None = None, share: bool = False
    ) -> None:
        """Show the member's sheet."""
        await show_sheet(self._chat, interaction, character, private=not share)

    @conversion.command(description="Take a conversion back; the route stays saved")
    @app_commands.describe(starter=STARTER, situation=SITUATION)
    async def clear(self, interaction: discord.Interaction[Any], starter: str, situation: str) -> None:
        """Take a conversion back."""
        place = place_of(self._chat, interaction)
        result = await self._chat.conversions.clear(place, starter, situation, interaction.id)
        await reply_with(self._chat, interaction, result)

    @conversion.command(description="You land a move: what now? Trains choosing without thinking")
    @app_commands.describe(seconds="How long you may take; more with a slow connection")
    async def quiz(
        self,
        interaction: discord.Interaction[Any],
        seconds: app_commands.Range[int, SHORTEST_SECONDS, LONGEST_SECONDS] = LIMIT_SECONDS,
    ) -> None:
        """Ask the next question."""
        await ask_next(self._chat, interaction, seconds)

    @set.autocomplete("starter")
    @clear.autocomplete("starter")
    async def offer_starters(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Moves of the member's character."""
        place = place_of(self._chat, interaction)
        return self._chat.offer(
            interaction, lambda: offered_moves(self._chat.desk.complete_move(place, typed))
        )

    @set.autocomplete("situation")
    @clear.autocomplete("situation")
    async def offer_situations(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Situations of the server's game."""
        place = place_of(self._chat, interaction)
        return self._chat.offer(
            interaction, lambda: offered(self._chat.conversions.complete_situation(place, typed))
        )

    @set.autocomplete("route")
    async def offer_routes(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Names of the member's routes."""

        async def find() -> Choices:
            return offered(await self._chat.routes.complete(place_of(self._chat, interaction), typed))

        return await self._chat.offer_stored(interaction, find)

    @show.autocomplete("character")
    async def offer_characters(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Characters of the server's game."""
        place = place_of(self._chat, interaction)
        return self._chat.offer(
            interaction, lambda: offered(self._chat.desk.complete_character(place, typed))
        )
