"""A coach's students: the board, one student's page, and what several are stuck on."""

from __future__ import annotations

from typing import Any

import discord

from bot.components.act import Act, FormAct, ListAct
from bot.components.chat import Chat, place_of
from bot.components.coaching import refuse
from bot.components.form import filled_in
from bot.components.ids import PracticeKey
from bot.components.layout import Layout, Picture
from bot.components.list_pick import list_pick
from bot.components.practice_buttons import page_buttons, practice_buttons
from bot.components.words_form import Field, WordsForm
from bot.render.board_lines import BoardLine, board_lines, board_subtitle
from bot.render.coach_board import board_card, page_card, stuck_card
from bot.render.coaching import member_name
from bot.render.homework import homework_option
from bot.render.pictures import board_alt, board_picture
from bot.results.coaching import STUDENT_NOTE_CHARACTERS, CoachRefusal, CoachRefusalCode, StudentPage

STUDENT_NOTE = "student-note"
ON_PAGE = (
    Act.STUDENT_TALLIES,
    Act.STUDENT_TIMING,
    Act.STUDENT_PROGRESS,
    Act.STUDENT_NOTE,
    Act.END_COACHING,
)
"""What stands below a student's page."""


async def show_board(chat: Chat, interaction: discord.Interaction[Any], page: int = 0) -> None:
    """The coach's students."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    board = await chat.boards.board(place, page)
    known = [row.coaching for row in board.rows] + list(board.asked)
    names = await chat.names.of(place.owner.server_id, [one.student.member_id for one in known])
    zone = chat.book.zone(place.owner)
    card = board_card(board, names, zone, chat.desk.game_of(place))
    lines = board_lines(board, names, interaction.created_at, zone)
    pictures = await _pictures(chat, board_subtitle(board), lines)
    buttons = practice_buttons(PracticeKey(Act.REVIEW), PracticeKey(Act.STUCK))
    buttons += page_buttons(Act.STUDENTS, board.page, board.pages)
    options = [(row.coaching.id, member_name(names, row.coaching.student)) for row in board.rows]
    pick = list_pick(ListAct.STUDENT, 0, options, "student")
    layout = Layout(card, None, buttons, pictures=pictures, pick=pick)
    await chat.reply(interaction, layout, private=True, files=[picture.file() for picture in pictures])


async def open_student(
    chat: Chat, interaction: discord.Interaction[Any], _: int, numbers: tuple[int, ...]
) -> None:
    """The student who was picked from the board."""
    await show_student(chat, interaction, numbers[0])


async def show_student(chat: Chat, interaction: discord.Interaction[Any], coaching_id: int) -> None:
    """One student's page."""
    await chat.wait(interaction, private=True)
    await _tell(chat, interaction, await chat.boards.student(place_of(chat, interaction), coaching_id))


async def page_of(chat: Chat, interaction: discord.Interaction[Any], member_id: int) -> None:
    """The page of a student who is named by member."""
    place = place_of(chat, interaction)
    for one in await chat.coaching.students(place):
        if one.student.member_id == member_id:
            await show_student(chat, interaction, one.id)
            return
    await refuse(chat, interaction, CoachRefusal(CoachRefusalCode.NOT_STUDENT))


async def open_note(chat: Chat, interaction: discord.Interaction[Any], coaching_id: int) -> None:
    """A form for a note that only the coach sees; who may not is told so before they fill it in."""
    found = await chat.coaching.student_place(place_of(chat, interaction), coaching_id)
    if isinstance(found, CoachRefusal):
        await refuse(chat, interaction, found)
        return
    fields = (Field(STUDENT_NOTE, STUDENT_NOTE_CHARACTERS, long=True),)
    await chat.show(interaction, WordsForm(FormAct.STUDENT_NOTE, coaching_id, fields))


async def take_note(chat: Chat, interaction: discord.Interaction[Any], coaching_id: int) -> None:
    """Keep the note."""
    await chat.wait(interaction, private=True)
    place, text = place_of(chat, interaction), filled_in(interaction).get(STUDENT_NOTE, "")
    await _tell(chat, interaction, await chat.boards.note(place, coaching_id, text, interaction.id))


async def show_stuck(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """What several students are stuck on."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    found = await chat.boards.stuck(place)
    members = [owner.member_id for link in found for owner in link.students]
    names = await chat.names.of(place.owner.server_id, members)
    card = stuck_card(found, names, chat.desk.game_of(place))
    buttons = practice_buttons(PracticeKey(Act.STUDENTS))
    await chat.reply(interaction, Layout(card, None, buttons), private=True)


async def _tell(chat: Chat, interaction: discord.Interaction[Any], page: StudentPage | CoachRefusal) -> None:
    if isinstance(page, CoachRefusal):
        await refuse(chat, interaction, page)
        return
    place, one = place_of(chat, interaction), page.row.coaching
    names = await chat.names.of(one.student.server_id, (one.student.member_id,))
    card = page_card(page, names, chat.book.zone(place.owner), chat.desk.game_of(place))
    buttons = practice_buttons(*(PracticeKey(act, one.id) for act in ON_PAGE), PracticeKey(Act.STUDENTS))
    zone = chat.book.zone(place.owner)
    options = [(view.homework.id, homework_option(view, names, zone, queue=False)) for view in page.homework]
    pick = list_pick(ListAct.HOMEWORK, 0, options, "pick")
    await chat.reply(interaction, Layout(card, None, buttons, pick=pick), private=True)


async def _pictures(chat: Chat, subtitle: str, lines: tuple[BoardLine, ...]) -> list[Picture]:
    """The board as a table; nothing where there is nobody or it cannot be drawn."""
    png = await chat.draw(board_picture, subtitle, lines) if lines else None
    return [Picture("students.png", png, board_alt(lines))] if png else []
