"""What the log says: timing, progress and plans, with their pictures and buttons.

A picture that fails to be drawn is left out: the words stand by themselves.
"""

from __future__ import annotations

from typing import Any

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.ids import PracticeKey
from bot.components.layout import Layout, Picture
from bot.components.log import log_layout
from bot.components.practice_buttons import act_buttons, practice_buttons
from bot.render.hands import all_timing_card, link_timing_card, route_timing_card
from bot.render.pictures import (
    beside_alt,
    beside_picture,
    progress_alt,
    progress_picture,
    sides_alt,
    sides_picture,
)
from bot.render.plan import plan_card
from bot.render.progress import overview_card, practice_refusal_card, subject_card
from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.practice import (
    AllTiming,
    Beside,
    LinkSides,
    LinkTiming,
    Overview,
    PlannedSession,
    PracticeRefusal,
    PracticeRefusalCode,
    RouteTiming,
    SubjectProgress,
    WeekPoint,
)

PLAN_MINUTES = 20
"""What a button plans; the command takes any number."""

Timing = LinkTiming | RouteTiming | AllTiming | PracticeRefusal | LogRefusal
Progress = SubjectProgress | Overview | PracticeRefusal | LogRefusal
Planned = PlannedSession | PracticeRefusal | LogRefusal


async def show_timing(
    chat: Chat, interaction: discord.Interaction[Any], what: str | None, *, private: bool = True
) -> None:
    """Early or late, and what would help."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=private)
    await _send(chat, interaction, await _timing_layout(chat, place, await chat.timing.of(place, what)))


async def show_progress(
    chat: Chat,
    interaction: discord.Interaction[Any],
    what: str | None,
    date: str | None = None,
    *,
    private: bool = True,
) -> None:
    """How it goes."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=private)
    result = await chat.progress.of(place, what, date)
    await _send(chat, interaction, await _progress_layout(chat, place, result))


async def show_plan(
    chat: Chat,
    interaction: discord.Interaction[Any],
    minutes: int,
    what: str | None = None,
    date: str | None = None,
) -> None:
    """A session for the minutes that somebody has."""
    place = place_of(chat, interaction)
    result = await chat.plans.of(place, minutes, what, date)
    await chat.reply(interaction, _plan_layout(chat, place, result), private=True)


async def timing_of(chat: Chat, interaction: discord.Interaction[Any], subject_id: int) -> None:
    """The timing of one of the presser's subjects, or of all."""
    found = await _typed(chat, interaction, subject_id)
    if not isinstance(found, LogRefusal):
        await show_timing(chat, interaction, found)


async def progress_of(chat: Chat, interaction: discord.Interaction[Any], subject_id: int) -> None:
    """The progress at one of the presser's subjects, or at all."""
    found = await _typed(chat, interaction, subject_id)
    if not isinstance(found, LogRefusal):
        await show_progress(chat, interaction, found)


async def plan_of(chat: Chat, interaction: discord.Interaction[Any], subject_id: int) -> None:
    """A session on one of the presser's subjects, or on what they practised last."""
    found = await _typed(chat, interaction, subject_id)
    if not isinstance(found, LogRefusal):
        await show_plan(chat, interaction, PLAN_MINUTES, found)


async def _typed(
    chat: Chat, interaction: discord.Interaction[Any], subject_id: int
) -> str | LogRefusal | None:
    """What the presser would type for this subject; a refusal is answered."""
    if not subject_id:
        return None
    place = place_of(chat, interaction)
    typed = await chat.log.typed(place, subject_id)
    if isinstance(typed, LogRefusal):
        layout = log_layout(chat, place, typed)
        await chat.reply(interaction, layout, private=True)
    return typed


async def _timing_layout(chat: Chat, place: Place, result: Timing) -> Layout:
    match result:
        case LinkTiming(sides=sides):
            pictures = await side_pictures(chat, (sides,) if sides else ())
            return Layout(link_timing_card(result), None, act_buttons(Act.LOG, Act.PLAN), pictures=pictures)
        case RouteTiming():
            return Layout(route_timing_card(result), None, act_buttons(Act.LOG, Act.PLAN))
        case AllTiming():
            pictures = await side_pictures(chat, result.sides)
            return Layout(all_timing_card(result), None, act_buttons(Act.LOG, Act.PLAN), pictures=pictures)
        case _:
            return _refused(chat, place, result)


async def _progress_layout(chat: Chat, place: Place, result: Progress) -> Layout:
    match result:
        case SubjectProgress():
            goal = result.ownership.goal
            pictures = await week_pictures(chat, result.subject.what, result.points, goal)
            subject = PracticeKey(Act.TIMING, result.subject_id), PracticeKey(Act.PLAN, result.subject_id)
            buttons = practice_buttons(PracticeKey(Act.LOG), *subject)
            return Layout(subject_card(result), None, buttons, pictures=pictures)
        case Overview():
            pictures = await week_pictures(chat, "", result.points, result.goal)
            pictures += await beside_pictures(chat, result.beside)
            buttons = act_buttons(Act.LOG, Act.LIST, Act.TIMING, Act.PLAN)
            return Layout(overview_card(result), None, buttons, pictures=pictures)
        case _:
            return _refused(chat, place, result)


def _plan_layout(chat: Chat, place: Place, result: Planned) -> Layout:
    if isinstance(result, PlannedSession):
        return Layout(plan_card(result), None, act_buttons(Act.LOG, Act.TIMING))
    return _refused(chat, place, result)


def _refused(chat: Chat, place: Place, refusal: PracticeRefusal | LogRefusal) -> Layout:
    if isinstance(refusal, LogRefusal):
        return log_layout(chat, place, refusal)
    busy = refusal.code is PracticeRefusalCode.BUSY
    return Layout(practice_refusal_card(refusal), None, act_buttons(Act.TIMING if busy else Act.LOG))


async def _send(chat: Chat, interaction: discord.Interaction[Any], layout: Layout) -> None:
    await chat.reply(interaction, layout, files=[picture.file() for picture in layout.pictures])


async def side_pictures(chat: Chat, rows: tuple[LinkSides, ...]) -> list[Picture]:
    """Where presses fall; nothing where there are none or it cannot be drawn, as with all of these."""
    png = await chat.draw(sides_picture, rows) if rows else None
    return [Picture("timing.png", png, sides_alt(rows))] if png else []


async def week_pictures(chat: Chat, name: str, points: tuple[WeekPoint, ...], goal: float) -> list[Picture]:
    """What landed from week to week."""
    png = await chat.draw(progress_picture, name, points, goal) if points else None
    return [Picture("progress.png", png, progress_alt(name, points, goal))] if png else []


async def beside_pictures(chat: Chat, rows: tuple[Beside, ...]) -> list[Picture]:
    """Training beside matches."""
    png = await chat.draw(beside_picture, rows) if rows else None
    return [Picture("beside.png", png, beside_alt(rows))] if png else []
