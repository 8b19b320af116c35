"""The form that saves a route: its name and its tags."""

from __future__ import annotations

from typing import Any

import discord

from bot.components.form import filled_in
from bot.components.ids import make_save_form_id
from bot.limits import CHOICE_CHARACTERS
from bot.render.limits import cut
from bot.render.routes import save_form_text
from bot.results.library import SaveDraft
from bot.services.routes import NAME_CHARACTERS
from bot.services.tags import MOST_TAGS, TAG_CHARACTERS

NAME, TAGS = "name", "tags"
TAGS_CHARACTERS = 2 * MOST_TAGS * (TAG_CHARACTERS + 2)
"""Room to mistype in: too many are told, not cut off."""


class SaveForm(discord.ui.Modal):
    """Asks for the name and tags of the route with this number in the member's log."""

    def __init__(self, draft: SaveDraft, subject_id: int) -> None:
        title = save_form_text("title")
        super().__init__(title=title, custom_id=make_save_form_id(subject_id), timeout=None)
        moves = cut(draft.notation, CHOICE_CHARACTERS)
        self._ask(NAME, draft.name, NAME_CHARACTERS, moves, required=True)
        self._ask(TAGS, draft.tags, TAGS_CHARACTERS, None, required=False)

    def _ask(self, name: str, value: str, most: int, below: str | None, required: bool) -> None:
        field: discord.ui.TextInput[SaveForm] = discord.ui.TextInput(
            custom_id=name,
            default=value[:most] or None,
            placeholder=save_form_text(f"{name}-hint"),
            max_length=most,
            required=required,
        )
        self.add_item(discord.ui.Label(text=save_form_text(name), description=below, component=field))


def read_save_form(interaction: discord.Interaction[Any]) -> tuple[str, str]:
    """The name and the tags that were filled in."""
    given = filled_in(interaction)
    return given.get(NAME, ""), given.get(TAGS, "")
