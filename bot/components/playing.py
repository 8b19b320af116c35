"""How a route is played, in chat: its inputs, its rhythm as a picture and as sound, a drill of it."""

from __future__ import annotations

import io
from typing import Any

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.ids import PracticeKey, make_practice_id
from bot.components.layout import Below, Layout, Picture, escape
from bot.components.log import log_layout
from bot.components.practice_buttons import PracticeButton, practice_buttons
from bot.components.route_buttons import route_buttons
from bot.render.inputs import inputs_card
from bot.render.pictures import rhythm_alt, rhythm_picture
from bot.render.rhythm_card import (
    clicks_file,
    clicks_text,
    no_track_card,
    presses_card,
    route_name,
    sheet_card,
    unplayable_card,
)
from bot.render.route_drill import drill_card, piece_label
from bot.results.log import LogRefusal
from bot.results.playing import ClickTrack, NoTrack, RhythmSheet, RouteDrill, Unplayable
from bot.results.route import OpenRoute
from bot.results.tally import Side
from core.inputs import Facing

What = str | int
"""A route as it was typed, or its number in the member's log."""


async def inputs_of(
    chat: Chat, interaction: discord.Interaction[Any], what: What, side: Side | None = None
) -> None:
    """What to enter, on this side; None for the member's own."""
    opened = await _opened(chat, interaction, what)
    if opened is None:
        return
    sheet = await chat.playing.inputs(place_of(chat, interaction), opened, side)
    if isinstance(sheet, Unplayable):
        await _say_why(chat, interaction, sheet)
        return
    other = Act.INPUTS_RIGHT if sheet.side is Facing.LEFT else Act.INPUTS_LEFT
    buttons = [*practice_buttons(PracticeKey(other, opened.subject_id)), *route_buttons(opened, Act.INPUTS)]
    await chat.reply(interaction, Layout(inputs_card(sheet), None, buttons), private=True)


async def sheet_of(chat: Chat, interaction: discord.Interaction[Any], what: What) -> None:
    """The rhythm sheet as a picture."""
    sheet = await _rhythm(chat, interaction, what)
    if sheet is None:
        return
    opened = sheet.opened
    name = route_name(opened)
    png = await chat.draw(rhythm_picture, name, sheet.schedule)
    pictures = [Picture("rhythm.png", png, rhythm_alt(name, sheet.schedule))] if png else []
    keys = (PracticeKey(act, opened.subject_id) for act in (Act.PRESSES, Act.TIMING))
    buttons = [*practice_buttons(*keys), *route_buttons(opened, Act.SHEET)]
    layout = Layout(sheet_card(sheet, drawn=bool(png)), None, buttons, pictures=pictures)
    await chat.reply(interaction, layout, private=True, files=[picture.file() for picture in pictures])


async def clicks_of(
    chat: Chat,
    interaction: discord.Interaction[Any],
    what: What,
    speed_percent: int = 100,
    loops: int | None = None,
) -> None:
    """The click track at this speed."""
    opened = await _opened(chat, interaction, what)
    if opened is None:
        return
    made = await chat.playing.clicks(place_of(chat, interaction), opened, speed_percent / 100, loops)
    match made:
        case Unplayable():
            await _say_why(chat, interaction, made)
        case NoTrack():
            layout = Layout(no_track_card(made), None, route_buttons(opened, Act.CLICKS))
            await chat.reply(interaction, layout, private=True)
        case ClickTrack():
            name = clicks_file(opened, made.track.speed)
            file = discord.File(io.BytesIO(made.wav), filename=name)
            below = Below(_speeds(opened, speed_percent))
            await chat.reply_plainly(
                interaction, escape(clicks_text(made)), below, private=True, files=[file]
            )


async def show_inputs(chat: Chat, interaction: discord.Interaction[Any], number: int) -> None:
    """The inputs of a route, on the member's own side."""
    await inputs_of(chat, interaction, number)


async def show_inputs_right(chat: Chat, interaction: discord.Interaction[Any], number: int) -> None:
    """The inputs of a route, facing right."""
    await inputs_of(chat, interaction, number, Side.RIGHT)


