"""Questions in plain words, and help with asking them."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.buttons import respond
from bot.components.chat import Chat, place_of
from bot.components.welcome import welcome_layout
from bot.render.welcome import help_card


class Asking(commands.Cog):
    """/ask and /help."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(description="Ask about frames, links, cancels and punishes in your own words")
    @app_commands.describe(question="Such as: does 5MP link into 2MP on counter hit?")
    async def ask(self, interaction: discord.Interaction[Any], question: str) -> None:
        """Answer a question in plain words."""
        await respond(
            self._chat, interaction, self._chat.desk.ask(place_of(self._chat, interaction), question)
        )

    @app_commands.command(description="How to ask, with questions that work here")
    async def help(self, interaction: discord.Interaction[Any]) -> None:
        """Show how to ask."""
        shown = welcome_layout(self._chat.desk, place_of(self._chat, interaction), help_card)
        await self._chat.reply(interaction, shown, private=True)
