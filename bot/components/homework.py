"""Homework as its student meets it: how far it is, logging on it, handing it in; and as a coach sets it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import discord

from bot.components.act import Act, FormAct, ListAct
from bot.components.chat import Chat, place_of
from bot.components.coaching import names_of, refuse
from bot.components.form import RESULT_CHARACTERS, filled_in
from bot.components.ids import PracticeKey
from bot.components.layout import Layout
from bot.components.list_pick import list_pick
from bot.components.practice_buttons import PracticeButton, act_buttons, page_buttons, practice_buttons
from bot.components.words_form import Field, WordsForm
from bot.render.homework import homework_card, homework_list_card, homework_option, set_card
from bot.results.coaching import (
    CLIP_CHARACTERS,
    HOMEWORK_NOTE_CHARACTERS,
    CoachRefusal,
    CoachRefusalCode,
    HomeworkAsked,
    HomeworkPage,
    HomeworkSet,
    HomeworkView,
    KeptHomework,
)
from bot.results.log import Logged, LogRefusal
from bot.results.place import Place
from bot.results.tally import NOTE_CHARACTERS, SubjectKind
from core.learning.homework import Stage

RESULT, NOTE, CLIP, HAND_IN_NOTE = "result", "note", "clip", "hand-in-note"


async def names_in(chat: Chat, *pieces: KeptHomework) -> dict[int, str]:
    """What the coaches and students of these are called in their servers."""
    return await names_of(chat, (owner for kept in pieces for owner in (kept.coach, kept.student) if owner))


async def homework_layout(
    chat: Chat, place: Place, view: HomeworkView, logged: Logged | None = None
) -> Layout:
    """One homework, with what its student or its coach can do."""
    to_coach = not place.is_of(view.homework.student)
    view = view if to_coach else await numbered(chat, place, view)
    names = await names_in(chat, view.homework)
    game, zone = chat.desk.game_of(place), chat.book.zone(place.owner)
    fails = chat.homework.fails_in(view.homework)
    card = homework_card(view, names, zone, game, to_coach=to_coach, logged=logged, fails=fails)
    return Layout(card, None, homework_buttons(view, to_coach=to_coach, logged=logged))


async def numbered(chat: Chat, place: Place, view: HomeworkView) -> HomeworkView:
    """The homework with a number of its subject in the student's log, also before they logged any of it: how
    to press it is asked for first of all."""
    if view.subject_id:
        return view
    number = await chat.homework.subject_number(place, view.homework.id)
    return view if isinstance(number, CoachRefusal) else replace(view, subject_id=number)


def homework_buttons(
    view: HomeworkView, *, to_coach: bool, logged: Logged | None = None
) -> list[PracticeButton]:
    """What can be done with it now."""
    kept, number = view.homework, view.homework.id
    acts = _coach_acts(kept) if to_coach else _student_acts(view)
    keys = [PracticeKey(act, number) for act in acts]
    if logged is not None:
        keys.insert(1, PracticeKey(Act.UNDO, logged.kept.id))
    if not to_coach and view.subject_id and kept.subject.kind in (SubjectKind.LINK, SubjectKind.ROUTE):
        keys.append(PracticeKey(Act.SHEET, view.subject_id))
    keys.append(PracticeKey(Act.REVIEW if to_coach else Act.HOMEWORK))
    return practice_buttons(*keys)


async def set_homework(
    chat: Chat,
    interaction: discord.Interaction[Any],
    asked: HomeworkAsked,
    student: discord.User | discord.Member | None,
    role: discord.Role | None,
) -> None:
    """Set it for a student, or for all of the coach's students who have a role."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    if role is not None and place.server_id is not None:
        ours = [one.student.member_id for one in await chat.coaching.students(place)]
        found = set(await chat.names.with_role(place.server_id, ours, role.id))
        if student is not None:
            found.add(student.id)
        if not found:
            code = CoachRefusalCode.NO_SUCH_ROLE if ours else CoachRefusalCode.NO_STUDENTS
            await refuse(chat, interaction, CoachRefusal(code))
            return
        members = [one for one in ours if one in found] + [one for one in found if one not in ours]
    elif student is not None:
        members = [student.id]
    else:
        await refuse(chat, interaction, CoachRefusal(CoachRefusalCode.NOBODY_NAMED))
        return
    await tell_set(chat, interaction, await chat.homework.set(place, members, asked, interaction.id))


async def tell_set(
    chat: Chat, interaction: discord.Interaction[Any], done: HomeworkSet | CoachRefusal | LogRefusal
) -> None:
    """For whom it was set."""
    place = place_of(chat, interaction)
    if isinstance(done, CoachRefusal | LogRefusal):
        await refuse(chat, interaction, done)
        return
    names = await names_in(chat, *done.homework)
    missed = [member_id for member_id, _ in done.refused]
    if missed and place.server_id is not None:
        names |= await chat.names.of(place.server_id, missed)
    card = set_card(done, names, chat.book.zone(place.owner), chat.desk.game_of(place))
    keys = [PracticeKey(Act.SAME_FOR, done.homework[0].id)] if done.homework else []
    buttons = practice_buttons(*keys, PracticeKey(Act.STUDENTS))
    await chat.reply(interaction, Layout(card, None, buttons), private=True)


