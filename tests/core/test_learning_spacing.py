"""The next practice for a named date, from the spacing study."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.learning.spacing import NextPractice, When, best_gap_share, next_practice

FIRST = date(2025, 1, 1)
DAYS = st.dates(date(2024, 1, 1), date(2027, 1, 1))


def on(day: int) -> date:
    """A day, counted from the first of January 2025 as 0."""
    return FIRST + timedelta(days=day)


@pytest.mark.parametrize(("delay_days", "low", "high"), [(7, 0.2, 0.2), (35, 0.2, 0.2), (365, 0.05, 0.10)])
def test_the_best_gap_is_the_published_share_of_the_delay(delay_days: int, low: float, high: float) -> None:
    # Cepeda et al. 2008, Psych. Sci. 19:1095-1102: about 20 % at weeks, 5-10 % at a year
    assert low <= best_gap_share(delay_days) <= high


def test_half_way_in_logarithms_the_share_is_half_way_in_logarithms() -> None:
    assert best_gap_share(sqrt(35 * 365)) == pytest.approx(sqrt(0.2 * 0.075))


@given(st.floats(1, 1000), st.floats(1, 1000))
def test_a_longer_delay_asks_for_a_smaller_share_but_never_a_shorter_gap(one: float, other: float) -> None:
    short, long = sorted((one, other))
    assert 0.2 >= best_gap_share(short) >= best_gap_share(long) >= 0.075
    assert best_gap_share(short) * short <= best_gap_share(long) * long + 1e-9


@pytest.mark.parametrize(
    ("last", "target", "today", "expected"),
    [
        # 12 days: 2 and then 10, which is 20 % of what is left
        (0, 12, 0, NextPractice(When.SPACED, on(2), 10)),
        # 42 days: 7 and 35
        (0, 42, 0, NextPractice(When.SPACED, on(7), 35)),
        # the day has come, or went by: today, and no word of how late
        (0, 12, 2, NextPractice(When.NOW, on(2), 10)),
        (0, 12, 6, NextPractice(When.NOW, on(6), 6)),
        # close to the date: daily, and the last one on it
        (0, 4, 0, NextPractice(When.SPACED, on(1), 3)),
        (3, 4, 3, NextPractice(When.ON_THE_DAY, on(4), 0)),
        (2, 4, 4, NextPractice(When.ON_THE_DAY, on(4), 0)),
        (None, 4, 4, NextPractice(When.ON_THE_DAY, on(4), 0)),
        (None, 30, 4, NextPractice(When.NOW, on(4), 26)),
        # over
        (4, 4, 4, NextPractice(When.OVER, None, 0)),
        (None, 4, 5, NextPractice(When.OVER, None, 0)),
    ],
)
def test_the_next_practice_has_its_day_and_why(
    last: int | None, target: int, today: int, expected: NextPractice
) -> None:
    assert next_practice(None if last is None else on(last), on(target), on(today)) == expected


def test_a_year_ahead_the_next_practice_is_weeks_away() -> None:
    # 27 days to the next, 365 after it: 7.4 %
    told = next_practice(on(0), on(392), on(0))
    assert told == NextPractice(When.SPACED, on(27), 365)


@given(st.none() | DAYS, DAYS, DAYS)
def test_the_next_practice_is_never_past_nor_after_the_date_nor_a_second_on_one_day(
    last: date | None, target: date, today: date
) -> None:
    told = next_practice(last, target, today)
    if told.day is None:
        assert today > target or (last is not None and last >= target)
        return
    assert today <= told.day <= target
    assert last is None or told.day > last
    assert told.left_days == (target - told.day).days


@given(DAYS, st.integers(1, 500))
def test_following_the_dates_comes_ever_closer_together_and_ends_on_the_day(
    start: date, span_days: int
) -> None:
    target = start + timedelta(days=span_days)
    days = [start]
    while (day := next_practice(days[-1], target, days[-1]).day) is not None:
        days.append(day)
    gaps = [(later - earlier).days for earlier, later in pairwise(days)]
    assert days[-1] == target
    assert gaps == sorted(gaps, reverse=True)
    assert gaps[-1] == 1
