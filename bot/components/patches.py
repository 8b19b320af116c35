"""Patch day in chat: what changed, for one member in private, or posted for everybody."""

from __future__ import annotations

import io
import time
from collections.abc import Sequence
from typing import Any

import discord

from bot.components.act import Act, ModAct
from bot.components.chat import Chat, place_of
from bot.components.game_desk import refuse_game
from bot.components.ids import OpenKey, PracticeKey
from bot.components.layout import Layout
from bot.components.mod_buttons import mod_buttons
from bot.components.practice_buttons import PracticeButton, act_buttons, named_button, practice_buttons
from bot.components.routes import OpenPick, open_pick
from bot.render.patches import (
    failed_card,
    not_posted_card,
    open_hint,
    open_label,
    post_card,
    posted_card,
    sheet_card,
    sheet_text,
    working_card,
)
from bot.results.games import GameRefusal
from bot.results.patches import Keep, PatchSheet, Touched
from bot.services.patch_effects import Progress

FILE = "patch.txt"
SHOW_EVERY_SECONDS = 2.0
NEEDED = discord.Permissions(view_channel=True, send_messages=True, read_message_history=True)
MOST_HOMEWORK = 3
"""So many pieces of homework have a button."""


async def show_patch(chat: Chat, interaction: discord.Interaction[Any], since: str = "") -> None:
    """What changed last, or since the version of this name."""
    before = 0
    if since.strip():
        found = await chat.patches.since(place_of(chat, interaction), since)
        if isinstance(found, GameRefusal):
            await refuse_game(chat, interaction, found)
            return
        before = found
    await show_since(chat, interaction, before)


async def show_since(chat: Chat, interaction: discord.Interaction[Any], before_id: int = 0) -> None:
    """What changed since a version, 0 for the one before the present one, and what that does to what is
    theirs."""
    await chat.wait(interaction, private=True)
    sheet = await _sheet(chat, interaction, before_id)
    if sheet is None:
        return
    text = sheet_text(sheet)
    files = [] if text is None else [discord.File(io.BytesIO(text.encode()), filename=FILE)]
    buttons = [*homework_buttons((*sheet.mine, *sheet.assigned)), *act_buttons(Act.SAVED)]
    pick = routes_pick(sheet.mine, sheet.opens)
    names = [] if text is None else [FILE]
    layout = Layout(sheet_card(sheet, FILE if text else None), None, buttons, pick=pick, files=names)
    await chat.reply(interaction, layout, private=True, files=files)


async def post_patch(chat: Chat, interaction: discord.Interaction[Any], before_id: int) -> None:
    """Post what the present version changed since another, in the server's channel for that, else here."""
    await chat.wait(interaction, private=True)
    sheet = await _sheet(chat, interaction, before_id)
    if sheet is None:
        return
    place = place_of(chat, interaction)
    where = chat.book.server(place.server_id).patch_channel or place.channel_id
    channel = interaction.guild.get_channel_or_thread(where) if interaction.guild else None
    name = channel.name if channel is not None else None
    key = f"patch:{place.server_id}:{sheet.before.edition.id}:{sheet.after.edition.id}:{where}"
    buttons = practice_buttons(PracticeKey(Act.PATCH, sheet.before.edition.id))
    posted, again = None, False
    if channel is not None and channel.permissions_for(channel.guild.me) >= NEEDED:
        layout = Layout(post_card(sheet), None, buttons)
        again = await chat.edit_post(key, layout, channel.guild.id)
        posted = None if again else await chat.post_once(key, where, layout, home=channel.guild.id)
    if posted is None and not again:
        card = not_posted_card(sheet, name)
        mended = mod_buttons((ModAct.POST_PATCH, before_id))
        await chat.reply(interaction, Layout(card, None, mended), private=True)
        return
    if not again:
        await chat.patches.note_posted(place, sheet, interaction.id)
    card = posted_card(sheet, name, again=again)
    await chat.reply(interaction, Layout(card, None, mod_buttons((ModAct.VERSIONS, 0))), private=True)


def routes_pick(mine: Sequence[Touched], opens: Sequence[tuple[int, int]]) -> OpenPick | None:
    """A list of the member's own routes that are touched; None where none can be opened."""
    labels = {OpenKey(number): open_label(mine[at]) for at, number in opens}
    return open_pick(labels, open_hint())


def homework_buttons(mine: Sequence[Touched]) -> list[PracticeButton]:
    """Buttons to the member's homework that is touched."""
    found = [one.kept for one in mine if one.kept.keep is Keep.HOMEWORK][:MOST_HOMEWORK]
    return [named_button(PracticeKey(Act.ONE_HOMEWORK, one.id), one.notation) for one in found]


async def _sheet(chat: Chat, interaction: discord.Interaction[Any], before_id: int) -> PatchSheet | None:
    """The sheet; None where there is none, and that is told."""
    place = place_of(chat, interaction)
    sheet = await chat.patches.sheet(place, before_id, progress=_shown_in(chat, interaction))
    if isinstance(sheet, GameRefusal):
        await refuse_game(chat, interaction, sheet)
        return None
    if sheet is None:
        failed = failed_card(chat.desk.game_of(place))
        again = practice_buttons(PracticeKey(Act.PATCH, before_id))
        await chat.reply(interaction, Layout(failed, None, again), private=True)
    return sheet


def _shown_in(chat: Chat, interaction: discord.Interaction[Any]) -> Progress:
    """Shows how far the looking is where it takes long."""
    shown = time.monotonic()

    async def show(done: int, whole: int) -> None:
        nonlocal shown
        if done < whole and time.monotonic() - shown > SHOW_EVERY_SECONDS:
            shown = time.monotonic()
            game = chat.desk.game_of(place_of(chat, interaction))
            await chat.reply(interaction, Layout(working_card(done, whole, game)), private=True)

    return show
