"""What the log says, and what to do next."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.chat import Chat, place_of
from bot.components.layout import Layout
from bot.components.offers import Choices, offer_practised
from bot.components.reports import show_plan, show_progress, show_timing
from bot.render.progress import goal_card, practice_refusal_card
from bot.results.practice import PracticeRefusal

WHAT = "A link, a route or a drill; all of it where you name none"
DATE = "A day you train for, such as a tournament: 20 Jan, in 3 weeks"
SHARE = "Show it to everybody in this channel; else only you see it"
MOST_MINUTES = 240


class Practice(commands.Cog):
    """/timing, /progress, /plan and /goal."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(
        description="Do you press early or late, where to aim, and would a double tap help?"
    )
    @app_commands.describe(what=WHAT, share=SHARE)
    async def timing(
        self, interaction: discord.Interaction[Any], what: str | None = None, share: bool = False
    ) -> None:
        """Say what the log tells of the member's timing."""
        await show_timing(self._chat, interaction, what, private=not share)

    @app_commands.command(description="How it goes: over time, in training and in matches, and what is yours")
    @app_commands.describe(what=WHAT, date=DATE, share=SHARE)
    async def progress(
        self,
        interaction: discord.Interaction[Any],
        what: str | None = None,
        date: str | None = None,
        share: bool = False,
    ) -> None:
        """Say how it goes."""
        await show_progress(self._chat, interaction, what, date, private=not share)

    @app_commands.command(description="A session for the minutes you have: weakest link first, with breaks")
    @app_commands.describe(minutes="How many minutes you have", what=WHAT, date=DATE)
    async def plan(
        self,
        interaction: discord.Interaction[Any],
        minutes: app_commands.Range[int, 1, MOST_MINUTES],
        what: str | None = None,
        date: str | None = None,
    ) -> None:
        """Plan a session."""
        await show_plan(self._chat, interaction, minutes, what, date)

    @app_commands.command(description="From which share landed you call a link or route your own")
    @app_commands.describe(share="A percentage from 50 to 99, such as 80")
    async def goal(self, interaction: discord.Interaction[Any], share: str) -> None:
        """Choose the member's goal."""
        place = place_of(self._chat, interaction)
        chosen = await self._chat.progress.set_goal(place, share, interaction.id)
        if isinstance(chosen, PracticeRefusal):
            card = practice_refusal_card(chosen)
        else:
            card = goal_card(self._chat.desk.game_of(place), chosen)
        await self._chat.reply(interaction, Layout(card), private=True)

    @timing.autocomplete("what")
    @progress.autocomplete("what")
    @plan.autocomplete("what")
    async def offer_what(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """What the member practises, and saved routes."""
        return await offer_practised(self._chat, interaction, typed)
