"""Homework as its coach meets it: what waits, accepting, sending back, comments, the same for others."""

from __future__ import annotations

from typing import Any

import discord

from bot.components.act import Act, FormAct, ListAct
from bot.components.chat import Chat, place_of
from bot.components.coaching import refuse
from bot.components.form import filled_in
from bot.components.homework import show_page, tell, tell_set
from bot.components.ids import PracticeKey
from bot.components.layout import Layout
from bot.components.list_pick import list_pick
from bot.components.practice_buttons import practice_buttons
from bot.components.words_form import Field, WordsForm
from bot.render.homework import same_card
from bot.results.coaching import (
    COMMENT_CHARACTERS,
    HOMEWORK_NOTE_CHARACTERS,
    CoachRefusal,
    CoachRefusalCode,
)
from bot.results.place import Place
from core.learning.homework import Step

REVIEW_NOTE, AT, COMMENT = "review-note", "clip-time", "comment"
TIME_CHARACTERS = 12


async def show_queue(chat: Chat, interaction: discord.Interaction[Any], page: int = 0) -> None:
    """What waits for the coach."""
    await chat.wait(interaction, private=True)
    found = await chat.reviews.queue(place_of(chat, interaction), page)
    await show_page(chat, interaction, found, queue=True)


async def accept_work(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """Accept it."""
    await chat.wait(interaction, private=True)
    place = place_of(chat, interaction)
    await tell(
        chat, interaction, await chat.reviews.review(place, homework_id, Step.ACCEPT, "", interaction.id)
    )


async def open_send_back(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """A form for why it goes back."""
    if await _is_coachs(chat, interaction, homework_id):
        fields = (Field(REVIEW_NOTE, HOMEWORK_NOTE_CHARACTERS, long=True),)
        await chat.show(interaction, WordsForm(FormAct.SEND_BACK, homework_id, fields))


async def take_send_back(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """Send it back with a note."""
    await chat.wait(interaction, private=True)
    place, note = place_of(chat, interaction), filled_in(interaction).get(REVIEW_NOTE, "")
    done = await chat.reviews.review(place, homework_id, Step.SEND_BACK, note, interaction.id)
    await tell(chat, interaction, done)


async def open_comment(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """A form for a comment on the clip."""
    if await _is_coachs(chat, interaction, homework_id):
        fields = (Field(AT, TIME_CHARACTERS, required=False), Field(COMMENT, COMMENT_CHARACTERS, long=True))
        await chat.show(interaction, WordsForm(FormAct.COMMENT, homework_id, fields))


async def take_comment(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """Keep the comment."""
    await chat.wait(interaction, private=True)
    place, given = place_of(chat, interaction), filled_in(interaction)
    done = await chat.reviews.comment(
        place, homework_id, given.get(AT, ""), given.get(COMMENT, ""), interaction.id
    )
    await tell(chat, interaction, done)


async def take_easier(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """Put the easier route in its place."""
    await chat.wait(interaction, private=True)
    place = place_of(chat, interaction)
    await tell(chat, interaction, await chat.reviews.answer_easier(place, homework_id, True, interaction.id))


async def keep_homework(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """Leave it as it is."""
    await chat.wait(interaction, private=True)
    place = place_of(chat, interaction)
    await tell(chat, interaction, await chat.reviews.answer_easier(place, homework_id, False, interaction.id))


async def same_for(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """The coach's other students, to give them the same."""
    await chat.wait(interaction, private=True)
    place = place_of(chat, interaction)
    view = await chat.homework.one(place, homework_id)
    if isinstance(view, CoachRefusal):
        await refuse(chat, interaction, view)
        return
    there = Place(view.homework.student.server_id, place.channel_id, place.member_id)  # not the home of DMs
    others = [one for one in await chat.coaching.students(there) if one.student != view.homework.student]
    server_id = view.homework.student.server_id
    names = await chat.names.of(server_id, [one.student.member_id for one in others])
    named = [(one.id, names[one.student.member_id]) for one in others if one.student.member_id in names]
    options = sorted(named, key=lambda option: option[1].casefold())
    card = same_card(view, len(options), chat.desk.game_of(place))
    pick = list_pick(ListAct.SAME_FOR, homework_id, options, "same", several=True)
    buttons = practice_buttons(PracticeKey(Act.STUDENTS))
    await chat.reply(interaction, Layout(card, None, buttons, pick=pick), private=True)


async def give_same(
    chat: Chat, interaction: discord.Interaction[Any], homework_id: int, numbers: tuple[int, ...]
) -> None:
    """Give the same to those who were picked."""
    await chat.wait(interaction, private=True)
    place = place_of(chat, interaction)
    await tell_set(
        chat, interaction, await chat.homework.same_for(place, homework_id, numbers, interaction.id)
    )


async def _is_coachs(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> bool:
    """Whether the presser set it; who did not is told so before they fill in a form."""
    place = place_of(chat, interaction)
    view = await chat.homework.one(place, homework_id)
    coach = None if isinstance(view, CoachRefusal) else view.homework.coach
    if coach is None or not place.is_of(coach):
        await refuse(chat, interaction, CoachRefusal(CoachRefusalCode.NO_SUCH_HOMEWORK))
        return False
    return True
