"""Keeping tallies: logging them, looking at them, taking them out."""

from __future__ import annotations

import re
from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.chat import Chat, place_of
from bot.components.form import form_sent
from bot.components.ids import FORM_TEMPLATE, is_lost_words_id
from bot.components.log import log_entry, log_layout, show_list, take_form
from bot.components.offers import Choices, offer_practised, offered
from bot.render.forms import context_name
from bot.results.tally import Controller, Side
from bot.services.complete import complete_controls
from bot.services.log import Entry
from core.learning.tally import Context

FORM = re.compile(FORM_TEMPLATE)
WHERE = [app_commands.Choice(name=context_name(one), value=one.value) for one in Context]
PRESSES = [app_commands.Choice(name="one press", value=1), app_commands.Choice(name="double tap", value=2)]
SIDES = [app_commands.Choice(name=f"facing {one.value}", value=one.value) for one in Side]
CONTROLLERS = [app_commands.Choice(name=one.value, value=one.value) for one in Controller]


class Log(commands.Cog):
    """/log, /tallies and /undo, and the form."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(description="Log what you practised and how it went; only you see it")
    @app_commands.describe(
        what="5MP, 2MP (a link), 5MP > 2MP > 236LP (a route), or drill: anti-airs",
        result="7/10, or 10: 7 hit, 2 early, 1 late",
        where="Where you made these tries",
        presses="How often you pressed for each try",
        gaps="Gaps off the game's input history: 24, 21, 25",
        side="Which way your character faced",
        controller="What your hands were on; remembered",
        controls="Your control scheme, where the game has several; remembered",
        note="Anything to remember",
        when="If it was not just now: yesterday 21:00, 2 hours ago",
    )
    @app_commands.choices(where=WHERE, side=SIDES, controller=CONTROLLERS)
    @app_commands.choices(presses=PRESSES)
    async def log(
        self,
        interaction: discord.Interaction[Any],
        what: str,
        result: str,
        where: str | None = None,
        presses: int | None = None,
        gaps: str = "",
        side: str | None = None,
        controller: str | None = None,
        controls: str | None = None,
        note: str = "",
        when: str = "",
    ) -> None:
        """Log a tally."""
        entry = Entry(
            what=what,
            result=result,
            context=Context(where) if where else None,
            presses=presses,
            gaps=gaps,
            side=Side(side) if side else None,
            controller=Controller(controller) if controller else None,
            controls=controls,
            note=note,
            when=when,
        )
        await log_entry(self._chat, interaction, entry)

    @app_commands.command(description="Your tallies, the newest first, to look at, change or take out")
    async def tallies(self, interaction: discord.Interaction[Any]) -> None:
        """List the member's tallies."""
        await show_list(self._chat, interaction)

    @app_commands.command(description="Take your last tally out again")
    async def undo(self, interaction: discord.Interaction[Any]) -> None:
        """Take the last tally out."""
        place = place_of(self._chat, interaction)
        result = await self._chat.log.undo(place, None, interaction.id)
        layout = log_layout(self._chat, place, result)
        await self._chat.reply(interaction, layout, private=True)

    @log.autocomplete("what")
    async def offer_what(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """What the member practises, and saved routes."""
        return await offer_practised(self._chat, interaction, typed)

    @log.autocomplete("controls")
    async def offer_controls(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """Control schemes of the server's game."""
        game = self._chat.desk.game_of(place_of(self._chat, interaction))
        return self._chat.offer(interaction, lambda: offered(complete_controls(game, typed)))

    @commands.Cog.listener()
    async def on_interaction(self, interaction: discord.Interaction[Any]) -> None:
        """Take a form that was filled in, opened by this process or by an earlier one; one that nobody reads
        any more is told so."""
        custom_id = form_sent(interaction)
        if FORM.fullmatch(custom_id) or is_lost_words_id(custom_id):
            await self._chat.press(
                interaction, "form log", lambda: take_form(self._chat, interaction, custom_id)
            )
