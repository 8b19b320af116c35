"""Offering what somebody may be typing."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import discord
from discord import app_commands

from bot.components.chat import Chat, place_of
from bot.limits import CHOICE_CHARACTERS
from bot.render.limits import cut, fit_choices
from core.model import Move

Choices = list[app_commands.Choice[str]]


def offered(names: Iterable[str]) -> Choices:
    """Names to pick from."""
    return [app_commands.Choice(name=name, value=name) for name in fit_choices(tuple(names))]


def offered_moves(moves: Iterable[Move]) -> Choices:
    """Moves to pick from: shown with their names, sent as their inputs."""
    shown = {
        move.input: move.input if move.name == move.input else f"{move.input}: {move.name}" for move in moves
    }
    return [
        app_commands.Choice(name=cut(shown[value], CHOICE_CHARACTERS), value=value)
        for value in fit_choices(tuple(shown))
    ]


async def offer_practised(chat: Chat, interaction: discord.Interaction[Any], typed: str) -> Choices:
    """What the member practises, and their saved routes."""

    async def find() -> Choices:
        return offered(await chat.log.complete_what(place_of(chat, interaction), typed))

    return await chat.offer_stored(interaction, find)
