"""Homework as a coach types it: understood, or refused with the reason."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from bot.results.coaching import (
    HOMEWORK_NOTE_CHARACTERS,
    CoachRefusal,
    CoachRefusalCode,
    HomeworkAsked,
    TargetKind,
)
from bot.services.homework_views import too_long
from bot.services.progress import HIGHEST_GOAL, LOWEST_GOAL
from bot.words.moments import read_ahead
from core.learning.homework import CleanReps, MatchAttempts, RateOver, Target
from core.learning.rates import ENOUGH_TRIES
from core.text import clipped, one_line
from core.verdict import Facts

MOST_DAYS = 180
"""So far ahead a homework may be due."""
AMOUNTS = {
    TargetKind.CLEAN_REPS: (1, 1_000),
    TargetKind.RATE: (ENOUGH_TRIES, 500),
    TargetKind.MATCHES: (1, 200),
}
"""The least and the most of each kind: reps, tries, tries in matches."""


@dataclass(frozen=True, slots=True)
class HomeworkRead:
    """Homework as it was understood. `rate`: as a share; None for the student's own goal."""

    kind: TargetKind
    amount: int
    rate: float | None
    due_at: datetime
    note: str

    def target_of(self, goal: float) -> Target:
        """The target of a student with this goal."""
        match self.kind:
            case TargetKind.CLEAN_REPS:
                return CleanReps(self.amount)
            case TargetKind.MATCHES:
                return MatchAttempts(self.amount)
            case TargetKind.RATE:
                return RateOver(self.rate or goal, self.amount)


def read_asked(asked: HomeworkAsked, now: datetime, zone: tzinfo) -> HomeworkRead | CoachRefusal:
    """The homework, or the first thing in it that cannot be. Its moves are not looked at."""
    least, most = AMOUNTS[asked.target]
    if not least <= asked.amount <= most:
        facts = Facts(amount=asked.amount, least=least, most=most)
        return CoachRefusal(CoachRefusalCode.BAD_AMOUNT, facts)
    low, high = round(100 * LOWEST_GOAL), round(100 * HIGHEST_GOAL)
    if asked.rate is not None and not low <= asked.rate <= high:
        facts = Facts(rate=asked.rate, least=low, most=high)
        return CoachRefusal(CoachRefusalCode.BAD_RATE, facts)
    note = one_line(asked.note)
    if len(note) > HOMEWORK_NOTE_CHARACTERS:
        return too_long("note", HOMEWORK_NOTE_CHARACTERS)
    due_at, typed = read_ahead(asked.due, now, zone), clipped(asked.due)
    if due_at is None:
        return CoachRefusal(CoachRefusalCode.NO_DUE, Facts(typed=typed))
    if due_at <= now:
        return CoachRefusal(CoachRefusalCode.DUE_IN_PAST, Facts(typed=typed))
    if due_at > now + timedelta(days=MOST_DAYS):
        return CoachRefusal(CoachRefusalCode.DUE_TOO_FAR, Facts(typed=typed, most=MOST_DAYS))
    rate = None if asked.rate is None else asked.rate / 100
    return HomeworkRead(asked.target, asked.amount, rate, due_at, note)
