"""A card as a layout of the platform. What members or game files wrote is escaped here, and only here."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import discord

from bot.limits import ALT_CHARACTERS, LAYOUT_BUTTONS, ROW_BUTTONS
from bot.render.card import WHY, Card
from bot.render.limits import cut, fit_card
from core.verdict import Answer

COLOURS = {Answer.YES: 0x0072B2, Answer.NO: 0xE69F00, Answer.UNKNOWN: 0x8A8A8A}
"""Blue, orange and grey: they differ for colour-blind readers too, and only support the words."""

_MARKS = re.compile(r"[\\`*_~|\[\]<>#]|^[-+]|^\d+(?=[.)])|(?<=\w):(?=//)")
_UNSEEN = re.compile("[\u061c\u200b\u200e\u200f\u202a-\u202e\u2060\u2066-\u2069\ufeff]")
"""What turns the direction of writing, or hides in a text."""


def escape(line: str) -> str:
    """One line of text that shows as it is: nothing in it formats, links or mentions."""
    line = " ".join(_UNSEEN.sub("", line).split())
    return _MARKS.sub(_marked, line).replace("@", "@\u200b")


def _marked(found: re.Match[str]) -> str:
    text = found.group()
    return f"{text}\\" if text.isdigit() else f"\\{text}"


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture below the words, and what it says in words for who cannot see it."""

    name: str
    png: bytes
    alt: str

    def file(self) -> discord.File:
        """The picture as it is sent; each is sent once."""
        return discord.File(io.BytesIO(self.png), filename=self.name)


class Lasting(discord.ui.view.BaseView):
    """A view that has only buttons which outlive a restart, so that nothing of it is kept."""

    @property
    def timeout(self) -> None:
        """None whatever is set: the library would keep each private answer for 15 minutes, pictures too."""
        return None

    @timeout.setter
    def timeout(self, _: float | None) -> None:
        pass


class Below(Lasting, discord.ui.View):
    """Buttons below a plain message."""

    def __init__(self, buttons: Sequence[discord.ui.Item[Any]]) -> None:
        super().__init__(timeout=None)
        for button in buttons:
            self.add_item(button)


class Layout(Lasting, discord.ui.LayoutView):
    """One answer.

    `pictures` and the named `files` must be sent beside it. `pick`: a list to choose from, above the buttons.
    `calls`: a user who is named above it all, and pinged where the sender lets them be.
    """

    def __init__(
        self,
        card: Card,
        answer: Answer | None = None,
        buttons: Sequence[discord.ui.Item[Any]] = (),
        *,
        pictures: Sequence[Picture] = (),
        pick: discord.ui.Item[Any] | None = None,
        files: Sequence[str] = (),
        calls: int | None = None,
    ) -> None:
        super().__init__(timeout=None)
        self.offers = bool(buttons)
        self.pictures = tuple(pictures)
        if calls is not None:
            self.add_item(discord.ui.TextDisplay(f"<@{calls}>"))
        box: discord.ui.Container[Layout] = discord.ui.Container(
            accent_colour=COLOURS[answer] if answer else None
        )
        card = fit_card(card, lambda line: len(escape(line)))
        box.add_item(discord.ui.TextDisplay(f"### {escape(card.lead)}"))
        if card.groups:
            box.add_item(discord.ui.Separator())
            # An empty line between them: without it the next question would belong to the last list item.
            groups = ["\n".join(_part(group.question, group.lines)) for group in card.groups]
            box.add_item(discord.ui.TextDisplay("\n\n".join(groups)))
        if card.reasons:
            box.add_item(discord.ui.Separator())
            box.add_item(discord.ui.TextDisplay("\n".join(_part(WHY, card.reasons))))
        for picture in pictures:  # each in a gallery of its own: side by side they would be cut
            gallery: discord.ui.MediaGallery[Layout] = discord.ui.MediaGallery()
            alt = cut(picture.alt, ALT_CHARACTERS)
            box.add_item(gallery.add_item(media=f"attachment://{picture.name}", description=alt))
        for name in files:
            box.add_item(discord.ui.File(f"attachment://{name}"))
        box.add_item(discord.ui.TextDisplay(f"-# {escape(card.source)}"))
        if pick is not None:
            box.add_item(discord.ui.ActionRow(pick))
        for start in range(0, min(len(buttons), LAYOUT_BUTTONS), ROW_BUTTONS):
            box.add_item(discord.ui.ActionRow(*buttons[start : start + ROW_BUTTONS]))
        self.add_item(box)


def _part(question: str, lines: Sequence[str]) -> list[str]:
    return [f"**{escape(question)}**", *(f"- {escape(line)}" for line in lines)]
