"""A member's part in group drills: what their buttons and the form do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import discord

from bot.components.act import Act, FormAct
from bot.components.chat import Chat, place_of
from bot.components.drill_post import post_layout
from bot.components.form import RESULT_CHARACTERS, filled_in
from bot.components.ids import PracticeKey
from bot.components.layout import Layout
from bot.components.playing import sheet_of
from bot.components.practice_buttons import PracticeButton, practice_buttons
from bot.components.words_form import Field, WordsForm
from bot.render.drill_desk import drill_refusal_card
from bot.render.drills import part_card
from bot.results.drills import DrillEntry, DrillPart, DrillRefusal, DrillRefusalCode, DrillStage
from bot.results.log import Logged, LogRefusal
from bot.results.tally import NOTE_CHARACTERS
from bot.services.drill_plans import not_open
from core.drills.drill import Scoring

RUN_CHARACTERS = 10
RESULT, RUN, NOTE = "result", "run", "note"


async def join(chat: Chat, interaction: discord.Interaction[Any], drill_id: int) -> None:
    """Take part."""
    part = await chat.drill_part.join(place_of(chat, interaction), drill_id, interaction.id)
    await _tell(chat, interaction, part)


async def leave(chat: Chat, interaction: discord.Interaction[Any], drill_id: int) -> None:
    """Take part no longer."""
    part = await chat.drill_part.leave(place_of(chat, interaction), drill_id, interaction.id)
    await _tell(chat, interaction, part)


async def my_part(chat: Chat, interaction: discord.Interaction[Any], drill_id: int) -> None:
    """How the member stands."""
    await _tell(chat, interaction, await chat.drill_part.mine(place_of(chat, interaction), drill_id))


async def list_me(chat: Chat, interaction: discord.Interaction[Any], drill_id: int) -> None:
    """Agree to be named."""
    await _list(chat, interaction, drill_id, listed=True)


async def unlist_me(chat: Chat, interaction: discord.Interaction[Any], drill_id: int) -> None:
    """Agree no longer."""
    await _list(chat, interaction, drill_id, listed=False)


async def open_log(chat: Chat, interaction: discord.Interaction[Any], drill_id: int) -> None:
    """A form for a tally of a drill that is open."""
    drill = await chat.drill_part.drill(place_of(chat, interaction), drill_id)
    if isinstance(drill, DrillRefusal):
        await refuse_drill(chat, interaction, drill)
        return
    if drill.stage is not DrillStage.OPEN:
        await refuse_drill(chat, interaction, not_open(drill))
        return
    fields = [Field(RESULT, RESULT_CHARACTERS)]
    if drill.plan.scoring is Scoring.LONGEST_RUN:
        fields.append(Field(RUN, RUN_CHARACTERS, required=False))
    fields.append(Field(NOTE, NOTE_CHARACTERS, required=False))
    await chat.show(interaction, WordsForm(FormAct.DRILL_LOG, drill.id, fields))


async def take_log(chat: Chat, interaction: discord.Interaction[Any], drill_id: int) -> None:
    """Log what was filled in."""
    place, given = place_of(chat, interaction), filled_in(interaction)
    await chat.wait(interaction, private=True)
    entry = DrillEntry(given.get(RESULT, ""), given.get(RUN, ""), given.get(NOTE, ""))
    logged = await chat.drill_part.log(place, drill_id, entry, interaction.id)
    if isinstance(logged, tuple):
        await _tell(chat, interaction, logged[1], logged[0])
        return
    buttons = practice_buttons(PracticeKey(Act.DRILL_LOG, drill_id), PracticeKey(Act.MY_PART, drill_id))
    await refuse_drill(chat, interaction, logged, buttons)


async def rhythm(chat: Chat, interaction: discord.Interaction[Any], drill_id: int) -> None:
    """The rhythm sheet of a drill, for the member's own hands."""
    place = place_of(chat, interaction)
    number = await chat.drill_part.subject_number(place, drill_id)
    if isinstance(number, DrillRefusal):
        await refuse_drill(chat, interaction, number)
        return
    await sheet_of(chat, interaction, number)


async def show_drill(chat: Chat, interaction: discord.Interaction[Any], drill_id: int = 0) -> None:
    """A drill as its post has it, for one member; 0 for the one that was opened last."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    drill = await chat.drill_part.drill(place, drill_id)
    board = None if isinstance(drill, DrillRefusal) else await chat.drill_boards.board(drill.id)
    if board is None:
        refusal = drill if isinstance(drill, DrillRefusal) else DrillRefusal(DrillRefusalCode.NO_SUCH_DRILL)
        await refuse_drill(chat, interaction, refusal)
        return
    layout = await post_layout(chat, board)
    files = [picture.file() for picture in layout.pictures]
    await chat.reply(interaction, layout, private=True, files=files)


async def _list(chat: Chat, interaction: discord.Interaction[Any], drill_id: int, *, listed: bool) -> None:
    part = await chat.drill_part.list_me(place_of(chat, interaction), drill_id, listed, interaction.id)
    await _tell(chat, interaction, part)


async def _tell(
    chat: Chat,
    interaction: discord.Interaction[Any],
    part: DrillPart | DrillRefusal,
    logged: Logged | None = None,
) -> None:
    """A member's part, for their own eyes."""
    if isinstance(part, DrillRefusal):
        await refuse_drill(chat, interaction, part)
        return
    acts = []
    if part.drill.stage is DrillStage.OPEN:
        acts += [Act.DRILL_LOG, Act.LEAVE] if part.joined else [Act.JOIN]
    if part.joined:
        acts.insert(1, Act.UNLIST_ME if part.listed else Act.LIST_ME)
    keys = [PracticeKey(act, part.drill.id) for act in acts]
    if logged is not None:
        keys.insert(1, PracticeKey(Act.UNDO, logged.kept.id))
    await chat.reply(
        interaction, Layout(part_card(part, logged), None, practice_buttons(*keys)), private=True
    )


async def refuse_drill(
    chat: Chat,
    interaction: discord.Interaction[Any],
    refusal: DrillRefusal | LogRefusal,
    buttons: Sequence[PracticeButton] = (),
) -> None:
    """Why nothing was done."""
    game = chat.desk.game_of(place_of(chat, interaction))
    await chat.reply(interaction, Layout(drill_refusal_card(refusal, game), None, buttons), private=True)
