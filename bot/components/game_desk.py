"""What moderators do with a server's games: choose one, use a version again, take its files, edit numbers."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import discord

from bot.components.act import ListAct, ModAct
from bot.components.chat import Chat, place_of
from bot.components.layout import Layout
from bot.components.list_pick import list_pick
from bot.components.mod_buttons import ModButton, mod_button, mod_buttons
from bot.render.ask import card
from bot.render.card import Card
from bot.render.forms import practice_label
from bot.render.game_desk import (
    ask_back_card,
    back_label,
    changed_card,
    edition_card,
    edition_option,
    editions_card,
    files_card,
    game_refusal_card,
    games_card,
    template_card,
)
from bot.results.ask import UnknownName
from bot.results.files import Upload
from bot.results.games import Edition, EditionChange, GameRefusal
from bot.results.place import Place
from bot.services.desk import TAKES_BACK

NO_CHANNEL = 0
"""Stands for one without a game of its own."""


async def choose_game(
    chat: Chat,
    interaction: discord.Interaction[Any],
    name: str | None,
    channel: discord.TextChannel | None,
) -> None:
    """Choose the game of the server or of one channel, or show which it is."""
    place, desk = place_of(chat, interaction), chat.desk
    if name is not None and channel is None:
        chosen = await desk.choose_game(place, name, interaction.id)
    elif name is not None and channel is not None:
        typed = None if name.strip().casefold() == TAKES_BACK else name
        chosen = await desk.choose_channel(place, channel.id, typed, interaction.id)
    else:
        chosen = desk.game_of(place)
    if isinstance(chosen, UnknownName):
        await chat.reply(interaction, Layout(card(chosen)), private=True)
        return
    of_all = desk.game_of(replace(place, channel_id=NO_CHANNEL, parent_id=None))
    here = desk.game_of(place if channel is None else replace(place, channel_id=channel.id, parent_id=None))
    shown = games_card(of_all, here, channel.name if channel else None, desk.complete_game(place, ""))
    await chat.reply(interaction, Layout(shown, None, mod_buttons((ModAct.VERSIONS, 0))), private=True)


async def show_versions(chat: Chat, interaction: discord.Interaction[Any], before: int = 0) -> None:
    """The versions of the channel's game, those before an edition where one is named."""
    place = place_of(chat, interaction)
    listed = await chat.game_desk.editions(place, before)
    names, zone = await _names(chat, place, listed.editions), chat.book.server_zone(place.owner.server_id)
    options = [
        (one.id, edition_option(one, one.id == listed.current, names, zone)) for one in listed.editions
    ]
    buttons = mod_buttons((ModAct.DOWNLOAD, 0), (ModAct.REPORTS, 0))
    if listed.older:
        buttons.append(mod_button(ModAct.VERSIONS, listed.editions[-1].id, practice_label("older")))
    pick = list_pick(ListAct.EDITION, 0, options, "edition")
    layout = Layout(editions_card(listed, names, zone), None, buttons, pick=pick)
    await chat.reply(interaction, layout, private=True)


async def open_edition(
    chat: Chat, interaction: discord.Interaction[Any], _: int, numbers: tuple[int, ...]
) -> None:
    """One version, with what can be done with it."""
    place = place_of(chat, interaction)
    edition = await chat.game_desk.one(place, numbers[0])
    if isinstance(edition, GameRefusal):
        await refuse_game(chat, interaction, edition)
        return
    names, zone = await _names(chat, place, [edition]), chat.book.server_zone(place.owner.server_id)
    current = chat.game_book.edition_of(place.server_id, edition.game) == edition.id
    acts = [ModAct.DOWNLOAD] if current else [ModAct.USE_EDITION, ModAct.DOWNLOAD]
    buttons = mod_buttons(*((act, edition.id) for act in acts), (ModAct.VERSIONS, 0))
    shown = edition_card(edition, chat.desk.game_of(place), names, zone, current=current)
    await chat.reply(interaction, Layout(shown, None, buttons), private=True)


async def ask_back(chat: Chat, interaction: discord.Interaction[Any], edition_id: int) -> None:
    """Ask whether a version is to be used again, with what that would change."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    found = await chat.game_desk.would_change(place, edition_id)
    if isinstance(found, GameRefusal):
        await refuse_game(chat, interaction, found)
        return
    edition, patch = found
    buttons = mod_buttons((ModAct.USE_EDITION_NOW, edition_id), (ModAct.VERSIONS, 0))
    shown = ask_back_card(edition, chat.desk.game_of(place), patch)
    await chat.reply(interaction, Layout(shown, None, buttons), private=True)


async def back_now(chat: Chat, interaction: discord.Interaction[Any], edition_id: int) -> None:
    """Use a version again."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    change = await chat.game_desk.back(place, edition_id, interaction.id)
    await show_change(chat, interaction, change, back=True)


