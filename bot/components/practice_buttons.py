"""The buttons of the practice log, and the list to pick a tally from.

Nothing that they carry is trusted: the services find only what is the presser's own.
"""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable, Sequence
from typing import Any, Self

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.ids import (
    PICK,
    PICK_TEMPLATE,
    PRACTICE_TEMPLATE,
    PracticeKey,
    make_practice_id,
    read_pick,
    read_practice_id,
)
from bot.components.layout import Layout
from bot.components.press import Press
from bot.limits import LABEL_CHARACTERS
from bot.render.chat import gone_card
from bot.render.forms import page_label, pick_hint, pick_label, practice_label
from bot.render.limits import cut
from bot.results.tally import KeptTally

Handler = Callable[[Chat, discord.Interaction[Any], int], Awaitable[None]]
"""What a button does with its number."""

_QUIET = discord.ButtonStyle.secondary
_STYLES = {
    Act.LOG: discord.ButtonStyle.primary,
    Act.ERASE_NOW: discord.ButtonStyle.danger,
    Act.END_COACHING_NOW: discord.ButtonStyle.danger,
}


class PracticeButton(Press, template=PRACTICE_TEMPLATE):
    """Does one thing with the presser's own log."""

    ACTION = "practice"

    async def pressed(self, chat: Chat, interaction: discord.Interaction[Any]) -> None:
        """Do it."""
        key = read_practice_id(self.custom_id)
        if key is None:
            await show_gone(chat, interaction)
        else:
            await chat.acts[key.act](chat, interaction, key.number)


def practice_buttons(*keys: PracticeKey) -> list[PracticeButton]:
    """Buttons that do these things."""
    return [_button(key, practice_label(key.act.value)) for key in keys]


def named_button(key: PracticeKey, name: str, *, alone: bool = False) -> PracticeButton:
    """A button that says whom it is about, where it does not stand `alone`."""
    label = practice_label(key.act.value)
    return _button(key, label if alone else cut(f"{label}: {name}", LABEL_CHARACTERS))


def page_buttons(act: Act, page: int, pages: int) -> list[PracticeButton]:
    """Buttons to the page before and the page after this one of `pages`, counted from 0, where there are
    such."""
    turned = [one for one in (page - 1, page + 1) if 0 <= one < pages]
    return [_button(PracticeKey(act, one), page_label(one + 1)) for one in turned]


def act_buttons(*acts: Act) -> list[PracticeButton]:
    """Buttons that do these things, about nothing in particular."""
    return practice_buttons(*map(PracticeKey, acts))


def _button(key: PracticeKey, label: str) -> PracticeButton:
    return PracticeButton(
        discord.ui.Button(label=label, custom_id=make_practice_id(key), style=_STYLES.get(key.act, _QUIET))
    )


class Pick(discord.ui.DynamicItem[discord.ui.Select[Layout]], template=r"(?!)"):
    """A persistent list to pick one thing from, run by the bot's policy as buttons are."""

    ACTION = "pick"

    @classmethod
    async def from_custom_id(
        cls, _: discord.Interaction[Any], item: discord.ui.Item[Any], __: re.Match[str], /
    ) -> Self:
        """The list that was picked from, made again from its id."""
        assert isinstance(item, discord.ui.Select)
        return cls(item)

    async def callback(self, interaction: discord.Interaction[Any]) -> None:
        """Show what was picked."""
        chat: Chat = interaction.client
        value = self.item.values[0] if self.item.values else ""
        action = f"button {self.action()}"
        await chat.press(interaction, action, lambda: self.picked(chat, interaction, value))

    def action(self) -> str:
        """Whose row of the access table says who may pick."""
        return self.ACTION

    async def picked(self, chat: Chat, interaction: discord.Interaction[Any], value: str) -> None:
        """What is done with what was picked."""
        raise NotImplementedError


class TallyPick(Pick, template=PICK_TEMPLATE):
    """Picks a tally of the presser's own to look at."""

    async def picked(self, chat: Chat, interaction: discord.Interaction[Any], value: str) -> None:
        """Show the tally."""
        tally_id = read_pick(self.custom_id, value)
        if tally_id is None:
            await show_gone(chat, interaction)
        else:
            await chat.acts[Act.ONE](chat, interaction, tally_id)


def tally_pick(tallies: Sequence[KeptTally]) -> TallyPick:
    """A list of tallies to pick from; there must be one at least."""
    options = []
    for kept in tallies:
        label, below = pick_label(kept)
        options.append(discord.SelectOption(label=label, description=below, value=str(kept.id)))
    return TallyPick(discord.ui.Select(custom_id=PICK, placeholder=pick_hint(), options=options))


async def show_gone(chat: Chat, interaction: discord.Interaction[Any]) -> None:
    """Say that what was pressed, picked or sent is of another version."""
    game = chat.desk.game_of(place_of(chat, interaction))
    await chat.reply(interaction, Layout(gone_card(game)), private=True)
