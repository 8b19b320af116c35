"""Weekly appointments on the clocks of a zone: the hour stays, whatever the clocks do."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.learning.calendar import WEEK, OnTheClock, Week, day_of, next_weekly, on_the_clock

NEW_YORK = ZoneInfo("America/New_York")
BERLIN = ZoneInfo("Europe/Berlin")
LORD_HOWE = ZoneInfo("Australia/Lord_Howe")
"""Its clocks are set on by half an hour."""
ZONES = [NEW_YORK, BERLIN, LORD_HOWE, *map(ZoneInfo, ("UTC", "Asia/Tokyo", "Pacific/Apia", "Africa/Cairo"))]
MOMENTS = st.datetimes(datetime(2010, 1, 1), datetime(2027, 12, 31), timezones=st.just(UTC))
TUESDAY, SUNDAY = 2, 7


def following(after: datetime, weekday: int, at: time, zone: ZoneInfo, weeks: int) -> list[datetime]:
    """So many appointments, each the next after the one before."""
    found = [next_weekly(after, weekday, at, zone)]
    while len(found) < weeks:
        found.append(next_weekly(found[-1], weekday, at, zone))
    return found


def test_ten_tuesdays_in_new_york_over_the_end_of_summer_time() -> None:
    # RFC 5545, 3.8.5.3: DTSTART;TZID=America/New_York:19970902T090000, RRULE:FREQ=WEEKLY;COUNT=10
    days = [(9, 2), (9, 9), (9, 16), (9, 23), (9, 30), (10, 7), (10, 14), (10, 21), (10, 28), (11, 4)]
    found = following(datetime(1997, 9, 1, tzinfo=UTC), TUESDAY, time(9), NEW_YORK, 10)
    assert found == [
        datetime(1997, month, day, 13 if (month, day) <= (10, 21) else 14, tzinfo=UTC) for month, day in days
    ]


def test_monday_at_18_stays_at_18_over_both_changes_of_a_year() -> None:
    # Berlin 2026: set on on March 29, set back on October 25
    found = following(datetime(2026, 1, 1, tzinfo=UTC), 1, time(18), BERLIN, 52)
    assert {each.astimezone(BERLIN).time() for each in found} == {time(18)}
    assert {each.astimezone(BERLIN).isoweekday() for each in found} == {1}
    assert [each.hour for each in found if each.month in (3, 10)] == [17] * 4 + [16] * 4 + [17] * 1
    assert found[12] == datetime(2026, 3, 30, 16, tzinfo=UTC)
    assert found[43] == datetime(2026, 11, 2, 17, tzinfo=UTC)


def test_a_time_that_the_clocks_skip_is_read_with_the_offset_from_before() -> None:
    # RFC 5545, 3.3.5. New York 2021-03-14: after 01:59:59 EST comes 03:00 EDT, so 02:30 is 03:30 EDT
    before = datetime(2021, 3, 10, tzinfo=UTC)
    assert next_weekly(before, SUNDAY, time(2, 30), NEW_YORK) == datetime(2021, 3, 14, 7, 30, tzinfo=UTC)
    assert next_weekly(before, SUNDAY, time(3), NEW_YORK) == datetime(2021, 3, 14, 7, tzinfo=UTC)
    # Lord Howe 2021-10-03: after 01:59:59 at +10:30 comes 02:30 at +11:00, so 02:10 is 02:40
    skipped = next_weekly(datetime(2021, 9, 28, tzinfo=UTC), SUNDAY, time(2, 10), LORD_HOWE)
    assert skipped.astimezone(LORD_HOWE).strftime("%m-%d %H:%M") == "10-03 02:40"


def test_a_time_that_comes_twice_is_the_first() -> None:
    # New York 2021-11-07: 01:30 EDT, 05:30 in UTC, and an hour later 01:30 EST
    first = datetime(2021, 11, 7, 5, 30, tzinfo=UTC)
    assert next_weekly(first - timedelta(seconds=1), SUNDAY, time(1, 30), NEW_YORK) == first
    for passed in (timedelta(), timedelta(minutes=30), timedelta(hours=1)):
        found = next_weekly(first + passed, SUNDAY, time(1, 30), NEW_YORK)
        assert found == datetime(2021, 11, 14, 6, 30, tzinfo=UTC)


def test_a_series_at_a_skipped_time_goes_on_at_its_own_time_in_the_week_after() -> None:
    found = following(datetime(2021, 3, 7, tzinfo=UTC), SUNDAY, time(2, 30), NEW_YORK, 3)
    shown = [each.astimezone(NEW_YORK).strftime("%m-%d %H:%M") for each in found]
    assert shown == ["03-07 02:30", "03-14 03:30", "03-21 02:30"]


def test_a_day_that_a_zone_never_had_moves_to_the_next() -> None:
    # Apia 2011-12-30 was left out: the zone changed from -10 to +14
    apia = ZoneInfo("Pacific/Apia")
    found = following(datetime(2011, 12, 24, 12, tzinfo=UTC), 5, time(18), apia, 2)
    assert [each.astimezone(apia).strftime("%Y-%m-%d %H:%M") for each in found] == [
        "2011-12-31 18:00",
        "2012-01-06 18:00",
    ]


@pytest.mark.parametrize(
    ("moment", "zone", "label"),
    [
        (datetime(2005, 1, 1, 12, tzinfo=UTC), NEW_YORK, "2004-W53"),  # ISO 8601
        (datetime(2007, 12, 31, 12, tzinfo=UTC), NEW_YORK, "2008-W01"),  # ISO 8601
        (datetime(2010, 1, 3, 12, tzinfo=UTC), NEW_YORK, "2009-W53"),  # ISO 8601
        (datetime(2010, 1, 4, 2, tzinfo=UTC), NEW_YORK, "2009-W53"),  # still Sunday there
    ],
)
def test_the_week_of_an_appointment_is_that_of_its_day_in_the_zone(
    moment: datetime, zone: ZoneInfo, label: str
) -> None:
    assert str(Week.of(day_of(moment, zone))) == label


@given(MOMENTS, st.integers(1, 7), st.times(), st.sampled_from(ZONES))
def test_the_next_appointment_lies_ahead_shows_its_time_and_leaves_none_out(
    after: datetime, weekday: int, at: time, zone: ZoneInfo
) -> None:
    found = next_weekly(after, weekday, at, zone)
    assert after < found <= after + 2 * WEEK
    shown = found.astimezone(zone)
    monday = Week.of(day_of(after, zone)).monday
    days = [monday + timedelta(days=weekday - 1 + 7 * week) for week in (-1, 0, 1, 2)]
    if all(on_the_clock(day, at, zone) is not OnTheClock.NEVER for day in days):
        assert (shown.isoweekday(), shown.time()) == (weekday, at)
        assert found - after <= WEEK + timedelta(hours=2)
    assert next_weekly(found - timedelta(microseconds=1), weekday, at, zone) == found