async def choose_for_all(chat: Chat, interaction: discord.Interaction[Any], edition_id: int) -> None:
    """Make the game of an edition the one of the whole server."""
    place = place_of(chat, interaction)
    edition = await chat.game_desk.one(place, edition_id)
    if isinstance(edition, GameRefusal):
        await refuse_game(chat, interaction, edition)
        return
    await choose_game(chat, interaction, edition.game, None)


async def edit_number(
    chat: Chat,
    interaction: discord.Interaction[Any],
    move: str,
    column: str,
    number: str,
    reason: str,
    character: str | None,
) -> None:
    """Write another number, as a version of its own."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    change = await chat.game_desk.edit(place, move, column, number, reason, character, interaction.id)
    await show_change(chat, interaction, change)


async def download(chat: Chat, interaction: discord.Interaction[Any], edition_id: int = 0) -> None:
    """The files of a version by its number, 0 for the present one."""
    place = place_of(chat, interaction)
    edition = await (chat.game_desk.one(place, edition_id) if edition_id else chat.game_desk.named(place, ""))
    await _send_version(chat, interaction, place, edition)


async def send_version(chat: Chat, interaction: discord.Interaction[Any], version: str | None) -> None:
    """The files of a version as it is called, None for the present one."""
    place = place_of(chat, interaction)
    await _send_version(chat, interaction, place, await chat.game_desk.named(place, version or ""))


async def show_change(
    chat: Chat,
    interaction: discord.Interaction[Any],
    change: EditionChange | GameRefusal,
    *,
    back: bool = False,
) -> None:
    """That a game has another version now, with what can be done next; or why not."""
    if isinstance(change, GameRefusal):
        await refuse_game(chat, interaction, change)
        return
    told = await tell_patch(chat, interaction, change)
    shown = changed_card(change, told, back=back)
    await chat.reply(interaction, Layout(shown, None, change_buttons(change)), private=True)


async def tell_patch(chat: Chat, interaction: discord.Interaction[Any], change: EditionChange) -> int:
    """Tell the members whose routes or homework a change touches; how many they are."""
    return await chat.patch_telling.announce(place_of(chat, interaction), change)


def change_buttons(change: EditionChange) -> list[ModButton]:
    """What can be done once a game has another version."""
    versions = (ModAct.VERSIONS, 0)
    if change.again:
        return mod_buttons(versions)
    if change.before_id is None or change.before is None:
        return mod_buttons((ModAct.CHOOSE_GAME, change.edition.id), versions)
    undo = mod_button(ModAct.USE_EDITION, change.before_id, back_label(change.before.version))
    return [*mod_buttons((ModAct.POST_PATCH, change.before_id), versions), undo]


async def refuse_game(chat: Chat, interaction: discord.Interaction[Any], refusal: GameRefusal) -> None:
    """Say why nothing was done."""
    await chat.reply(interaction, Layout(game_refusal_card(refusal)), private=True)


async def send_template(chat: Chat, interaction: discord.Interaction[Any]) -> None:
    """Files of a game to begin with."""
    files = chat.game_desk.template()
    rules, moves, guide = (file.name for file in files)
    game = chat.desk.game_of(place_of(chat, interaction))
    await _send(chat, interaction, template_card(rules, moves, guide, game), files)


async def _send_version(
    chat: Chat, interaction: discord.Interaction[Any], place: Place, edition: Edition | GameRefusal
) -> None:
    if isinstance(edition, GameRefusal):
        await refuse_game(chat, interaction, edition)
        return
    await chat.wait(interaction, private=True)
    files = await chat.game_desk.files(place, edition.id)
    if isinstance(files, GameRefusal):
        await refuse_game(chat, interaction, files)
        return
    rules, moves = files
    game = chat.desk.game_of(place)
    shown = files_card(edition.game, edition.version, rules.name, moves.name, game)
    await _send(chat, interaction, shown, files)


async def _send(
    chat: Chat, interaction: discord.Interaction[Any], shown: Card, files: Sequence[Upload]
) -> None:
    names = [file.name for file in files]
    sent = [discord.File(io.BytesIO(file.data), filename=file.name) for file in files]
    layout = Layout(shown, None, mod_buttons((ModAct.VERSIONS, 0)), files=names)
    await chat.reply(interaction, layout, private=True, files=sent)


async def _names(chat: Chat, place: Place, editions: Sequence[Edition]) -> Mapping[int, str]:
    made_by = {one.made_by for one in editions if one.made_by is not None}
    return await chat.names.of(place.owner.server_id, made_by)
