"""What coaches and moderators decide on group drills by command."""

from __future__ import annotations

from typing import Any

import discord

from bot.components.act import CoachAct
from bot.components.chat import Chat, place_of
from bot.components.coach_buttons import coach_buttons
from bot.components.drills import refuse_drill
from bot.components.layout import Layout
from bot.render.card import Card
from bot.render.drill_desk import decided_card, exercise_card, series_card, stopped_card
from bot.results.drills import DrillAsked, DrillRefusal, DrillRefusalCode, Exercise, KeptDrill, Series
from core.verdict import Facts

NEEDED = discord.Permissions(
    view_channel=True, send_messages=True, attach_files=True, read_message_history=True
)


async def open_drill(
    chat: Chat,
    interaction: discord.Interaction[Any],
    asked: DrillAsked,
    days: int,
    channel: discord.TextChannel | None,
) -> None:
    """Open a drill in this channel, or in the one where it was asked for."""
    where = await _where(chat, interaction, channel)
    if where is None:
        return
    place = place_of(chat, interaction)
    drill = await chat.drill_desk.open(place, asked, where.id, days, interaction.id)
    if not isinstance(drill, KeptDrill):
        await refuse_drill(chat, interaction, drill)
        return
    zone = chat.book.server_zone(drill.server_id)
    card = decided_card("opened", drill, chat.desk.game_of(place), zone, where.name)
    await _decided(chat, interaction, card, drill)


async def add_to_list(chat: Chat, interaction: discord.Interaction[Any], asked: DrillAsked) -> None:
    """Put a drill on the server's list."""
    place = place_of(chat, interaction)
    added = await chat.drill_desk.add(place, asked, interaction.id)
    if not isinstance(added, Exercise):
        await refuse_drill(chat, interaction, added)
        return
    await _decided(chat, interaction, exercise_card("added", added, chat.desk.game_of(place)))


async def take_off_list(chat: Chat, interaction: discord.Interaction[Any], name: str) -> None:
    """Take a drill off the server's list."""
    place = place_of(chat, interaction)
    removed = await chat.drill_desk.remove(place, name, interaction.id)
    if isinstance(removed, DrillRefusal):
        await refuse_drill(chat, interaction, removed)
        return
    await _decided(chat, interaction, exercise_card("removed", removed, chat.desk.game_of(place)))


async def start_weekly(
    chat: Chat,
    interaction: discord.Interaction[Any],
    weekday: int,
    at: str,
    channel: discord.TextChannel | None,
) -> None:
    """Begin a weekly series, or change when and where it goes on."""
    where = await _where(chat, interaction, channel)
    if where is None:
        return
    place = place_of(chat, interaction)
    begun = await chat.drill_desk.start_weekly(place, where.id, weekday, at, interaction.id)
    if isinstance(begun, DrillRefusal):
        await refuse_drill(chat, interaction, begun)
        return
    series, drill = begun
    zone = chat.book.server_zone(drill.server_id)
    card = series_card(series, drill, chat.desk.game_of(place), zone, where.name)
    await _decided(chat, interaction, card, drill)


async def stop_weekly(chat: Chat, interaction: discord.Interaction[Any]) -> None:
    """End the weekly series."""
    place = place_of(chat, interaction)
    stopped = await chat.drill_desk.stop_weekly(place, interaction.id)
    if not isinstance(stopped, Series):
        await refuse_drill(chat, interaction, stopped)
        return
    await _decided(chat, interaction, stopped_card(chat.desk.game_of(place)))


async def move_drill(chat: Chat, interaction: discord.Interaction[Any], closes: str) -> None:
    """Close the drill that was opened last at another moment."""
    place = place_of(chat, interaction)
    moved = await chat.drill_part.drill(place, 0)
    if isinstance(moved, KeptDrill):
        moved = await chat.drill_desk.move(place, moved.id, closes, interaction.id)
    if isinstance(moved, DrillRefusal):
        await refuse_drill(chat, interaction, moved)
        return
    zone = chat.book.server_zone(moved.server_id)
    card = decided_card("moved", moved, chat.desk.game_of(place), zone)
    await _decided(chat, interaction, card, moved)


async def _decided(
    chat: Chat, interaction: discord.Interaction[Any], card: Card, drill: KeptDrill | None = None
) -> None:
    acts = [(CoachAct.PLANNED, 0)]
    if drill is not None:
        acts += [(CoachAct.RESULTS, drill.id), (CoachAct.CANCEL_DRILL, drill.id)]
    await chat.reply(interaction, Layout(card, None, coach_buttons(*acts)), private=True)


async def _where(
    chat: Chat, interaction: discord.Interaction[Any], channel: discord.TextChannel | None
) -> Any | None:
    """The channel to post in; None, and that is told, where we may not."""
    where: Any = channel or interaction.channel
    allowed = interaction.app_permissions
    if channel is not None:
        allowed = channel.permissions_for(channel.guild.me)
    if isinstance(where, discord.abc.GuildChannel | discord.Thread) and allowed >= NEEDED:
        return where
    name = getattr(where, "name", None)
    code = DrillRefusalCode.CANNOT_POST if name else DrillRefusalCode.NO_SERVER
    await refuse_drill(chat, interaction, DrillRefusal(code, Facts(channel=name) if name else Facts()))
    return None
