"""Lists to pick one or several things from: what is picked comes beside the id."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from typing import Any

import discord

from bot.components.act import ListAct
from bot.components.chat import Chat
from bot.components.ids import LIST_TEMPLATE, make_list_id, read_list_pick
from bot.components.mod_buttons import ModButton
from bot.components.practice_buttons import Pick, show_gone
from bot.limits import CHOICE_CHARACTERS, CHOICES
from bot.render.limits import cut
from bot.render.wording import say

PickHandler = Callable[[Chat, discord.Interaction[Any], int, tuple[int, ...]], Awaitable[None]]
"""What a list does with its number and the numbers that were picked."""


FOR_MODERATORS = {ListAct.EDITION}


class ListPick(Pick, template=LIST_TEMPLATE):
    """Does one thing with what was picked."""

    def action(self) -> str:
        """Some lists are for moderators, as their buttons are."""
        found = read_list_pick(self.custom_id, ())
        return ModButton.ACTION if found and found[0] in FOR_MODERATORS else super().action()

    async def picked(self, chat: Chat, interaction: discord.Interaction[Any], _: str) -> None:
        """Do it."""
        found = read_list_pick(self.custom_id, self.item.values)
        if found is None or not found[2]:
            await show_gone(chat, interaction)
        else:
            act, number, numbers = found
            await chat.list_acts[act](chat, interaction, number, numbers)


def list_pick(
    act: ListAct, number: int, options: Sequence[tuple[int, str]], hint: str, *, several: bool = False
) -> ListPick | None:
    """A list of these numbers by their labels, the first 25; None where there is nothing to pick."""
    shown = [
        discord.SelectOption(label=cut(label, CHOICE_CHARACTERS), value=str(value))
        for value, label in options[:CHOICES]
    ]
    if not shown:
        return None
    return ListPick(
        discord.ui.Select(
            custom_id=make_list_id(act, number),
            placeholder=say("list-pick", hint),
            options=shown,
            max_values=len(shown) if several else 1,
        )
    )
