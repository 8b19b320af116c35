"""What a student's log says, for the coach whom they accepted: to read, with nothing to change."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.coaching import name_of, refuse
from bot.components.ids import PracticeKey
from bot.components.layout import Layout, Picture
from bot.components.practice_buttons import practice_buttons
from bot.components.reports import beside_pictures, side_pictures, week_pictures
from bot.render.card import Card
from bot.render.hands import all_timing_card
from bot.render.log import log_refusal_card
from bot.render.progress import overview_card, practice_refusal_card
from bot.render.student import as_student_reads, student_tallies_card
from bot.results.coaching import CoachRefusal
from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.practice import AllTiming, Overview, PracticeRefusal


async def show_tallies(chat: Chat, interaction: discord.Interaction[Any], coaching_id: int) -> None:
    """What the student logged last."""
    student = await _student(chat, interaction, coaching_id)
    if student is None:
        return
    place, listed = place_of(chat, interaction), await chat.log.listed(student)
    name, zone = await name_of(chat, student.owner), chat.book.zone(place.owner)
    card = student_tallies_card(listed.tallies, name, zone, chat.desk.game_of(place))
    await _send(chat, interaction, coaching_id, card)


async def show_timing(chat: Chat, interaction: discord.Interaction[Any], coaching_id: int) -> None:
    """Whether the student presses early or late."""
    student = await _student(chat, interaction, coaching_id)
    if student is None:
        return
    found = await chat.timing.of(student, None)
    if isinstance(found, AllTiming):
        card, pictures = all_timing_card(found), await side_pictures(chat, found.sides)
        await _send_read(chat, interaction, coaching_id, student, card, pictures)
    else:
        assert isinstance(found, PracticeRefusal | LogRefusal), "nothing else is told of all that they log"
        await _send_refusal(chat, interaction, coaching_id, student, found)


async def show_progress(chat: Chat, interaction: discord.Interaction[Any], coaching_id: int) -> None:
    """How it goes with the student."""
    student = await _student(chat, interaction, coaching_id)
    if student is None:
        return
    found = await chat.progress.of(student, None, None)
    if isinstance(found, Overview):
        pictures = await week_pictures(chat, "", found.points, found.goal)
        pictures += await beside_pictures(chat, found.beside)
        await _send_read(chat, interaction, coaching_id, student, overview_card(found), pictures)
    else:
        assert isinstance(found, PracticeRefusal | LogRefusal), "nothing else is told of all that they log"
        await _send_refusal(chat, interaction, coaching_id, student, found)


async def _student(chat: Chat, interaction: discord.Interaction[Any], coaching_id: int) -> Place | None:
    """Where the student's log is; a refusal is answered."""
    await chat.wait(interaction, private=True)
    found = await chat.coaching.student_place(place_of(chat, interaction), coaching_id)
    if isinstance(found, CoachRefusal):
        await refuse(chat, interaction, found)
        return None
    return found


async def _send_refusal(
    chat: Chat,
    interaction: discord.Interaction[Any],
    coaching_id: int,
    student: Place,
    refusal: PracticeRefusal | LogRefusal,
) -> None:
    if isinstance(refusal, LogRefusal):
        card = log_refusal_card(refusal, chat.desk.game_of(student))
    else:
        card = practice_refusal_card(refusal)
    await _send_read(chat, interaction, coaching_id, student, card)


async def _send_read(
    chat: Chat,
    interaction: discord.Interaction[Any],
    coaching_id: int,
    student: Place,
    card: Card,
    pictures: Sequence[Picture] = (),
) -> None:
    """What the student would read, told as such: it says "you" to them."""
    card = as_student_reads(card, await name_of(chat, student.owner))
    await _send(chat, interaction, coaching_id, card, pictures)


async def _send(
    chat: Chat,
    interaction: discord.Interaction[Any],
    coaching_id: int,
    card: Card,
    pictures: Sequence[Picture] = (),
) -> None:
    buttons = practice_buttons(PracticeKey(Act.STUDENT, coaching_id), PracticeKey(Act.STUDENTS))
    layout = Layout(card, None, buttons, pictures=pictures)
    await chat.reply(interaction, layout, private=True, files=[picture.file() for picture in pictures])
