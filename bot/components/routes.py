"""A route in chat: looked for, judged, and opened again from a button or a list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.ids import OPEN, OPEN_TEMPLATE, OpenKey, PracticeKey, make_open, read_open
from bot.components.layout import Layout, Picture
from bot.components.practice_buttons import Pick, practice_buttons, show_gone
from bot.components.route_buttons import list_buttons, refused_layout, route_buttons
from bot.render.pictures import front_alt, front_picture
from bot.render.route_check import check_answer, route_card
from bot.render.route_find import (
    choice_label,
    finding_card,
    lesson_card,
    mended_label,
    next_card,
    next_label,
    open_hint,
)
from bot.results.finding import Finding, NextUp, NothingNext, Wanted
from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.route import Mended, OpenRoute
from bot.services.route_options import read_start, read_state
from core.routes import Start


async def check_route(
    chat: Chat,
    interaction: discord.Interaction[Any],
    moves: str,
    state: str = "",
    gauge: str = "",
    airborne: bool = False,
    distance: float | None = None,
) -> None:
    """Whether moves that were typed work as a route, and what they come to."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    game = chat.desk.game_of(place)
    begun, start = read_state(game, state), read_start(game, gauge, airborne, distance)
    if isinstance(begun, LogRefusal):
        await _reply_route(chat, interaction, begun)
    elif isinstance(start, LogRefusal):
        await _reply_route(chat, interaction, start)
    else:
        opened = await chat.opener.typed(place, moves, interaction.id, start, begun)
        await _reply_route(chat, interaction, opened)


async def open_saved(chat: Chat, interaction: discord.Interaction[Any], name: str) -> None:
    """A route that the member saved, by its name."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    await _reply_route(chat, interaction, await chat.opener.saved(place, name, interaction.id))


async def open_route(chat: Chat, interaction: discord.Interaction[Any], number: int) -> None:
    """A route of the presser's own log, step by step."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    await _reply_route(chat, interaction, await chat.opener.numbered(place, number))


async def show_find(
    chat: Chat, interaction: discord.Interaction[Any], wanted: Wanted, picture: bool = False
) -> None:
    """Routes to choose from, for the member's hands."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    found = await chat.finder.find(place, wanted, interaction.id)
    await _reply_found(chat, interaction, found, picture)


async def find_from(chat: Chat, interaction: discord.Interaction[Any], number: int) -> None:
    """Routes from the first move of one that the presser looked at."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    found = await chat.finder.find_from(place, number, interaction.id)
    await _reply_found(chat, interaction, found)


async def show_next(chat: Chat, interaction: discord.Interaction[Any], starter: str = "") -> None:
    """The next route to learn, one step up from what the member owns."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    found = await chat.finder.next(place, starter, interaction.id)
    await chat.reply(interaction, next_layout(chat, place, found), private=True)


async def show_lesson(chat: Chat, interaction: discord.Interaction[Any], starter: str) -> None:
    """What to learn from a starter, by the member's own log."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    layout = await lesson_layout(chat, place, starter, interaction.id)
    await chat.reply(interaction, layout, private=True)


async def lesson_layout(
    chat: Chat, place: Place, starter: str, event_id: int, *, own_hands: bool = True
) -> Layout:
    """What to learn from a starter: to answer a command, a button or a message with. `own_hands`: what the
    member's log says is used, which only they should see; else typical hands."""
    lesson = await chat.finder.learn(place, starter, event_id, own_hands)
    if isinstance(lesson, LogRefusal):
        return refused_layout(chat, place, lesson)
    up = lesson.next if isinstance(lesson.next, NextUp) else None
    pick = choice_pick(lesson.finding, up)
    return Layout(lesson_card(lesson), None, list_buttons(), pick=pick)


def route_layout(opened: OpenRoute) -> Layout:
    """A route that works, step by step, with what may be done with it."""
    return Layout(route_card(opened), check_answer(opened.check), route_buttons(opened, Act.ROUTE))


