"""The buttons and lists below routes: each does one more thing with one, without its notation typed again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import discord

from bot.components.chat import Chat
from bot.components.ids import OPEN, OPEN_TEMPLATE, Act, PracticeKey, read_open
from bot.components.layout import Layout
from bot.components.practice_buttons import Pick, PracticeButton, practice_buttons, show_gone
from bot.render.log import log_refusal_card
from bot.render.route_find import choice_label, mended_label, next_label, open_hint
from bot.results.finding import Choice, NextUp
from bot.results.log import LogRefusal
from bot.results.place import Place
from bot.results.route import Mended, OpenRoute

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


class OpenPick(Pick, template=OPEN_TEMPLATE):
    """Picks a route of the presser's own log to look at, by its number there."""

    async def picked(self, chat: Chat, interaction: discord.Interaction[Any], value: str) -> None:
        """Open the route."""
        number = read_open(self.custom_id, value)
        if number is None:
            await show_gone(chat, interaction)
        else:
            await chat.acts[Act.ROUTE](chat, interaction, number)


def choice_pick(choices: Sequence[Choice], up: NextUp | None = None) -> OpenPick | None:
    """A list of found routes to open, and of the next one to learn; None where none has a number."""
    labels = {choice.subject_id: choice_label(choice) for choice in choices if choice.subject_id}
    if up is not None:
        labels.setdefault(up.opened.subject_id, next_label(up))
    options = [
        discord.SelectOption(label=label, description=below, value=str(number))
        for number, (label, below) in labels.items()
    ]
    return _pick(options, open_hint())


def mended_pick(mended: Sequence[Mended]) -> OpenPick | None:
    """A list of what a route that fails may be mended to; None where there is nothing."""
    by_number = {one.subject_id: mended_label(one) for one in mended}
    options = [discord.SelectOption(label=label, value=str(number)) for number, label in by_number.items()]
    return _pick(options, open_hint(mended=True))


def _pick(options: list[discord.SelectOption], hint: str) -> OpenPick | None:
    if not options:
        return None
    return OpenPick(discord.ui.Select(custom_id=OPEN, placeholder=hint, options=options))
