"""Forms that ask for words.

What is sent is read off the interaction alone, so that one that was opened before a restart still counts.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import discord

from bot.components.act import FormAct
from bot.components.chat import Chat
from bot.components.form import form_sent
from bot.components.ids import make_words_id, read_words_id
from bot.render.forms import form_text


@dataclass(frozen=True, slots=True)
class Field:
    """Something that a form asks for: `name` is its key in the wording, with `-hint` for what stands in an
    empty field."""

    name: str
    most: int
    required: bool = True
    value: str = ""
    long: bool = False


Takers = Mapping[FormAct, Callable[[Chat, discord.Interaction[Any], int], Awaitable[None]]]
"""What is done with a form that was filled in, and with its number."""


async def take_words(chat: Chat, interaction: discord.Interaction[Any], takers: Takers) -> None:
    """Take a form that was filled in, opened by this process or by an earlier one, where it is one of
    these."""
    custom_id = form_sent(interaction)
    found = read_words_id(custom_id)
    take = takers.get(found[0]) if found else None
    if found is not None and take is not None:
        act, number = found
        await chat.press(interaction, f"form {act.value}", lambda: take(chat, interaction, number))


class WordsForm(discord.ui.Modal):
    """Asks for some words; its title is worded as `title-` and the act's name."""

    def __init__(self, act: FormAct, number: int, fields: Sequence[Field]) -> None:
        super().__init__(
            title=form_text(f"title-{act.value}"), custom_id=make_words_id(act, number), timeout=None
        )
        for field in fields:
            style = discord.TextStyle.paragraph if field.long else discord.TextStyle.short
            asked: discord.ui.TextInput[WordsForm] = discord.ui.TextInput(
                custom_id=field.name,
                style=style,
                default=field.value[: field.most] or None,
                placeholder=form_text(f"{field.name}-hint"),
                max_length=field.most,
                required=field.required,
            )
            self.add_item(discord.ui.Label(text=form_text(field.name), component=asked))