def next_layout(chat: Chat, place: Place, found: NextUp | NothingNext | LogRefusal) -> Layout:
    """The next route to learn, with what may be done with it."""
    match found:
        case NextUp(opened=opened):
            return Layout(next_card(found), None, route_buttons(opened))
        case NothingNext():
            return Layout(next_card(found), None, list_buttons())
        case LogRefusal():
            return refused_layout(chat, place, found)


async def _reply_route(
    chat: Chat, interaction: discord.Interaction[Any], opened: OpenRoute | LogRefusal
) -> None:
    place = place_of(chat, interaction)
    if isinstance(opened, LogRefusal):
        layout = refused_layout(chat, place, opened)
    elif opened.check.works:
        layout = route_layout(opened)
    else:
        mended = await chat.opener.mended(place, opened.check)
        from_here = practice_buttons(PracticeKey(Act.FIND, opened.subject_id))
        buttons = [*from_here, *route_buttons(opened, Act.ROUTE)]
        card, answer = route_card(opened, mended), check_answer(opened.check)
        layout = Layout(card, answer, buttons, pick=mended_pick(mended))
    await chat.reply(interaction, layout, private=True)


async def _reply_found(
    chat: Chat, interaction: discord.Interaction[Any], found: Finding | LogRefusal, picture: bool = False
) -> None:
    if isinstance(found, LogRefusal):
        layout = refused_layout(chat, place_of(chat, interaction), found)
        await chat.reply(interaction, layout, private=True)
        return
    png = await chat.draw(front_picture, found) if picture and found.routes else None
    pictures = [Picture("routes.png", png, front_alt(found))] if png else []
    card = finding_card(found, picture_failed=picture and bool(found.routes) and not png)
    layout = Layout(card, None, list_buttons(), pictures=pictures, pick=choice_pick(found))
    await chat.reply(interaction, layout, private=True, files=[one.file() for one in layout.pictures])


class OpenPick(Pick, template=OPEN_TEMPLATE):
    """Picks a route of the presser's own log to look at, by its number there."""

    async def picked(self, chat: Chat, interaction: discord.Interaction[Any], value: str) -> None:
        """Open the route as it was found: a route on somebody in the air is judged so again."""
        key = read_open(self.custom_id, value)
        if key is None:
            await show_gone(chat, interaction)
            return
        place = place_of(chat, interaction)
        await chat.wait(interaction, private=True)
        opened = await chat.opener.numbered(place, key.number, key.airborne, key.distance)
        await _reply_route(chat, interaction, opened)


def choice_pick(found: Finding, up: NextUp | None = None) -> OpenPick | None:
    """A list of found routes to open, and of the next one to learn; None where none has a number."""
    labels = {
        _as_begun(choice.subject_id, found.start): choice_label(choice)
        for choice in found.choices
        if choice.subject_id
    }
    if up is not None and up.opened.subject_id not in {key.number for key in labels}:
        labels[OpenKey(up.opened.subject_id)] = next_label(up)
    return open_pick(labels, open_hint())


def mended_pick(mended: Sequence[Mended]) -> OpenPick | None:
    """A list of what a route that fails may be mended to; None where there is nothing."""
    labels = {_as_begun(one.subject_id, one.repair.start): (mended_label(one), None) for one in mended}
    return open_pick(labels, open_hint(mended=True))


def open_pick(labels: Mapping[OpenKey, tuple[str, str | None]], hint: str) -> OpenPick | None:
    """A list of routes to open by their labels, each with a line below; None where there are none."""
    options = [
        discord.SelectOption(label=label, description=below, value=make_open(key))
        for key, (label, below) in labels.items()
    ]
    return OpenPick(discord.ui.Select(custom_id=OPEN, placeholder=hint, options=options)) if options else None


def _as_begun(number: int, start: Start) -> OpenKey:
    return OpenKey(number, start.airborne, start.distance)
