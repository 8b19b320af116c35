"""When to practise next, for a date that the member names.

Cepeda et al. 2008 (Psychological Science 19:1095-1102): the best gap between two study days is about 20 % of
the delay to the test at weeks, 5-10 % at a year. Here: 20 % up to five weeks, 7.5 % from a year on, and in
between the share is a power of the delay (a straight line in logarithms), so that a longer delay never asks
for a shorter gap. That study had two study days and facts to recall; for many practice days and for hands
this is a rule of thumb.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from math import log

AT_WEEKS, WEEKS_DAYS = 0.20, 35
AT_A_YEAR, YEAR_DAYS = 0.075, 365
POWER = log(AT_A_YEAR / AT_WEEKS) / log(YEAR_DAYS / WEEKS_DAYS)


class When(StrEnum):
    """Why the next practice is on its day."""

    NOW = "now"
    """Nothing practised yet, or the best day has come: today."""
    SPACED = "spaced"
    """A gap that fits the delay."""
    ON_THE_DAY = "on-the-day"
    """No day is left before the named one: warm up on it."""
    OVER = "over"
    """The named date has passed, or its practice is done."""


@dataclass(frozen=True, slots=True)
class NextPractice:
    """The day of the next practice (None where the named date is over), and the days from it to that date."""

    code: When
    day: date | None
    left_days: int


def best_gap_share(delay_days: float) -> float:
    """The best gap before a last practice that lies `delay_days` before the test, as a share of that delay.

    >>> best_gap_share(14), round(best_gap_share(120), 3), best_gap_share(400)
    (0.2, 0.119, 0.075)
    """
    if delay_days <= WEEKS_DAYS:
        return AT_WEEKS
    if delay_days >= YEAR_DAYS:
        return AT_A_YEAR
    return float(AT_WEEKS * (delay_days / WEEKS_DAYS) ** POWER)


def next_practice(last: date | None, target: date, today: date) -> NextPractice:
    """The next day to practise for `target`, after a `last` practice (None: none yet). Never two on one day.

    The gap g from the last practice and the delay d from the next one to the target fill the time between:
    g is as near as whole days come to the best share of d. A day that went by unused is no debt: the next
    practice is today.
    """
    if today > target or (last is not None and last >= target):
        return NextPractice(When.OVER, None, 0)
    spaced = today if last is None else last + timedelta(days=_gap_days((target - last).days))
    day = max(spaced, today)
    code = When.ON_THE_DAY if day == target else When.NOW if day == today else When.SPACED
    return NextPractice(code, day, (target - day).days)


def _gap_days(span_days: int) -> int:
    """The whole gap, at least a day, that comes nearest to its best share of what is left of the span."""

    def miss(gap_days: int) -> float:
        left_days = span_days - gap_days
        return abs(gap_days - best_gap_share(left_days) * left_days)

    # The best gap is at most 20 % of what is left, a sixth of the span.
    return min(range(1, span_days // 6 + 2), key=miss)
