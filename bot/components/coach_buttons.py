"""Buttons for coaches and moderators, and lists to pick several things from."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from typing import Any

import discord

from bot.components.act import CoachAct
from bot.components.chat import Chat
from bot.components.ids import COACH_TEMPLATE, make_coach_id, read_coach_id
from bot.components.practice_buttons import show_gone
from bot.components.press import Press
from bot.render.forms import practice_label

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


def coach_buttons(*acts: tuple[CoachAct, int]) -> Sequence[CoachButton]:
    """Buttons that do these things, each with its number."""
    return [
        CoachButton(
            discord.ui.Button(
                label=practice_label(act.value),
                custom_id=make_coach_id(act, number),
                style=discord.ButtonStyle.secondary,
            )
        )
        for act, number in acts
    ]
