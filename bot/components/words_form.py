"""Forms that ask for words.

What is sent is read off the interaction alone, so that one that was opened before a restart still counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import discord

from bot.components.act import FormAct
from bot.components.ids import make_words_id
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
