"""Numbers that members say are wrong: reported, looked at, accepted or left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import discord

from bot.components.act import Act, ModAct
from bot.components.chat import Chat, place_of, place_of_owner
from bot.components.drill_notices import Notice, Told
from bot.components.game_desk import change_buttons, refuse_game, tell_patch
from bot.components.ids import PracticeKey
from bot.components.layout import Layout
from bot.components.mod_buttons import ModButton, mod_button
from bot.components.practice_buttons import practice_buttons
from bot.render.game_desk import after_change
from bot.render.game_reports import (
    accept_label,
    accepted_words,
    decided_card,
    dismiss_label,
    dismissed_words,
    reported_card,
    reports_card,
)
from bot.results.games import GameRefusal, GameRefusalCode, Report, ReportList
from bot.results.notice import NoticeKind
from core.model import Game

MOST_SHOWN = 10
"""So many reports have buttons, two each, and are shown: the oldest."""


async def report_number(
    chat: Chat,
    interaction: discord.Interaction[Any],
    move: str,
    column: str,
    right: str,
    note: str,
    character: str | None,
) -> None:
    """Say that a number is wrong."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    taken = await chat.game_reports.report(place, move, column, right, note, character, interaction.id)
    if isinstance(taken, GameRefusal):
        await refuse_game(chat, interaction, taken)
        return
    await chat.reply(interaction, Layout(reported_card(taken, chat.desk.game_of(place))), private=True)


async def show_reports(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """The reports that wait."""
    await _list(chat, interaction, await chat.game_reports.open_ones(place_of(chat, interaction)))


async def accept(chat: Chat, interaction: discord.Interaction[Any], report_id: int) -> None:
    """Write the number that a member says is right, and show what waits still."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    change = await chat.game_reports.accept(place, report_id, interaction.id)
    if isinstance(change, GameRefusal):
        await refuse_game(chat, interaction, change)
        return
    await tell_patch(chat, interaction, change)
    report = await chat.game_reports.decided(report_id)
    lead, then = None, after_change(change.before.version) if change.before is not None else None
    if report is not None:
        lead = accepted_words(report, change, await _names(chat, [report]), place.owner)
    waiting = await chat.game_reports.open_ones(place)
    await _list(chat, interaction, waiting, lead, change_buttons(change), then)


async def dismiss(chat: Chat, interaction: discord.Interaction[Any], report_id: int) -> None:
    """Leave the number as it is, and show what waits still."""
    place = place_of(chat, interaction)
    report = await chat.game_reports.dismiss(place, report_id, interaction.id)
    if isinstance(report, GameRefusal):
        await refuse_game(chat, interaction, report)
        return
    lead = dismissed_words(report, await _names(chat, [report]), place.owner)
    await _list(chat, interaction, await chat.game_reports.open_ones(place), lead)


async def show_mine(chat: Chat, interaction: discord.Interaction[Any], report_id: int) -> None:
    """What became of a number that the member reported."""
    place = place_of(chat, interaction)
    report = await chat.game_reports.decided(report_id)
    if report is None or not place.is_of(report.member):
        refusal = GameRefusal(chat.desk.game_of(place), GameRefusalCode.NO_SUCH_REPORT)
        await refuse_game(chat, interaction, refusal)
        return
    await chat.reply(interaction, Layout(decided_card(report, _game_of(chat, report))), private=True)


async def _list(
    chat: Chat,
    interaction: discord.Interaction[Any],
    listed: ReportList,
    lead: str | None = None,
    besides: Sequence[ModButton] = (),
    then: str | None = None,
) -> None:
    shown = listed.reports[:MOST_SHOWN]
    listed = replace(listed, reports=shown, more=listed.more + len(listed.reports) - len(shown))
    buttons = []
    for number, report in enumerate(shown, 1):
        buttons.append(mod_button(ModAct.ACCEPT_REPORT, report.id, accept_label(number)))
        buttons.append(mod_button(ModAct.DISMISS_REPORT, report.id, dismiss_label(number)))
    zone = chat.book.server_zone(place_of(chat, interaction).owner.server_id)
    card = reports_card(listed, await _names(chat, shown), zone, lead, then)
    await chat.reply(interaction, Layout(card, None, [*buttons, *besides]), private=True)


async def _names(chat: Chat, reports: Sequence[Report]) -> Mapping[int, str]:
    if not reports:
        return {}
    members = {report.member.member_id for report in reports}
    return await chat.names.of(reports[0].member.server_id, members)


async def _decided(chat: Chat, report_id: int) -> Told | None:
    """Whom to tell that a report was decided; None where it is gone."""
    report = await chat.game_reports.decided(report_id)
    if report is None:
        return None
    buttons = practice_buttons(PracticeKey(Act.REMINDERS))
    return report.member, Layout(decided_card(report, _game_of(chat, report)), None, buttons)


def _game_of(chat: Chat, report: Report) -> Game:
    """The game that a report is about; its server's where that is gone."""
    found = chat.desk.game_named(report.member.server_id, report.game)
    return found if found is not None else chat.desk.game_of(place_of_owner(report.member))


GAME_NOTICES: Mapping[NoticeKind, Notice] = {NoticeKind.REPORT_DECIDED: _decided}
