"""ISO weeks, clock changes, and rows of days and weeks that do not shame."""

from __future__ import annotations

import tomllib
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.learning.calendar import (
    OnTheClock,
    Row,
    Standing,
    Week,
    day_of,
    days_in_a_row,
    moment_of,
    on_the_clock,
    weekly,
    weeks_in_a_row,
)

PUBLISHED = tomllib.loads(
    (Path(__file__).parents[1] / "data" / "learning" / "published.toml").read_text("utf-8")
)
NEW_YORK = ZoneInfo("America/New_York")
MOMENTS = st.datetimes(datetime(2020, 1, 1), datetime(2021, 12, 31), timezones=st.just(UTC))
ZONES = st.sampled_from(["UTC", "America/New_York", "Europe/Berlin", "Asia/Tokyo", "Pacific/Kiritimati"])


def at(day: int, hour: int = 18) -> datetime:
    """An hour of a day of March 2021 in New York: the 1st is a Monday, the clocks change on the 14th."""
    return datetime(2021, 3, day, hour, tzinfo=NEW_YORK)


@pytest.mark.parametrize("row", PUBLISHED["iso_week"], ids=lambda row: row["week"])
def test_a_day_has_its_iso_week(row: dict[str, Any]) -> None:
    # ISO 8601
    week = Week.of(row["day"])
    assert str(week) == row["week"]
    assert week.monday == row["monday"]


def test_a_weekly_time_keeps_its_hour_when_the_clocks_change() -> None:
    # RFC 5545, 3.8.5.3
    rule = PUBLISHED["weekly"]
    assert weekly(rule["first"], rule["at"], NEW_YORK, 10) == tuple(rule["moments"])


def test_a_time_may_be_on_the_clock_never_or_twice() -> None:
    # New York 2021: set on at 02:00 on March 14, set back at 02:00 on November 7
    spring, autumn = date(2021, 3, 14), date(2021, 11, 7)
    assert on_the_clock(spring, time(2, 30), NEW_YORK) is OnTheClock.NEVER
    assert on_the_clock(autumn, time(1, 30), NEW_YORK) is OnTheClock.TWICE
    for day, hour in ((spring, time(1, 59)), (spring, time(3)), (autumn, time(0, 59)), (autumn, time(2))):
        assert on_the_clock(day, hour, NEW_YORK) is OnTheClock.ONCE


def test_a_skipped_time_is_read_as_before_the_change_and_of_two_the_first_is_taken() -> None:
    # RFC 5545, 3.3.5: 02:30 EST is 03:30 EDT, and 01:30 is 01:30 EDT
    assert moment_of(date(2021, 3, 14), time(2, 30), NEW_YORK) == datetime(2021, 3, 14, 7, 30, tzinfo=UTC)
    assert moment_of(date(2021, 11, 7), time(1, 30), NEW_YORK) == datetime(2021, 11, 7, 5, 30, tzinfo=UTC)


def test_the_day_is_that_of_the_zone() -> None:
    late = datetime(2021, 3, 15, 3, 30, tzinfo=UTC)
    assert day_of(late, NEW_YORK) == date(2021, 3, 14)
    assert day_of(late, ZoneInfo("Asia/Tokyo")) == date(2021, 3, 15)
    with pytest.raises(ValueError, match="needs a time zone"):
        day_of(datetime(2021, 3, 15), NEW_YORK)


def test_days_follow_each_other_over_a_clock_change_of_23_and_of_25_hours() -> None:
    spring = [at(13, 23), datetime(2021, 3, 14, 0, 5, tzinfo=NEW_YORK), at(15, 23)]
    assert days_in_a_row(spring, NEW_YORK, spring[-1]).now == 3
    autumn = [datetime(2021, 11, day, hour, tzinfo=NEW_YORK) for day, hour in ((6, 0), (7, 23), (8, 0))]
    assert days_in_a_row(autumn, NEW_YORK, autumn[-1]).now == 3


def test_two_bouts_in_the_hour_that_comes_twice_are_one_day() -> None:
    bouts = [datetime(2021, 11, 7, hour, 30, tzinfo=UTC) for hour in (5, 6)]
    assert days_in_a_row(bouts, NEW_YORK, bouts[-1]) == Row(1, 1, 1, Standing.KEPT)


