"""What is kept of a member, to be had and to be erased."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.chat import Chat
from bot.components.data import ask_to_erase, send_export, show_kept


class OwnData(commands.Cog):
    """/mydata show, download and erase."""

    mydata = app_commands.Group(
        name="mydata", description="What is kept of you here: see it, take it, erase it"
    )

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @mydata.command(description="What is kept of you here")
    async def show(self, interaction: discord.Interaction[Any]) -> None:
        """Say what is kept."""
        await show_kept(self._chat, interaction)

    @mydata.command(description="Everything that is kept of you here, as JSON and as a table (CSV)")
    async def download(self, interaction: discord.Interaction[Any]) -> None:
        """Send it all."""
        await send_export(self._chat, interaction)

    @mydata.command(description="Erase everything that is kept of you here; you are asked once more")
    async def erase(self, interaction: discord.Interaction[Any]) -> None:
        """Ask whether to erase it all."""
        await ask_to_erase(self._chat, interaction)
