"""Coaches and students: /coaches, /students, /coach and /reminders."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.chat import Chat
from bot.components.coach_board import page_of, show_board, show_stuck
from bot.components.coaching import ask, choose_coaches, my_coaches
from bot.components.offers import Choices, offered
from bot.components.reminders import set_reminders
from bot.services.settings import complete_zones

ON, OFF = "on", "off"
MESSAGES = [app_commands.Choice(name=one, value=one) for one in (ON, OFF)]


class Coaching(commands.Cog):
    """/coaches, /coach and /reminders."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(description="Choose which role makes a coach, or see which it is")
    @app_commands.describe(
        role="Who has it is a coach", notices="Where those are called who take no direct messages"
    )
    @app_commands.default_permissions(manage_guild=True)
    @app_commands.allowed_contexts(guilds=True, dms=False, private_channels=False)
    async def coaches(
        self,
        interaction: discord.Interaction[Any],
        role: discord.Role | None = None,
        notices: discord.TextChannel | None = None,
    ) -> None:
        """Choose the coaches' role and the channel, or show them."""
        await choose_coaches(self._chat, interaction, role, notices)

    @app_commands.command(description="Your coaches: who asks to be, who is, and how to end it")
    async def coach(self, interaction: discord.Interaction[Any]) -> None:
        """Show the member's coaches."""
        await my_coaches(self._chat, interaction)

    @app_commands.command(description="What I may write to you unasked, and when")
    @app_commands.describe(
        zone="Your time zone, such as Europe/Lisbon",
        quiet="When I leave you in peace, such as 22:00-08:00",
        messages="Whether I write to you unasked at all",
    )
    @app_commands.choices(messages=MESSAGES)
    async def reminders(
        self,
        interaction: discord.Interaction[Any],
        zone: str | None = None,
        quiet: str | None = None,
        messages: str | None = None,
    ) -> None:
        """Choose or show reminders."""
        muted = None if messages is None else messages == OFF
        await set_reminders(self._chat, interaction, zone, quiet, muted)

    @reminders.autocomplete("zone")
    async def offer_zones(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Time zones."""
        return self._chat.offer(interaction, lambda: offered(complete_zones(typed)))


@app_commands.allowed_contexts(guilds=True, dms=False, private_channels=False)
class Students(commands.GroupCog, group_name="students", group_description="A coach's students"):
    """/students and its commands."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(description="Your students: homework, practice, and where they are stuck (coaches)")
    async def board(self, interaction: discord.Interaction[Any]) -> None:
        """Show the board."""
        await show_board(self._chat, interaction)

    @app_commands.command(description="Ask a member to be your student (coaches)")
    @app_commands.describe(member="Whom you ask; they say yes or no")
    async def ask(self, interaction: discord.Interaction[Any], member: discord.Member) -> None:
        """Ask a member."""
        await ask(self._chat, interaction, member)

    @app_commands.command(description="One student's page, with your notes (coaches)")
    @app_commands.describe(member="One of your students")
    async def page(self, interaction: discord.Interaction[Any], member: discord.Member) -> None:
        """Show a student's page."""
        await page_of(self._chat, interaction, member.id)

    @app_commands.command(description="What several of your students are stuck on (coaches)")
    async def stuck(self, interaction: discord.Interaction[Any]) -> None:
        """Show what several are stuck on."""
        await show_stuck(self._chat, interaction)