async def show_inputs_left(chat: Chat, interaction: discord.Interaction[Any], number: int) -> None:
    """The inputs of a route, facing left."""
    await inputs_of(chat, interaction, number, Side.LEFT)


async def show_sheet(chat: Chat, interaction: discord.Interaction[Any], number: int) -> None:
    """The rhythm sheet of a route."""
    await sheet_of(chat, interaction, number)


async def show_presses(chat: Chat, interaction: discord.Interaction[Any], number: int) -> None:
    """The rhythm of a route in words, for who cannot see or hear it."""
    sheet = await _rhythm(chat, interaction, number)
    if sheet is not None:
        layout = Layout(presses_card(sheet), None, route_buttons(sheet.opened))
        await chat.reply(interaction, layout, private=True)


async def send_clicks(chat: Chat, interaction: discord.Interaction[Any], number: int) -> None:
    """The click track of a route as fast as the game."""
    await clicks_of(chat, interaction, number)


async def send_clicks_75(chat: Chat, interaction: discord.Interaction[Any], number: int) -> None:
    """The click track of a route at 75 % speed."""
    await clicks_of(chat, interaction, number, 75)


async def send_clicks_50(chat: Chat, interaction: discord.Interaction[Any], number: int) -> None:
    """The click track of a route at 50 % speed."""
    await clicks_of(chat, interaction, number, 50)


async def make_drill(chat: Chat, interaction: discord.Interaction[Any], number: int) -> None:
    """A drill of a route, with a button for each piece that logs it."""
    opened = await _opened(chat, interaction, number)
    if opened is None:
        return
    drill = await chat.drills.of(place_of(chat, interaction), opened, interaction.id)
    if isinstance(drill, Unplayable):
        await _say_why(chat, interaction, drill)
        return
    buttons = [*_pieces(drill), *_speeds(opened, 100, with_usual=True)]
    await chat.reply(interaction, Layout(drill_card(drill), None, buttons), private=True)


async def _opened(chat: Chat, interaction: discord.Interaction[Any], what: What) -> OpenRoute | None:
    """The route, once it is said that the answer takes a moment; a refusal is answered."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    if isinstance(what, str):
        opened = await chat.opener.typed(place, what, interaction.id)
    else:
        opened = await chat.opener.numbered(place, what)
    if isinstance(opened, LogRefusal):
        await chat.reply(interaction, log_layout(chat, place, opened), private=True)
        return None
    return opened


async def _rhythm(chat: Chat, interaction: discord.Interaction[Any], what: What) -> RhythmSheet | None:
    """When to press the route; why it cannot be told is answered."""
    opened = await _opened(chat, interaction, what)
    if opened is None:
        return None
    sheet = await chat.playing.rhythm(place_of(chat, interaction), opened)
    if isinstance(sheet, Unplayable):
        await _say_why(chat, interaction, sheet)
        return None
    return sheet


async def _say_why(chat: Chat, interaction: discord.Interaction[Any], route: Unplayable) -> None:
    """Why a route cannot be played, with the way to where it fails."""
    layout = Layout(unplayable_card(route), None, route_buttons(route.opened))
    await chat.reply(interaction, layout, private=True)


def _pieces(drill: RouteDrill) -> list[PracticeButton]:
    """A button that logs each piece."""
    return [
        PracticeButton(
            discord.ui.Button(
                label=piece_label(piece),
                custom_id=make_practice_id(PracticeKey(Act.LOG_OF, piece.subject_id)),
                style=discord.ButtonStyle.primary,
            )
        )
        for piece in drill.pieces
    ]


def _speeds(opened: OpenRoute, speed_percent: int, *, with_usual: bool = False) -> list[PracticeButton]:
    """The click track at the other speeds, and the way back to the route."""
    acts = {100: Act.CLICKS, 75: Act.CLICKS_75, 50: Act.CLICKS_50}
    others = [act for percent, act in acts.items() if with_usual or percent != speed_percent]
    keys = [PracticeKey(act, opened.subject_id) for act in (*others, Act.SHEET, Act.PRESSES, Act.ROUTE)]
    return practice_buttons(*keys)
