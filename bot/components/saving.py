"""Saving routes and sharing them with the server."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.ids import PickFrom, PracticeKey, read_save_form_id
from bot.components.layout import Layout
from bot.components.practice_buttons import PracticeButton, practice_buttons, show_gone
from bot.components.route_buttons import refused_layout, route_buttons
from bot.components.route_pick import moderates, route_pick
from bot.components.save_form import SaveForm, read_save_form
from bot.render.routes import (
    forgotten_card,
    kept_card,
    library_card,
    routes_card,
    saved_card,
    shared_card,
    tidied_card,
)
from bot.results.library import Shared
from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.place import Place
from bot.results.tally import SavedRoute
from bot.services.drafts import RouteDraft


async def save_route(
    chat: Chat, interaction: discord.Interaction[Any], moves: str, name: str, tags: str | None
) -> None:
    """Save moves as they were typed."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    saved = await chat.routes.save(place, moves, name, interaction.id, tags)
    await _tell_saved(chat, interaction, place, saved)


async def open_save_form(chat: Chat, interaction: discord.Interaction[Any], subject_id: int) -> None:
    """A form that saves a route that the member looked at; as it was refused, where it was."""
    place = place_of(chat, interaction)
    draft = await chat.routes.draft(place, subject_id)
    if isinstance(draft, LogRefusal):
        await chat.reply(interaction, refused_layout(chat, place, draft), private=True)
        return
    refused = chat.drafts.of_route(place.owner)
    if refused is not None and refused.subject_id == subject_id:
        draft = replace(draft, name=refused.name, tags=refused.tags)
    await chat.show(interaction, SaveForm(draft, subject_id))


async def take_save_form(chat: Chat, interaction: discord.Interaction[Any], custom_id: str) -> None:
    """Save what was filled in. What is refused is kept to be mended."""
    subject_id = read_save_form_id(custom_id)
    if subject_id is None:
        await show_gone(chat, interaction)
        return
    place = place_of(chat, interaction)
    name, tags = read_save_form(interaction)
    await chat.wait(interaction, private=True)
    saved = await chat.routes.save_numbered(place, subject_id, name, tags, interaction.id)
    if isinstance(saved, LogRefusal):
        chat.drafts.keep_route(place.owner, RouteDraft(subject_id, name, tags))
    await _tell_saved(chat, interaction, place, saved, subject_id)


async def show_saved(
    chat: Chat, interaction: discord.Interaction[Any], _: int = 0, *, tag: str | None = None
) -> None:
    """The member's saved routes."""
    place = place_of(chat, interaction)
    listed = await chat.routes.listed(place, tag)
    acts = [PracticeKey(Act.SAVED)] if listed.tag else []
    buttons = practice_buttons(*acts, PracticeKey(Act.LIBRARY), PracticeKey(Act.CONVERSIONS))
    card = routes_card(listed, chat.desk.game_of(place))
    layout = Layout(card, None, buttons, pick=route_pick(listed.routes, PickFrom.SAVED))
    await chat.reply(interaction, layout, private=True)


async def forget_route(chat: Chat, interaction: discord.Interaction[Any], name: str) -> None:
    """Forget a saved route; a slip can be saved again."""
    place = place_of(chat, interaction)
    gone = await chat.routes.forget(place, name, interaction.id)
    if isinstance(gone, LogRefusal):
        await chat.reply(interaction, refused_layout(chat, place, gone), private=True)
        return
    number = await chat.routes.enter(place, gone.route)
    acts = []
    if not isinstance(number, LogRefusal):
        draft = RouteDraft(number, gone.route.name, " ".join(gone.route.tags))
        chat.drafts.keep_route(place.owner, draft)
        acts.append(PracticeKey(Act.SAVE, number))
    buttons = practice_buttons(*acts, PracticeKey(Act.SAVED))
    layout = Layout(forgotten_card(gone, chat.desk.game_of(place)), None, buttons)
    await chat.reply(interaction, layout, private=True)


async def share_named(chat: Chat, interaction: discord.Interaction[Any], name: str) -> None:
    """Share the route that the member saved under this name."""
    place = place_of(chat, interaction)
    await _tell_shared(chat, interaction, place, await chat.library.share(place, name, interaction.id))


