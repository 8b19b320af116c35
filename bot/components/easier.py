"""An easier route in a homework's place: shown to the student, and asked for."""

from __future__ import annotations

from typing import Any

import discord

from bot.components.act import Act
from bot.components.chat import Chat, place_of
from bot.components.coaching import refuse
from bot.components.homework import tell
from bot.components.ids import PracticeKey
from bot.components.layout import Layout
from bot.components.practice_buttons import practice_buttons
from bot.render.easier import easier_card
from bot.results.coaching import CoachRefusal


async def show_easier(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """An easier route, to be asked for."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    found = await chat.easier.propose(place, homework_id)
    if isinstance(found, CoachRefusal):
        await refuse(chat, interaction, found)
        return
    keys = [PracticeKey(act, homework_id) for act in (Act.ASK_EASIER, Act.ONE_HOMEWORK)]
    card = easier_card(found, chat.desk.game_of(place))
    await chat.reply(interaction, Layout(card, None, practice_buttons(*keys)), private=True)


async def ask_easier(chat: Chat, interaction: discord.Interaction[Any], homework_id: int) -> None:
    """Ask the coach for it."""
    place = place_of(chat, interaction)
    await chat.wait(interaction, private=True)
    await tell(chat, interaction, await chat.easier.ask(place, homework_id, interaction.id))
