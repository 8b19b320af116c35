"""Writing the texts of an answer anew just before it is sent; what its buttons carry stays as it is, and so
does a text that would grow beyond what the platform takes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import discord
from discord import app_commands

from bot.limits import (
    ALT_CHARACTERS,
    CHOICE_CHARACTERS,
    CONTENT_CHARACTERS,
    LABEL_CHARACTERS,
    LAYOUT_CHARACTERS,
)
from core.notation import Respell


def respell_view(view: discord.ui.view.BaseView, respell: Respell) -> None:
    """All that is read in a view: its texts, the labels of its buttons and lists, what its pictures say."""
    texts: list[discord.ui.TextDisplay[Any]] = []
    for item in view.walk_children():
        inner = item.item if isinstance(item, discord.ui.DynamicItem) else item
        if isinstance(inner, discord.ui.TextDisplay):
            texts.append(inner)
        elif isinstance(inner, discord.ui.Button) and inner.label is not None:
            inner.label = respell_text(inner.label, respell, LABEL_CHARACTERS)
        elif isinstance(inner, discord.ui.Select):
            for option in inner.options:
                option.label = respell_text(option.label, respell, CHOICE_CHARACTERS)
                below = respell_text(option.description or "", respell, CHOICE_CHARACTERS)
                option.description = below or None
        elif isinstance(inner, discord.ui.MediaGallery):
            for picture in inner.items:
                picture.description = respell_text(picture.description or "", respell, ALT_CHARACTERS) or None
    written = [respell(text.content) for text in texts]
    if sum(map(len, written)) <= LAYOUT_CHARACTERS:
        for text, content in zip(texts, written, strict=True):
            text.content = content


def respell_text(text: str, respell: Respell, most: int = CONTENT_CHARACTERS) -> str:
    """One text."""
    written = respell(text)
    return written if len(written) <= most else text


def respell_choices(
    choices: Sequence[app_commands.Choice[str]], respell: Respell
) -> list[app_commands.Choice[str]]:
    """What is offered to somebody who types: shown so, and sent as it was."""
    return [
        app_commands.Choice(name=respell_text(one.name, respell, CHOICE_CHARACTERS), value=one.value)
        for one in choices
    ]
