"""The welcome and the help, with buttons for the first steps."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import discord

from bot.components.act import Act
from bot.components.buttons import question_buttons
from bot.components.ids import PracticeKey
from bot.components.layout import Layout
from bot.components.practice_buttons import practice_buttons
from bot.render.card import Card
from bot.results.ask import Welcome
from bot.results.place import Place
from bot.services.desk import AskDesk


def welcome_layout(desk: AskDesk, place: Place, drawn: Callable[[Welcome], Card]) -> Layout:
    """The welcome or the help, with buttons that ask its examples, and one to log a tally."""
    return Layout(drawn(desk.welcome(place)), None, welcome_buttons(desk, place))


def welcome_buttons(desk: AskDesk, place: Place) -> list[discord.ui.Item[Any]]:
    """Buttons that ask the examples of a welcome, and one to log a tally."""
    examples = question_buttons(desk.tries(place), desk.game_of(place))
    return [*examples, *practice_buttons(PracticeKey(Act.LOG))]
