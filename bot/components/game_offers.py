"""What is offered to who names a number of a game: moves, characters and columns."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands

from bot.components.chat import Chat, place_of
from bot.components.offers import Choices, offered, offered_moves
from bot.render.game_desk import column_option


def offer_move(chat: Chat, interaction: discord.Interaction[Any], typed: str) -> Choices:
    """Moves of the character that is named, or of the member's own."""
    place, character = place_of(chat, interaction), interaction.namespace.character
    return chat.offer(interaction, lambda: offered_moves(chat.desk.complete_move(place, typed, character)))


def offer_character(chat: Chat, interaction: discord.Interaction[Any], typed: str) -> Choices:
    """Characters of the channel's game."""
    place = place_of(chat, interaction)
    return chat.offer(interaction, lambda: offered(chat.desk.complete_character(place, typed)))


def offer_column(chat: Chat, interaction: discord.Interaction[Any], typed: str) -> Choices:
    """Columns that hold a number of a move, as sentences call them too."""

    def find() -> Choices:
        found = chat.game_desk.complete_column(place_of(chat, interaction), typed)
        return [app_commands.Choice(name=column_option(one), value=one) for one in found]

    return chat.offer(interaction, find)
