"""What buttons, lists and the form of the practice log say."""

from __future__ import annotations

from bot.limits import CHOICE_CHARACTERS
from bot.render.limits import cut
from bot.render.reps import what_words
from bot.render.wording import say
from bot.results.tally import KeptTally, SubjectKind
from core.learning.tally import Context


def practice_label(act: str) -> str:
    """What a button of the practice log says."""
    return say("practice-labels", act)


def page_label(page: int) -> str:
    """What a button to another page says.

    >>> page_label(2)
    'Page 2'
    """
    return say("pick", "page", page=page)


def form_text(key: str) -> str:
    """A title, question or hint of the form."""
    return say("form", key)


def context_name(context: Context) -> str:
    """Where reps were made.

    >>> context_name(Context.REACTION)
    'reaction drill'
    """
    return say("contexts", context.value)


def pick_hint() -> str:
    """What a list of tallies asks for."""
    return say("pick", "placeholder")


def pick_label(kept: KeptTally) -> tuple[str, str]:
    """A tally in a list to pick from: its name, and a line below it."""
    tally = kept.tally
    name = f"{tally.landed}/{tally.tries}: {what_words(tally.subject)}"
    chosen = tally.subject.kind is SubjectKind.CHOICE
    where = say("quiz-log", "short") if chosen else context_name(tally.context)
    below = f"{where}, {tally.made_at:%d %b %Y}"
    return cut(name, CHOICE_CHARACTERS), cut(below, CHOICE_CHARACTERS)
