"""Homework: /homework, its commands and the forms of coaches and students."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands
from discord.ext import commands

from bot.components.act import FormAct
from bot.components.chat import Chat
from bot.components.coach_board import take_note
from bot.components.homework import my_homework, set_homework, take_hand_in, take_log
from bot.components.homework_review import show_queue, take_comment, take_send_back
from bot.components.offers import Choices, offer_practised
from bot.components.words_form import take_words
from bot.render.homework import target_name
from bot.results.coaching import HomeworkAsked, TargetKind

FORMS = {
    FormAct.HOMEWORK_LOG: take_log,
    FormAct.HAND_IN: take_hand_in,
    FormAct.SEND_BACK: take_send_back,
    FormAct.COMMENT: take_comment,
    FormAct.STUDENT_NOTE: take_note,
}
TARGETS = [app_commands.Choice(name=target_name(one), value=one.value) for one in TargetKind]


class Homework(commands.GroupCog, group_name="homework", group_description="Homework from your coach"):
    """/homework and the forms."""

    def __init__(self, chat: Chat) -> None:
        self._chat = chat

    @app_commands.command(
        name="set", description="Set homework for a student, or for all with a role (coaches)"
    )
    @app_commands.describe(
        what="5MP, 2MP (a link), 5MP > 2MP > 236LP (a route), or drill: anti-airs",
        target="What counts",
        amount="How many reps or tries",
        due="Friday, Friday 18:00, in 3 days, or 2026-03-02 18:00",
        student="Who gets it",
        role="Or all of your students with this role",
        rate="The share to land in percent, where that counts; else their own goal",
        note="Anything to say with it",
    )
    @app_commands.choices(target=TARGETS)
    async def set_one(
        self,
        interaction: discord.Interaction[Any],
        what: str,
        target: str,
        amount: int,
        due: str,
        student: discord.Member | None = None,
        role: discord.Role | None = None,
        rate: int | None = None,
        note: str = "",
    ) -> None:
        """Set homework."""
        asked = HomeworkAsked(what, TargetKind(target), amount, due, rate, note)
        await set_homework(self._chat, interaction, asked, student, role)

    @app_commands.command(description="What your students handed in, and what they ask for (coaches)")
    async def review(self, interaction: discord.Interaction[Any]) -> None:
        """Show what waits for the coach."""
        await show_queue(self._chat, interaction)

    @app_commands.command(
        name="list", description="Your homework: how far it is, to log on it, to hand it in"
    )
    async def list_mine(self, interaction: discord.Interaction[Any]) -> None:
        """Show the member's homework."""
        await my_homework(self._chat, interaction)

    @set_one.autocomplete("what")
    async def offer_what(self, interaction: discord.Interaction[Any], typed: str) -> Choices:
        """What the coach practises, and saved routes."""
        return await offer_practised(self._chat, interaction, typed)

    @commands.Cog.listener()
    async def on_interaction(self, interaction: discord.Interaction[Any]) -> None:
        """Take a form that was filled in, opened by this process or by an earlier one."""
        await take_words(self._chat, interaction, FORMS)
