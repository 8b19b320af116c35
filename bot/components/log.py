"""Logging by form and by button: what is answered, and with which buttons."""

from __future__ import annotations

from typing import Any

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.form import CONTROLS, EMPTY, GAPS, NOTE, WHEN, LogForm, read_form
from bot.components.ids import FormKey, PracticeKey, read_form_id
from bot.components.layout import Layout
from bot.components.practice_buttons import practice_buttons, show_gone, tally_pick
from bot.render.log import (
    changed_card,
    list_card,
    log_refusal_card,
    logged_card,
    one_card,
    put_back_card,
    undone_card,
)
from bot.results.log import Changed, Listed, Logged, LogRefusal, LogRefusalCode, PutBack, Undone
from bot.results.place import Place
from bot.results.tally import KeptTally, SubjectKind
from bot.services.drafts import Draft
from bot.services.log import Entry

LogResult = Logged | Changed | Undone | PutBack | LogRefusal | KeptTally


def log_layout(chat: Chat, place: Place, result: LogResult, *, can_mend: bool = False) -> Layout:
    """What came of it, with what one may do next. `can_mend`: a draft of it is kept."""
    game, zone = chat.desk.game_of(place), chat.book.zone(place.owner)
    match result:
        case Logged(kept=kept):
            acts = [
                PracticeKey(Act.LANDED, kept.id),
                PracticeKey(Act.DROPPED, kept.id),
                PracticeKey(Act.LOG_MORE, kept.id),
                PracticeKey(Act.UNDO, kept.id),
                PracticeKey(Act.PROGRESS, kept.subject_id),
            ]
            return Layout(logged_card(result, game), None, practice_buttons(*acts))
        case Undone(kept=kept):
            acts = [PracticeKey(Act.PUT_BACK, kept.id), PracticeKey(Act.LOG)]
            return Layout(undone_card(result, game), None, practice_buttons(*acts))
        case Changed(kept=kept):
            return Layout(changed_card(result, game, zone), None, _of_one(kept))
        case PutBack(kept=kept):
            return Layout(put_back_card(result, game), None, _of_one(kept))
        case KeptTally():
            return Layout(one_card(result, game, zone), None, _of_one(result))
        case LogRefusal():
            acts = [PracticeKey(Act.RETRY if can_mend else Act.LOG)]
            return Layout(log_refusal_card(result, game), None, practice_buttons(*acts))


def list_layout(chat: Chat, place: Place, listed: Listed) -> Layout:
    """Tallies, with a list to pick one from."""
    game, zone = chat.desk.game_of(place), chat.book.zone(place.owner)
    acts = [PracticeKey(Act.LOG)]
    if listed.older:
        acts.append(PracticeKey(Act.OLDER, listed.tallies[-1].id))
    if listed.tallies:
        acts += [PracticeKey(Act.TIMING), PracticeKey(Act.PROGRESS)]
    pick = tally_pick(listed.tallies) if listed.tallies else None
    return Layout(list_card(listed, game, zone), None, practice_buttons(*acts), pick=pick)


