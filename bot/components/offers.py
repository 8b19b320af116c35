"""Offering what somebody may be typing."""

from __future__ import annotations

from collections.abc import Iterable

from discord import app_commands

from bot.render.limits import CHOICE_CHARACTERS, cut, fit_choices
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
