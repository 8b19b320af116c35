"""Words that the cards on practice share: rates, days, the two moves of a link, when to practise next."""

from __future__ import annotations

import re
from datetime import date, datetime, tzinfo

from bot.render.wording import say
from bot.results.tally import Setup, Subject, SubjectKind
from core.learning.rates import Rate, TooFew, tell
from core.learning.spacing import NextPractice
from core.model import Character, Game

_JOINS = re.compile(r"(, | xx | ~ | > )")
"""What stands between two steps of a route as it is written."""
_LINKED = ", "
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def rate_words(landed: float, tries: float) -> str:
    """How often it landed, with the share where there are enough tries to speak of one.

    >>> rate_words(34, 52), rate_words(3, 7)
    ('34 of 52 (65 %)', '3 of 7, too few tries to tell')
    """
    return counts_words(tell(landed, tries))


def counts_words(rate: Rate | TooFew) -> str:
    """A rate of plain counts."""
    if isinstance(rate, TooFew):
        return say("reps", "few", landed=rate.landed, tries=rate.tries)
    return say("reps", "rate", landed=rate.landed, tries=rate.tries, share=rate.share)


def recent_words(rate: Rate | TooFew) -> str:
    """A rate of weighted counts, which mean nothing to a member: the share alone."""
    if isinstance(rate, TooFew):
        return say("reps", "few-plain")
    return say("reps", "recent", share=rate.share)


def day_words(day: date) -> str:
    """A day as it is read anywhere.

    >>> day_words(date(2026, 1, 3))
    '3 Jan 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def date_words(moment: datetime, zone: tzinfo) -> str:
    """The day of a moment on the clocks of a zone."""
    return day_words(moment.astimezone(zone).date())


def weekday_name(day: int) -> str:
    """The name of a day of the week; Monday is 1."""
    return say("weekdays", str(day))


def moment_words(moment: datetime, zone: tzinfo) -> str:
    """A moment on the clocks of a zone.

    >>> from datetime import UTC
    >>> moment_words(datetime(2026, 1, 5, 18, tzinfo=UTC), UTC)
    'Monday, 5 Jan 2026, 18:00'
    """
    at = moment.astimezone(zone)
    return f"{weekday_name(at.isoweekday())}, {day_words(at.date())}, {at:%H:%M}"


def next_words(planned: NextPractice) -> str:
    """When to practise next."""
    day = None if planned.day is None else day_words(planned.day)
    return say("reps-next", planned.code.value, day=day, left=planned.left_days)


def setup_words(setup: Setup) -> str | None:
    """How a member plays; None where nothing is said.

    >>> setup_words(Setup(controls="simple"))
    'simple controls'
    """
    parts = []
    if setup.side is not None:
        parts.append(say("reps-setup", "side", side=setup.side.value))
    if setup.controller is not None:
        parts.append(say("reps-setup", "controller", controller=setup.controller.value))
    if setup.controls:
        parts.append(say("reps-setup", "controls", controls=setup.controls))
    return ", ".join(parts) or None


def link_moves(what: str) -> tuple[str, str]:
    """The inputs of the two moves of a link as it is written, without what is said of them.

    >>> link_moves("counter hit 5MP, delay(2) 2MP")
    ('5MP', '2MP')
    """
    steps = _JOINS.split(what)[::2]
    return steps[0].split(" ")[-1], steps[-1].split(" ")[-1]


def is_linked(what: str) -> bool:
    """Whether the second move of a link waits for the first to end; else it comes out of it."""
    return _LINKED in _JOINS.split(what)[1::2]


def what_words(subject: Subject) -> str:
    """What is practised, as a line on a tally calls it.

    >>> what_words(Subject("Saltglass", "Odrun Vale", SubjectKind.CHOICE, "5MP, counter hit"))
    'choosing (5MP, counter hit)'
    """
    if subject.kind is SubjectKind.CHOICE:
        return say("quiz-log", "what", what=subject.what)
    return subject.what


def whose_words(subject: Subject) -> str:
    """What is practised, with whose moves it is.

    >>> whose_words(Subject("Saltglass", "Odrun Vale", SubjectKind.LINK, "5MP, 2MP"))
    "Odrun Vale's 5MP, 2MP"
    """
    what = what_words(subject)
    return f"{subject.character}'s {what}" if subject.character else what


def character_of(game: Game, subject: Subject) -> Character | None:
    """Whose moves they are, where the game's file still has them."""
    return game.character(subject.character)