async def log_entry(
    chat: Chat, interaction: discord.Interaction[Any], entry: Entry, tally_id: int = 0
) -> None:
    """Log what was typed, or change a tally to it, and say what came of it. What is refused is kept to be
    mended."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    result: LogResult
    if tally_id:
        result = await chat.log.change(place, tally_id, entry, interaction.id)
    else:
        result = await chat.log.log(place, entry, interaction.id)
    if isinstance(result, LogRefusal):
        chat.drafts.keep(place.owner, Draft(entry, tally_id, _refused_field(result)))
    layout = log_layout(chat, place, result, can_mend=True)
    await chat.reply(interaction, layout, private=True)


async def take_form(chat: Chat, interaction: discord.Interaction[Any], custom_id: str) -> None:
    """Log what was filled in."""
    place, key = place_of(chat, interaction), read_form_id(custom_id)
    if key is None:
        await show_gone(chat, interaction)
        return
    rest = await _not_asked(chat, place, key)
    if isinstance(rest, LogRefusal):
        await _reply(chat, interaction, rest)
    else:
        await log_entry(chat, interaction, read_form(interaction, rest), key.tally_id)


def _refused_field(refusal: LogRefusal) -> str:
    """Which of the fields that a form has no room for was refused; empty where it was another one."""
    match refusal.code:
        case LogRefusalCode.NO_TIME | LogRefusalCode.IN_FUTURE | LogRefusalCode.TOO_OLD:
            return WHEN
        case LogRefusalCode.UNKNOWN_CONTROLS:
            return CONTROLS
        case LogRefusalCode.TOO_LONG if refusal.facts["field"] == NOTE:
            return NOTE
        case _:
            return ""


async def _not_asked(chat: Chat, place: Place, key: FormKey) -> Entry | LogRefusal:
    """What the form does not ask for: as it was typed before it was refused, else as the tally has it."""
    draft = chat.drafts.of(place.owner)
    if key.from_draft and draft.tally_id == key.tally_id:
        return draft.entry
    return await chat.log.entry_of(place, key.tally_id) if key.tally_id else EMPTY


async def open_form(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """An empty form."""
    await chat.show(interaction, LogForm())


async def open_draft(chat: Chat, interaction: discord.Interaction[Any], _: int) -> None:
    """The form as it was refused."""
    draft = chat.drafts.of(place_of(chat, interaction).owner)
    key = FormKey(draft.tally_id, from_draft=True)
    await chat.show(interaction, LogForm(draft.entry, key, draft.field or GAPS))


async def open_more(chat: Chat, interaction: discord.Interaction[Any], tally_id: int) -> None:
    """A form for another bout at the same."""
    entry = await chat.log.entry_of(place_of(chat, interaction), tally_id)
    if isinstance(entry, LogRefusal):
        await _reply(chat, interaction, entry)
        return
    more = Entry(entry.what, "", entry.context, entry.presses)
    await chat.show(interaction, LogForm(more))


async def open_of(chat: Chat, interaction: discord.Interaction[Any], subject_id: int) -> None:
    """A form for something that the member practises or looked at."""
    what = await chat.log.typed(place_of(chat, interaction), subject_id)
    if isinstance(what, LogRefusal):
        await _reply(chat, interaction, what)
        return
    await chat.show(interaction, LogForm(Entry(what, "")))


async def open_change(chat: Chat, interaction: discord.Interaction[Any], tally_id: int) -> None:
    """A form with a tally's values."""
    entry = await chat.log.entry_of(place_of(chat, interaction), tally_id)
    if isinstance(entry, LogRefusal):
        await _reply(chat, interaction, entry)
        return
    await chat.show(interaction, LogForm(entry, FormKey(tally_id)))


async def landed_again(chat: Chat, interaction: discord.Interaction[Any], tally_id: int) -> None:
    """One more try at the same, which landed."""
    await _again(chat, interaction, tally_id, landed=True)


async def dropped_again(chat: Chat, interaction: discord.Interaction[Any], tally_id: int) -> None:
    """One more try at the same, which dropped."""
    await _again(chat, interaction, tally_id, landed=False)


async def undo(chat: Chat, interaction: discord.Interaction[Any], tally_id: int) -> None:
    """Take a tally out."""
    result = await chat.log.undo(place_of(chat, interaction), tally_id, interaction.id)
    await _replace(chat, interaction, result)


async def put_back(chat: Chat, interaction: discord.Interaction[Any], tally_id: int) -> None:
    """Put it back."""
    result = await chat.log.put_back(place_of(chat, interaction), tally_id, interaction.id)
    await _replace(chat, interaction, result)


async def show_one(chat: Chat, interaction: discord.Interaction[Any], tally_id: int) -> None:
    """One tally, with what can be done to it."""
    await _reply(chat, interaction, await chat.log.one(place_of(chat, interaction), tally_id))


async def show_list(chat: Chat, interaction: discord.Interaction[Any], before_id: int = 0) -> None:
    """Tallies, the newest first."""
    place = place_of(chat, interaction)
    listed = await chat.log.listed(place, before_id or None)
    await chat.reply(interaction, list_layout(chat, place, listed), private=True)


async def _again(chat: Chat, interaction: discord.Interaction[Any], tally_id: int, landed: bool) -> None:
    await chat.wait_in_place(interaction)
    result = await chat.log.again(place_of(chat, interaction), tally_id, landed, interaction.id)
    await _replace(chat, interaction, result)


async def _reply(chat: Chat, interaction: discord.Interaction[Any], result: LogResult) -> None:
    layout = log_layout(chat, place_of(chat, interaction), result)
    await chat.reply(interaction, layout, private=True)


async def _replace(chat: Chat, interaction: discord.Interaction[Any], result: LogResult) -> None:
    """The answer in place of the card that was pressed, which is the presser's alone."""
    layout = log_layout(chat, place_of(chat, interaction), result)
    await chat.replace(interaction, layout)


def _of_one(kept: KeptTally) -> list[Any]:
    if kept.tally.subject.kind is SubjectKind.CHOICE:
        taken_out = PracticeKey(Act.UNDO, kept.id)
        return list(practice_buttons(taken_out, PracticeKey(Act.QUIZ), PracticeKey(Act.LIST)))
    acts = [
        PracticeKey(Act.CHANGE, kept.id),
        PracticeKey(Act.UNDO, kept.id),
        PracticeKey(Act.LOG_MORE, kept.id),
        PracticeKey(Act.LIST),
    ]
    return list(practice_buttons(*acts))
