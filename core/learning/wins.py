"""Small wins: what a tally did for the first time, or better than before. Each is true and says what exactly.

Most tallies win nothing, and then nothing is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, tzinfo
from enum import StrEnum

from core.learning.calendar import WEEK, Week, day_of
from core.learning.rates import ENOUGH_TRIES
from core.learning.tally import Context, Tally
from core.verdict import Facts


class WinCode(StrEnum):
    """What was won, and the facts that its sentence needs besides the tally's own."""

    FIRST_LANDED = "first-landed"
    """The first time this landed anywhere: tries_before (the dropped ones before this tally)."""
    FIRST_TRIED_IN_MATCH = "first-tried-in-match"
    """The first time this was gone for in a match, landed or dropped."""
    FIRST_LANDED_IN_MATCH = "first-landed-in-match"
    """The first time this landed in a match."""
    PERSONAL_BEST = "personal-best"
    """A higher share than any before in this context, all of 10 tries or more: best_landed, best_tries."""
    WEEK_KEPT = "week-kept"
    """The first practice of a week that follows a week with practice: weeks_in_a_row (at least 2)."""


@dataclass(frozen=True, slots=True)
class Win:
    """One win, the tally that earned it, and the facts beside it."""

    code: WinCode
    tally: Tally
    facts: Facts = Facts()


@dataclass(slots=True)
class _Past:
    """What came before, for one thing that is practised."""

    tries: int = 0
    landed: int = 0
    match_tries: int = 0
    match_landed: int = 0
    best: dict[Context, Tally] = field(default_factory=dict)


@dataclass(slots=True)
class _Weeks:
    """The row of weeks so far: the Monday of its latest, and its length."""

    monday: date | None = None
    in_a_row: int = 0


def wins(tallies: Iterable[Tally], zone: tzinfo) -> tuple[Win, ...]:
    """Every win of one member's tallies, in the order of time; weeks are those of `zone`.

    Give all tallies: what is a first is only known from the whole past.
    """
    pasts: dict[str, _Past] = {}
    weeks = _Weeks()
    won: list[Win] = []
    for tally in sorted(tallies, key=lambda tally: tally.when):
        won += _won_at(tally, pasts.setdefault(tally.what, _Past()))
        won += _won_by_coming(tally, weeks, zone)
    return tuple(won)


def _won_at(tally: Tally, past: _Past) -> Iterator[Win]:
    """What this tally won at its own subject; `past` then holds it too."""
    if tally.landed and not past.landed:
        yield Win(WinCode.FIRST_LANDED, tally, Facts(tries_before=past.tries))
    if tally.context.is_match:
        if not past.match_tries:
            yield Win(WinCode.FIRST_TRIED_IN_MATCH, tally)
        if tally.landed and not past.match_landed:
            yield Win(WinCode.FIRST_LANDED_IN_MATCH, tally)
        past.match_tries += tally.tries
        past.match_landed += tally.landed
    past.tries += tally.tries
    past.landed += tally.landed
    if tally.tries >= ENOUGH_TRIES:
        best = past.best.get(tally.context)
        # Shares compared without a division, so that 7 of 10 does not beat 14 of 20.
        better = best is not None and tally.landed * best.tries > best.landed * tally.tries
        if best is not None and better:
            facts = Facts(best_landed=best.landed, best_tries=best.tries)
            yield Win(WinCode.PERSONAL_BEST, tally, facts)
        if best is None or better:
            past.best[tally.context] = tally


def _won_by_coming(tally: Tally, weeks: _Weeks, zone: tzinfo) -> Iterator[Win]:
    """What this tally won by being made in its week; `weeks` then holds it too."""
    monday = Week.of(day_of(tally.when, zone)).monday
    if monday == weeks.monday:
        return
    follows = weeks.monday is not None and monday - weeks.monday == WEEK
    weeks.in_a_row = weeks.in_a_row + 1 if follows else 1
    weeks.monday = monday
    if follows:
        yield Win(WinCode.WEEK_KEPT, tally, Facts(weeks_in_a_row=weeks.in_a_row))
