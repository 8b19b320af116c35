"""What the bot may write to a member unasked, and when."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.coaching import refuse
from bot.components.layout import Layout
from bot.components.practice_buttons import act_buttons
from bot.render.reminders import reminders_card
from bot.results.coaching import CoachRefusal
from bot.results.tally import MemberSettings


async def set_reminders(
    chat: Chat,
    interaction: discord.Interaction[Any],
    zone: str | None,
    quiet: str | None,
    muted: bool | None,
) -> None:
    """Change what was named, then show it all."""
    place = place_of(chat, interaction)
    if zone is None and quiet is None and muted is None:
        await show_reminders(chat, interaction)
        return
    chosen = await chat.reminders.set_reminders(place, zone, quiet, interaction.id, muted)
    if isinstance(chosen, CoachRefusal):
        await refuse(chat, interaction, chosen)
    else:
        await chat.reply(interaction, _layout(chat, interaction, chosen), private=True)


async def show_reminders(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """Whether, and when."""
    settings = chat.book.member(place_of(chat, interaction).owner)
    await chat.reply(interaction, _layout(chat, interaction, settings), private=True)


async def mute(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """Nothing unasked any more."""
    await _mute(chat, interaction, muted=True)


async def unmute(chat: Chat, interaction: discord.Interaction[Any], _: int = 0) -> None:
    """Reminders again."""
    await _mute(chat, interaction, muted=False)


async def _mute(chat: Chat, interaction: discord.Interaction[Any], *, muted: bool) -> None:
    settings = await chat.reminders.mute(place_of(chat, interaction), muted, interaction.id)
    await chat.replace(interaction, _layout(chat, interaction, settings))


def _layout(chat: Chat, interaction: discord.Interaction[Any], settings: MemberSettings) -> Layout:
    place = place_of(chat, interaction)
    zone = chat.book.zone(place.owner).key
    kept = replace(settings, quiet=chat.book.quiet(place.owner))
    card = reminders_card(kept, zone, chat.desk.game_of(place), everywhere=place.direct)
    return Layout(card, None, act_buttons(Act.UNMUTE if settings.muted else Act.MUTE))
