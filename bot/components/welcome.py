"""The welcome and the help, with buttons for the first steps."""

from __future__ import annotations

from collections.abc import Callable

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
    welcome = desk.welcome(place)
    examples = question_buttons(desk.tries(place), welcome.game)
    return Layout(drawn(welcome), None, [*examples, *practice_buttons(PracticeKey(Act.LOG))])
