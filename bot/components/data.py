"""A member's own data: what is kept, sent as files, and erased."""

from __future__ import annotations

import io
from typing import Any

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.ids import PracticeKey
from bot.components.layout import Layout
from bot.components.practice_buttons import practice_buttons
from bot.render.export import as_csv, as_json
from bot.render.privacy import confirm_erase_card, erased_card, export_card, what_is_kept_card

JSON_NAME, CSV_NAME = "cornerman.json", "cornerman.csv"


async def show_kept(chat: Chat, interaction: discord.Interaction[Any]) -> None:
    """What is kept of a member here, and what they can do about it."""
    place = place_of(chat, interaction)
    kept = await chat.privacy.export(place)
    buttons = practice_buttons(PracticeKey(Act.EXPORT), PracticeKey(Act.ERASE))
    card = what_is_kept_card(kept)
    layout = Layout(card, None, buttons)
    await chat.reply(interaction, layout, private=True)


async def send_export(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """Everything that is kept, as two files."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    kept = await chat.privacy.export(place)
    files = [
        discord.File(io.BytesIO(as_json(kept, interaction.created_at)), filename=JSON_NAME),
        discord.File(io.BytesIO(as_csv(kept)), filename=CSV_NAME),
    ]
    layout = Layout(export_card(len(kept.tallies)), files=(JSON_NAME, CSV_NAME))
    await chat.reply(interaction, layout, files=files)


async def ask_to_erase(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """Ask once more before everything is erased."""
    place = place_of(chat, interaction)
    kept = await chat.privacy.export(place)
    buttons = practice_buttons(PracticeKey(Act.ERASE_NOW), PracticeKey(Act.EXPORT))
    layout = Layout(confirm_erase_card(len(kept.tallies), len(kept.shared)), None, buttons)
    await chat.reply(interaction, layout, private=True)


async def erase_now(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """Erase everything, and say so in place of the question."""
    place = place_of(chat, interaction)
    gone = await chat.privacy.erase(place, interaction.id)
    if gone is None:
        await chat.wait_in_place(interaction)  # the card says so already
        return
    chat.drafts.forget(place.owner)
    await chat.replace(interaction, Layout(erased_card(gone)))
