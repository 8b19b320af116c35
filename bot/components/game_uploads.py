"""Game files that a moderator sends: looked at, told what their columns are, then used or dropped."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

import discord

from bot.components.act import FormAct, ModAct
from bot.components.chat import Chat, place_of
from bot.components.form import filled_in
from bot.components.game_desk import refuse_game, show_change
from bot.components.layout import Layout
from bot.components.mod_buttons import ModButton, mod_buttons
from bot.components.words_form import Field, WordsForm
from bot.render.game_uploads import (
    PROBLEMS_FILE,
    dropped_card,
    preview_card,
    problems_text,
    too_large_card,
    unfetched_card,
)
from bot.results.files import ColumnGuess, Upload
from bot.results.games import GameRefusal, Preview
from bot.services.game_columns import column_lines

MOST_BYTES = 2_000_000
"""Of all files together."""
COLUMNS = "columns"
COLUMNS_CHARACTERS = 4_000
"""The most that a field of a form holds."""


async def load_game(
    chat: Chat,
    interaction: discord.Interaction[Any],
    files: Sequence[discord.Attachment],
    character: str,
    reason: str,
) -> None:
    """Look at game files, and show what they would do."""
    place = place_of(chat, interaction)
    game, size = chat.desk.game_of(place), sum(file.size for file in files)
    if size > MOST_BYTES:
        await chat.reply(interaction, Layout(too_large_card(size, MOST_BYTES, game)), private=True)
        return
    await chat.wait(interaction, private=True)
    uploads = []
    for file in files:
        try:
            uploads.append(Upload(file.filename, await file.read()))
        except discord.HTTPException:
            await chat.reply(interaction, Layout(unfetched_card(file.filename, game)), private=True)
            return
    found = await chat.game_uploads.take(place, uploads, character, reason, interaction.id)
    await _show(chat, interaction, found)


async def open_columns(chat: Chat, interaction: discord.Interaction[Any], upload_id: int) -> None:
    """A form for what each column is."""
    columns = await chat.game_uploads.guesses(place_of(chat, interaction), upload_id)
    if isinstance(columns, GameRefusal):
        await refuse_game(chat, interaction, columns)
        return
    text = _lines(columns)
    field = Field(COLUMNS, COLUMNS_CHARACTERS, value=text, long=True)
    await chat.show(interaction, WordsForm(FormAct.COLUMNS, upload_id, [field]))


async def take_columns(chat: Chat, interaction: discord.Interaction[Any], upload_id: int) -> None:
    """Read the files again with the columns as they were filled in."""
    place, text = place_of(chat, interaction), filled_in(interaction).get(COLUMNS, "")
    await chat.wait(interaction, private=True)
    await _show(chat, interaction, await chat.game_uploads.columns(place, upload_id, text))


async def use_upload(chat: Chat, interaction: discord.Interaction[Any], upload_id: int) -> None:
    """Have the server use the files from now on."""
    await chat.wait(interaction, private=True)
    place = place_of(chat, interaction)
    await show_change(chat, interaction, await chat.game_uploads.use(place, upload_id, interaction.id))


async def drop_upload(chat: Chat, interaction: discord.Interaction[Any], upload_id: int) -> None:
    """Forget the files, and say so in place of their card."""
    place = place_of(chat, interaction)
    refusal = await chat.game_uploads.drop(place, upload_id, interaction.id)
    if refusal is not None:
        await refuse_game(chat, interaction, refusal)
        return
    await chat.replace(interaction, Layout(dropped_card(chat.desk.game_of(place))))


async def _show(chat: Chat, interaction: discord.Interaction[Any], found: Preview | GameRefusal) -> None:
    if isinstance(found, GameRefusal):
        await refuse_game(chat, interaction, found)
        return
    text = problems_text(found)
    names = (PROBLEMS_FILE,) if text is not None else ()
    files = [discord.File(io.BytesIO(text), filename=PROBLEMS_FILE)] if text is not None else []
    layout = Layout(preview_card(found), None, _buttons(found), files=names)
    await chat.reply(interaction, layout, private=True, files=files)


def _buttons(preview: Preview) -> list[ModButton]:
    if not preview.upload_id:
        return []
    acts = [ModAct.USE_UPLOAD] if preview.usable else []
    acts += [ModAct.UPLOAD_COLUMNS] if preview.columns else []
    return mod_buttons(*((act, preview.upload_id) for act in (*acts, ModAct.DROP_UPLOAD)))


def _lines(columns: Sequence[ColumnGuess]) -> str:
    """As many whole lines as the form holds; those that need a look come first."""
    ranked = sorted(columns, key=lambda one: one.sure and one.column is not None)
    text = column_lines(ranked)
    if len(text) <= COLUMNS_CHARACTERS:
        return text
    return text[: text.rfind("\n", 0, COLUMNS_CHARACTERS)]
