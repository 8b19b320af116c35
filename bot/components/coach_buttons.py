"""Buttons for coaches and moderators."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

import discord

from bot.components.act import CoachAct
from bot.components.chat import Chat
from bot.components.ids import COACH_TEMPLATE, make_coach_id, read_coach_id
from bot.components.practice_buttons import show_gone
from bot.components.press import Press
from bot.limits import LABEL_CHARACTERS
from bot.render.forms import practice_label
from bot.render.limits import cut

CoachHandler = Callable[[Chat, discord.Interaction[Any], int], Awaitable[None]]
"""What a button does with its number."""


class CoachButton(Press, template=COACH_TEMPLATE):
    """Does one thing that only coaches and moderators of the server may do."""

    ACTION = "coach"

    async def pressed(self, chat: Chat, interaction: discord.Interaction[Any]) -> None:
        """Do it."""
        found = read_coach_id(self.custom_id)
        if found is None:
            await show_gone(chat, interaction)
        else:
            act, number = found
            await chat.coach_acts[act](chat, interaction, number)


def coach_buttons(*acts: tuple[CoachAct, int]) -> list[CoachButton]:
    """Buttons that do these things, each with its number."""
    return [coach_button(act, number, practice_label(act.value)) for act, number in acts]


def coach_button(act: CoachAct, number: int, label: str) -> CoachButton:
    """A button that says something of its own."""
    style = discord.ButtonStyle.danger if act is CoachAct.CANCEL_DRILL_NOW else discord.ButtonStyle.secondary
    return CoachButton(
        discord.ui.Button(
            label=cut(label, LABEL_CHARACTERS), custom_id=make_coach_id(act, number), style=style
        )
    )
