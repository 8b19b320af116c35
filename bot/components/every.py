"""All kinds of buttons and lists that a card may carry, each of which finds its own by what it carries."""

from __future__ import annotations

from bot.components.buttons import QuestionButton
from bot.components.coach_buttons import CoachButton
from bot.components.list_pick import ListPick
from bot.components.mod_buttons import ModButton
from bot.components.practice_buttons import PracticeButton, TallyPick
from bot.components.quiz import AnswerButton
from bot.components.route_pick import RoutePick
from bot.components.routes import OpenPick
from bot.components.setup import SetupPick
from bot.components.sheet import TakeButton

BUTTONS = (
    QuestionButton,
    PracticeButton,
    TallyPick,
    OpenPick,
    RoutePick,
    AnswerButton,
    TakeButton,
    CoachButton,
    ModButton,
    ListPick,
    SetupPick,
)
