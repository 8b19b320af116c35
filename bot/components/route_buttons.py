"""The buttons below routes: each does one more thing with one, without its notation typed again."""

from __future__ import annotations

from bot.components.act import Act
from bot.components.chat import Chat
from bot.components.ids import PracticeKey
from bot.components.layout import Layout
from bot.components.practice_buttons import PracticeButton, practice_buttons
from bot.render.log import log_refusal_card
from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.route import OpenRoute

_BELOW = (Act.ROUTE, Act.INPUTS, Act.SHEET, Act.CLICKS, Act.LOG_OF, Act.DRILL)
_TIMED = (Act.SHEET, Act.CLICKS, Act.DRILL)
"""What needs a route that works: else there is no time at which to press."""


def route_buttons(opened: OpenRoute, here: Act | None = None) -> list[PracticeButton]:
    """What may be done with the route next; all but `here`, which is what is being looked at."""
    acts = (*_BELOW, Act.SHARE if opened.name else Act.SAVE)
    usable = (act for act in acts if act is not here and (opened.check.works or act not in _TIMED))
    return practice_buttons(*(PracticeKey(act, opened.subject_id) for act in usable))


def list_buttons() -> list[PracticeButton]:
    """Where to go on from anywhere: the member's own routes, and those that the server shares."""
    return practice_buttons(PracticeKey(Act.SAVED), PracticeKey(Act.LIBRARY))


def refused_layout(chat: Chat, place: Place, refusal: LogRefusal, mend: PracticeKey | None = None) -> Layout:
    """Why it was not done, with where to go on. `mend`: what opens again what was filled in."""
    buttons = [*practice_buttons(*([mend] if mend else [])), *list_buttons()]
    return Layout(log_refusal_card(refusal, chat.desk.game_of(place)), None, buttons)
