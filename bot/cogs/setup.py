"""How moderators set a server up: /server and its commands."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.act import FormAct
from bot.components.audit import show_audit
from bot.components.chat import Chat
from bot.components.health import show_health
from bot.components.keeping import set_keeping
from bot.components.setup import show_settings, show_step, take_words
from bot.components.words_form import take_words as take_form
from bot.services.retention import LONGEST_DAYS, SHORTEST_DAYS

FORMS = {FormAct.SETUP: take_words}


@app_commands.default_permissions(manage_guild=True)
@app_commands.allowed_contexts(guilds=True, dms=False, private_channels=False)
class Setup(commands.GroupCog, group_name="server", group_description="What this server chose"):
    """/server, its commands and its form."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(
        description="Set this server up, step by step: zone, channels, roles, game and more"
    )
    async def setup(self, interaction: discord.Interaction[Any]) -> None:
        """Show the first step."""
        await show_step(self._chat, interaction)

    @app_commands.command(description="All that this server chose, and how to change it")
    async def settings(self, interaction: discord.Interaction[Any]) -> None:
        """Show all settings."""
        await show_settings(self._chat, interaction)

    @app_commands.command(description="What I am not allowed here and need, and how to allow it")
    async def health(self, interaction: discord.Interaction[Any]) -> None:
        """Show what is amiss."""
        await show_health(self._chat, interaction)

    @app_commands.command(description="What moderators and coaches did here, the latest first")
    async def audit(self, interaction: discord.Interaction[Any]) -> None:
        """Show who did what."""
        await show_audit(self._chat, interaction)

    @app_commands.command(description="How long tallies are kept in this server")
    @app_commands.describe(days="Delete tallies older than so many days", for_ever="Keep them for ever")
    async def keep(
        self,
        interaction: discord.Interaction[Any],
        days: app_commands.Range[int, SHORTEST_DAYS, LONGEST_DAYS] | None = None,
        for_ever: bool = False,
    ) -> None:
        """Choose or show it."""
        await set_keeping(self._chat, interaction, days, for_ever)

    @commands.Cog.listener()
    async def on_interaction(self, interaction: discord.Interaction[Any]) -> None:
        """Take a form that was filled in, opened by this process or by an earlier one."""
        await take_form(self._chat, interaction, FORMS)
