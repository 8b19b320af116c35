"""What coaches and moderators do with group drills by button and by form."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import discord

from bot.components.act import CoachAct, FormAct
from bot.components.chat import Chat, place_of
from bot.components.coach_buttons import CoachButton, coach_button, coach_buttons
from bot.components.drills import refuse_drill
from bot.components.form import filled_in
from bot.components.layout import Layout
from bot.components.words_form import Field, WordsForm
from bot.render.drill_desk import (
    decided_card,
    judge_label,
    list_card,
    result_card,
    results_card,
    suggested_card,
)
from bot.results.drills import (
    REASON_CHARACTERS,
    DrillRefusal,
    DrillResult,
    DrillResults,
    DrillStage,
)
from bot.services.drill_plans import not_open

REASON = "reason"
MOST_TO_JUDGE = 4
"""So many tallies of a list have buttons of their own: those that nobody has looked at."""


async def show_results(chat: Chat, interaction: discord.Interaction[Any], drill_id: int = 0) -> None:
    """What was logged on a drill, 0 for the one that was opened last."""
    await _results(chat, interaction, await chat.drill_judging.results(place_of(chat, interaction), drill_id))


async def show_older(chat: Chat, interaction: discord.Interaction[Any], tally_id: int) -> None:
    """What was logged before a tally."""
    await _results(chat, interaction, await chat.drill_judging.older(place_of(chat, interaction), tally_id))


async def show_result(chat: Chat, interaction: discord.Interaction[Any], tally_id: int) -> None:
    """One tally, to be judged."""
    await _result(chat, interaction, await chat.drill_judging.one(place_of(chat, interaction), tally_id))


async def see(chat: Chat, interaction: discord.Interaction[Any], tally_id: int) -> None:
    """Mark a tally as seen."""
    place = place_of(chat, interaction)
    await _result(chat, interaction, await chat.drill_judging.see(place, tally_id, interaction.id), "seen")


async def unstrike(chat: Chat, interaction: discord.Interaction[Any], tally_id: int) -> None:
    """Count a tally again."""
    place = place_of(chat, interaction)
    found = await chat.drill_judging.unstrike(place, tally_id, interaction.id)
    await _result(chat, interaction, found, "counted")


async def open_strike(chat: Chat, interaction: discord.Interaction[Any], tally_id: int) -> None:
    """Ask why a tally is struck."""
    field = Field(REASON, REASON_CHARACTERS, long=True)
    await chat.show(interaction, WordsForm(FormAct.STRIKE, tally_id, [field]))


async def take_strike(chat: Chat, interaction: discord.Interaction[Any], tally_id: int) -> None:
    """Strike it."""
    place, reason = place_of(chat, interaction), filled_in(interaction).get(REASON, "")
    found = await chat.drill_judging.strike(place, tally_id, reason, interaction.id)
    await _result(chat, interaction, found, "struck")


async def suggest(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """What most members drop."""
    place = place_of(chat, interaction)
    found = await chat.drill_desk.suggest(place)
    if isinstance(found, DrillRefusal):
        await refuse_drill(chat, interaction, found)
        return
    layout = Layout(
        suggested_card(found, chat.desk.game_of(place)), None, coach_buttons((CoachAct.PLANNED, 0))
    )
    await chat.reply(interaction, layout, private=True)


async def show_planned(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """The server's list."""
    place = place_of(chat, interaction)
    listed = await chat.drill_desk.listed(place)
    if isinstance(listed, DrillRefusal):
        await refuse_drill(chat, interaction, listed)
        return
    acts = [(CoachAct.RESULTS, drill.id) for drill in listed.open[:1]]
    buttons = coach_buttons(*acts, (CoachAct.SUGGEST, 0))
    await chat.reply(
        interaction, Layout(list_card(listed, chat.desk.game_of(place)), None, buttons), private=True
    )


async def ask_to_cancel(chat: Chat, interaction: discord.Interaction[Any], drill_id: int = 0) -> None:
    """Ask whether to call a drill off."""
    place = place_of(chat, interaction)
    drill = await chat.drill_part.drill(place, drill_id)
    if not isinstance(drill, DrillRefusal) and drill.stage not in (DrillStage.OPEN, DrillStage.PLANNED):
        drill = not_open(drill)
    if isinstance(drill, DrillRefusal):
        await refuse_drill(chat, interaction, drill)
        return
    zone = chat.book.server_zone(drill.server_id)
    card = decided_card("ask-cancel", drill, chat.desk.game_of(place), zone)
    buttons = coach_buttons((CoachAct.CANCEL_DRILL_NOW, drill.id))
    await chat.reply(interaction, Layout(card, None, buttons), private=True)


async def cancel(chat: Chat, interaction: discord.Interaction[Any], drill_id: int) -> None:
    """Call a drill off."""
    place = place_of(chat, interaction)
    drill = await chat.drill_desk.cancel(place, drill_id, interaction.id)
    if isinstance(drill, DrillRefusal):
        await refuse_drill(chat, interaction, drill)
        return
    card = decided_card("cancelled", drill, chat.desk.game_of(place), chat.book.server_zone(drill.server_id))
    await chat.reply(interaction, Layout(card), private=True)


async def _results(
    chat: Chat, interaction: discord.Interaction[Any], found: DrillResults | DrillRefusal
) -> None:
    if isinstance(found, DrillRefusal):
        await refuse_drill(chat, interaction, found)
        return
    names = await chat.names.of(found.drill.server_id, {one.member_id for one in found.results})
    unseen = [one for one in found.results if not one.seen and one.reason is None][:MOST_TO_JUDGE]
    buttons = [coach_button(CoachAct.RESULT, one.kept.id, judge_label(one, names)) for one in unseen]
    if found.older:
        buttons += coach_buttons((CoachAct.OLDER_RESULTS, found.results[-1].kept.id))
    game = chat.desk.game_of(place_of(chat, interaction))
    await chat.reply(interaction, Layout(results_card(found, names, game), None, buttons), private=True)


async def _result(
    chat: Chat,
    interaction: discord.Interaction[Any],
    result: DrillResult | DrillRefusal,
    said: str | None = None,
) -> None:
    if isinstance(result, DrillRefusal):
        await refuse_drill(chat, interaction, result)
        return
    place = place_of(chat, interaction)
    names = await chat.names.of(place.owner.server_id, [result.member_id])
    zone = chat.book.server_zone(place.owner.server_id)
    card = result_card(result, names, chat.desk.game_of(place), zone, said)
    await chat.reply(interaction, Layout(card, None, _judge(result)), private=True)


def _judge(result: DrillResult) -> Sequence[CoachButton]:
    number = result.kept.id
    acts = [] if result.seen else [(CoachAct.SEE, number)]
    acts.append((CoachAct.STRIKE if result.reason is None else CoachAct.UNSTRIKE, number))
    return coach_buttons(*acts, (CoachAct.RESULTS, 0))
