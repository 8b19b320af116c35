"""How long a server keeps tallies."""

from __future__ import annotations

from typing import Any

import discord

from bot.components.act import ModAct
from bot.components.chat import Chat, place_of
from bot.components.layout import Layout
from bot.components.mod_buttons import mod_buttons
from bot.components.practice_buttons import show_gone
from bot.render.keeping import ask_keep_card, both_card, keeping_card
from bot.services.retention import LONGEST_DAYS, SHORTEST_DAYS


async def set_keeping(
    chat: Chat, interaction: discord.Interaction[Any], days: int | None, for_ever: bool
) -> None:
    """Keep tallies for ever, or ask whether to keep them so many days; else show what is chosen."""
    place = place_of(chat, interaction)
    if for_ever and days is not None:
        refused = Layout(both_card(chat.desk.game_of(place)), None, mod_buttons((ModAct.SETTINGS, 0)))
        await chat.reply(interaction, refused, private=True)
        return
    if for_ever:
        await chat.retention.keep(place, None, interaction.id)
    elif days is not None:
        count = await chat.retention.older(place, days)
        card = ask_keep_card(days, count, chat.desk.game_of(place))
        buttons = mod_buttons((ModAct.KEEP_NOW, days), (ModAct.SETTINGS, 0))
        await chat.reply(interaction, Layout(card, None, buttons), private=True)
        return
    await chat.reply(interaction, _layout(chat, interaction), private=True)


async def keep_now(chat: Chat, interaction: discord.Interaction[Any], days: int) -> None:
    """Keep them so many days from now on."""
    if not SHORTEST_DAYS <= days <= LONGEST_DAYS:
        await show_gone(chat, interaction)
        return
    await chat.retention.keep(place_of(chat, interaction), days, interaction.id)
    await chat.replace(interaction, _layout(chat, interaction))


def _layout(chat: Chat, interaction: discord.Interaction[Any]) -> Layout:
    place = place_of(chat, interaction)
    days = chat.book.server(place.server_id).keep_days
    card = keeping_card(days, SHORTEST_DAYS, LONGEST_DAYS, chat.desk.game_of(place))
    return Layout(card, None, mod_buttons((ModAct.SETTINGS, 0)))
