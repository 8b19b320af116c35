"""Buttons for moderators."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

import discord

from bot.components.act import ModAct
from bot.components.chat import Chat
from bot.components.ids import MOD_TEMPLATE, make_mod_id, read_mod_id
from bot.components.practice_buttons import show_gone
from bot.components.press import Press
from bot.limits import LABEL_CHARACTERS
from bot.render.forms import practice_label
from bot.render.limits import cut

ModHandler = Callable[[Chat, discord.Interaction[Any], int], Awaitable[None]]
"""What a button does with its number."""

_STYLES = {
    ModAct.USE_UPLOAD: discord.ButtonStyle.primary,
    ModAct.USE_EDITION_NOW: discord.ButtonStyle.danger,
    ModAct.ACCEPT_REPORT: discord.ButtonStyle.primary,
    ModAct.KEEP_NOW: discord.ButtonStyle.danger,
}


class ModButton(Press, template=MOD_TEMPLATE):
    """Does one thing that only moderators of the server may do."""

    ACTION = "moderate"

    async def pressed(self, chat: Chat, interaction: discord.Interaction[Any]) -> None:
        """Do it."""
        found = read_mod_id(self.custom_id)
        if found is None:
            await show_gone(chat, interaction)
        else:
            act, number = found
            await chat.mod_acts[act](chat, interaction, number)


def mod_buttons(*acts: tuple[ModAct, int]) -> list[ModButton]:
    """Buttons that do these things, each with its number."""
    return [mod_button(act, number, practice_label(act.value)) for act, number in acts]


def mod_button(act: ModAct, number: int, label: str) -> ModButton:
    """A button that says something of its own."""
    style = _STYLES.get(act, discord.ButtonStyle.secondary)
    return ModButton(
        discord.ui.Button(label=cut(label, LABEL_CHARACTERS), custom_id=make_mod_id(act, number), style=style)
    )