async def my_homework(chat: Chat, interaction: discord.Interaction[Any], page: int = 0) -> None:
    """The member's homework."""
    await chat.wait(interaction, private=True)
    found = await chat.homework.mine(place_of(chat, interaction), page)
    await show_page(chat, interaction, found, queue=False)


async def show_page(
    chat: Chat, interaction: discord.Interaction[Any], found: HomeworkPage, *, queue: bool
) -> None:
    """Homework to pick from: a student's own, or a coach's to look at."""
    place = place_of(chat, interaction)
    names = await names_in(chat, *(view.homework for view in found.views))
    zone, game = chat.book.zone(place.owner), chat.desk.game_of(place)
    options = [(view.homework.id, homework_option(view, names, zone, queue=queue)) for view in found.views]
    buttons = page_buttons(Act.REVIEW if queue else Act.HOMEWORK, found.page, found.pages)
    buttons += act_buttons(Act.STUDENTS if queue else Act.MY_COACHES)
    card = homework_list_card(found, names, zone, game, queue=queue)
    pick = list_pick(ListAct.HOMEWORK, 0, options, "pick")
    await chat.reply(interaction, Layout(card, None, buttons, pick=pick), private=True)


async def open_homework(
    chat: Chat, interaction: discord.Interaction[Any], _: int, numbers: tuple[int, ...]
) -> None:
    """The homework that was picked from a list."""
    await show_homework(chat, interaction, numbers[0])


async def show_homework(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """A homework, for its student or coach."""
    await chat.wait(interaction, private=True)
    await tell(chat, interaction, await chat.homework.one(place_of(chat, interaction), homework_id))


async def open_log(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """A form for a tally of it."""
    if await _is_students(chat, interaction, homework_id):
        fields = (Field(RESULT, RESULT_CHARACTERS), Field(NOTE, NOTE_CHARACTERS, required=False))
        await chat.show(interaction, WordsForm(FormAct.HOMEWORK_LOG, homework_id, fields))


async def take_log(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """Log what was filled in."""
    place, given = place_of(chat, interaction), filled_in(interaction)
    await chat.wait(interaction, private=True)
    logged = await chat.homework.log(
        place, homework_id, given.get(RESULT, ""), given.get(NOTE, ""), interaction.id
    )
    if isinstance(logged, tuple):
        await tell(chat, interaction, logged[1], logged[0])
    else:
        await refuse(chat, interaction, logged)


async def open_hand_in(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """A form to hand it in."""
    if await _is_students(chat, interaction, homework_id):
        fields = (
            Field(HAND_IN_NOTE, HOMEWORK_NOTE_CHARACTERS, required=False, long=True),
            Field(CLIP, CLIP_CHARACTERS, required=False),
        )
        await chat.show(interaction, WordsForm(FormAct.HAND_IN, homework_id, fields))


async def take_hand_in(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """Hand it in."""
    place, given = place_of(chat, interaction), filled_in(interaction)
    await chat.wait(interaction, private=True)
    note, clip = given.get(HAND_IN_NOTE, ""), given.get(CLIP, "")
    await tell(chat, interaction, await chat.homework.hand_in(place, homework_id, note, clip, interaction.id))


async def tell(
    chat: Chat,
    interaction: discord.Interaction[Any],
    view: HomeworkView | CoachRefusal,
    logged: Logged | None = None,
) -> None:
    """A homework as it is now, or why nothing was done."""
    if isinstance(view, CoachRefusal):
        await refuse(chat, interaction, view)
        return
    layout = await homework_layout(chat, place_of(chat, interaction), view, logged)
    await chat.reply(interaction, layout, private=True)


async def _is_students(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> bool:
    """Whether it is the presser's own; who may not is told so before they fill in a form."""
    found = await chat.homework.student_place(place_of(chat, interaction), homework_id)
    if isinstance(found, CoachRefusal):
        await refuse(chat, interaction, found)
        return False
    return True


def _student_acts(view: HomeworkView) -> list[Act]:
    kept = view.homework
    if kept.stage is Stage.ACCEPTED:
        return []
    acts = [Act.HOMEWORK_LOG]
    if view.coached and kept.stage in (Stage.SET, Stage.RETURNED):
        acts.append(Act.HAND_IN)
        if kept.subject.kind in (SubjectKind.LINK, SubjectKind.ROUTE) and not kept.asks_easier:
            acts.append(Act.EASIER)
    return acts


def _coach_acts(kept: KeptHomework) -> list[Act]:
    acts: list[Act] = []
    if kept.stage in (Stage.HANDED_IN, Stage.RETURNED):
        acts.append(Act.ACCEPT_WORK)
    if kept.stage in (Stage.HANDED_IN, Stage.ACCEPTED):  # a coach may change their mind
        acts.append(Act.SEND_BACK)
    if kept.asks_easier:
        acts += [Act.TAKE_EASIER, Act.KEEP_HOMEWORK]
    if kept.clip:
        acts.append(Act.COMMENT)
    return [*acts, Act.SAME_FOR]