@pytest.mark.parametrize(
    ("days", "today", "row"),
    [
        ([1, 2, 3], 3, Row(3, 3, 3, Standing.KEPT)),
        ([1, 2, 3], 4, Row(3, 3, 3, Standing.OPEN)),
        ([1, 2, 3], 5, Row(0, 3, 3, Standing.RESTING)),
        ([1, 2, 3], 30, Row(0, 3, 3, Standing.RESTING)),
        ([1, 2, 3, 9], 9, Row(1, 3, 4, Standing.KEPT)),
        ([], 9, Row(0, 0, 0, Standing.RESTING)),
    ],
)
def test_a_day_without_practice_yet_breaks_nothing_and_a_pause_takes_nothing_away(
    days: list[int], today: int, row: Row
) -> None:
    assert days_in_a_row([at(day) for day in days], NEW_YORK, at(today)) == row


@pytest.mark.parametrize(
    ("days", "today", "row"),
    [
        ([7, 8], 8, Row(2, 2, 2, Standing.KEPT)),  # Sunday, Monday: two weeks
        ([1, 7], 7, Row(1, 1, 1, Standing.KEPT)),  # Monday, Sunday: one week
        ([1, 14], 21, Row(2, 2, 2, Standing.OPEN)),
        ([1, 14], 22, Row(0, 2, 2, Standing.RESTING)),
    ],
)
def test_one_day_keeps_a_week_from_monday_to_sunday(days: list[int], today: int, row: Row) -> None:
    assert weeks_in_a_row([at(day) for day in days], NEW_YORK, at(today)) == row


def test_weeks_follow_each_other_over_the_turn_of_the_year() -> None:
    # 2009-W52, 2009-W53, 2010-W01
    days = [
        datetime(2009, 12, 21, tzinfo=UTC),
        datetime(2010, 1, 3, tzinfo=UTC),
        datetime(2010, 1, 4, tzinfo=UTC),
    ]
    assert weeks_in_a_row(days, UTC, days[-1]).now == 3


@given(st.lists(MOMENTS, max_size=40), ZONES, MOMENTS)
def test_rows_keep_their_order_and_never_count_a_day_twice(
    moments: list[datetime], name: str, now: datetime
) -> None:
    zone = ZoneInfo(name)
    today = day_of(now, zone)
    days = {day_of(moment, zone) for moment in moments}
    weeks = {day.isocalendar()[:2] for day in days}
    by_day, by_week = days_in_a_row(moments, zone, now), weeks_in_a_row(moments, zone, now)
    assert by_day.total == sum(day <= today for day in days)
    assert by_week.total == sum(week <= today.isocalendar()[:2] for week in weeks)
    for row in (by_day, by_week):
        assert 0 <= row.now <= row.best <= row.total
        assert (row.now == 0) is (row.standing is Standing.RESTING)
        assert (row.best == 0) is (row.total == 0)
    assert days_in_a_row([*moments, *moments], zone, now) == by_day


@given(st.lists(MOMENTS, max_size=40), ZONES, MOMENTS, st.integers(1, 60))
def test_waiting_never_takes_away_the_best_or_the_total(
    moments: list[datetime], name: str, now: datetime, days: int
) -> None:
    zone = ZoneInfo(name)
    for rows in (days_in_a_row, weeks_in_a_row):
        before, after = rows(moments, zone, now), rows(moments, zone, now + timedelta(days=days))
        assert after.best >= before.best
        assert after.total >= before.total


@given(st.lists(MOMENTS, max_size=40), ZONES, MOMENTS)
def test_practising_now_makes_the_row_one_longer_or_keeps_it(
    moments: list[datetime], name: str, now: datetime
) -> None:
    zone = ZoneInfo(name)
    for rows in (days_in_a_row, weeks_in_a_row):
        before, after = rows(moments, zone, now), rows([*moments, now], zone, now)
        assert after.standing is Standing.KEPT
        assert after.now == before.now + (before.standing is not Standing.KEPT)