async def share_route(chat: Chat, interaction: discord.Interaction[Any], subject_id: int) -> None:
    """Share a route; one that is not saved has to be named first."""
    place = place_of(chat, interaction)
    shared = await chat.library.share_numbered(place, subject_id, interaction.id)
    if isinstance(shared, LogRefusal) and shared.code is LogRefusalCode.NOT_SAVED:
        await open_save_form(chat, interaction, subject_id)
    else:
        await _tell_shared(chat, interaction, place, shared)


async def show_library(
    chat: Chat,
    interaction: discord.Interaction[Any],
    _: int = 0,
    *,
    character: str | None = None,
    tag: str | None = None,
    private: bool = True,
) -> None:
    """The routes that the server shares. One that is not `private` is so where there are none."""
    place = place_of(chat, interaction)
    listed = await chat.library.listed(place, character, tag)
    if isinstance(listed, LogRefusal):
        await chat.reply(interaction, refused_layout(chat, place, listed), private=True)
        return
    acts = [PracticeKey(Act.LIBRARY)] if listed.tag or listed.character else []
    buttons = practice_buttons(*acts, PracticeKey(Act.SAVED))
    card = library_card(listed, chat.desk.game_of(place))
    layout = Layout(card, None, buttons, pick=route_pick(listed.routes, PickFrom.SHARED))
    await chat.reply(interaction, layout, private=private or not listed.routes)


async def keep_shared(chat: Chat, interaction: discord.Interaction[Any], library_id: int) -> None:
    """Save a shared route for oneself."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    kept = await chat.library.keep(place, library_id, interaction.id)
    if isinstance(kept, LogRefusal):
        layout = refused_layout(chat, place, kept)
    else:
        buttons = await _buttons_of(chat, place, kept.route)
        layout = Layout(kept_card(kept, chat.desk.game_of(place)), None, buttons)
    await chat.reply(interaction, layout, private=True)


async def tidy_shared(chat: Chat, interaction: discord.Interaction[Any], library_id: int) -> None:
    """Take a route out of the library, where the presser may."""
    place = place_of(chat, interaction)
    gone = await chat.library.tidy(place, library_id, interaction.id, moderates=moderates(chat, interaction))
    if isinstance(gone, LogRefusal):
        layout = refused_layout(chat, place, gone)
    else:
        card = tidied_card(gone, chat.desk.game_of(place))
        layout = Layout(card, None, practice_buttons(PracticeKey(Act.LIBRARY)))
    await chat.reply(interaction, layout, private=True)


async def _tell_saved(
    chat: Chat,
    interaction: discord.Interaction[Any],
    place: Place,
    saved: SavedRoute | LogRefusal,
    subject_id: int = 0,
) -> None:
    """What came of saving. `subject_id`: what the form was about, to open it again where it was refused."""
    if not isinstance(saved, LogRefusal):
        chat.drafts.keep_route(place.owner, None)
        buttons = await _buttons_of(chat, place, saved)
        layout = Layout(saved_card(saved, chat.desk.game_of(place)), None, buttons)
    else:
        layout = refused_layout(chat, place, saved, PracticeKey(Act.SAVE, subject_id) if subject_id else None)
    await chat.reply(interaction, layout, private=True)


async def _tell_shared(
    chat: Chat, interaction: discord.Interaction[Any], place: Place, shared: Shared | LogRefusal
) -> None:
    if isinstance(shared, LogRefusal):
        layout = refused_layout(chat, place, shared)
    else:
        buttons = practice_buttons(PracticeKey(Act.LIBRARY), PracticeKey(Act.TIDY, shared.route.id))
        layout = Layout(shared_card(shared, chat.desk.game_of(place)), None, buttons)
    await chat.reply(interaction, layout, private=True)


async def _buttons_of(chat: Chat, place: Place, route: SavedRoute) -> list[PracticeButton]:
    """What may be done with a saved route next."""
    buttons = practice_buttons(PracticeKey(Act.SAVED))
    number = await chat.routes.enter(place, route)
    if isinstance(number, LogRefusal):
        return buttons
    opened = await chat.opener.numbered(place, number)
    return buttons if isinstance(opened, LogRefusal) else [*route_buttons(opened), *buttons]
