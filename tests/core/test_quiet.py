"""Nobody is reminded in their quiet hours, whatever the clocks do in that night."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.learning.quiet import USUAL, Quiet, when_allowed

BERLIN = ZoneInfo("Europe/Berlin")
ZONES = [
    BERLIN,
    *map(
        ZoneInfo,
        ("UTC", "America/New_York", "America/Havana", "Australia/Lord_Howe", "Asia/Tokyo", "Pacific/Apia"),
    ),
]
MOMENTS = st.datetimes(datetime(2010, 1, 1), datetime(2027, 12, 31), timezones=st.just(UTC))
TIMES = st.times().map(lambda at: at.replace(second=0, microsecond=0))
HOURS = st.builds(Quiet, TIMES, TIMES)
CHANGES = [datetime(2026, 3, 29, 1, tzinfo=UTC), datetime(2026, 10, 25, 1, tzinfo=UTC)]
"""When Berlin's clocks are set on, from 02:00 to 03:00, and back, from 03:00 to 02:00."""
NEAR_CHANGES = st.builds(
    lambda change, minutes: change + timedelta(minutes=minutes),
    st.sampled_from(CHANGES),
    st.integers(-36 * 60, 36 * 60),
)


def berlin(*moment: int, fold: int = 0) -> datetime:
    return datetime(*moment, tzinfo=BERLIN, fold=fold)  # type: ignore[misc, arg-type]


@pytest.mark.parametrize(
    ("shown", "allowed"),
    [
        ((2026, 1, 5, 21, 59), (2026, 1, 5, 21, 59)),
        ((2026, 1, 5, 22, 0), (2026, 1, 6, 8, 0)),
        ((2026, 1, 5, 23, 59), (2026, 1, 6, 8, 0)),
        ((2026, 1, 6, 0, 0), (2026, 1, 6, 8, 0)),
        ((2026, 1, 6, 7, 59), (2026, 1, 6, 8, 0)),
        ((2026, 1, 6, 8, 0), (2026, 1, 6, 8, 0)),
        ((2026, 12, 31, 23, 0), (2027, 1, 1, 8, 0)),
    ],
)
def test_the_night_ends_at_eight(shown: tuple[int, ...], allowed: tuple[int, ...]) -> None:
    assert when_allowed(berlin(*shown), BERLIN, USUAL) == berlin(*allowed)


def test_the_answer_is_in_utc() -> None:
    for hour in (12, 23):
        assert when_allowed(berlin(2026, 1, 5, hour), BERLIN, USUAL).tzinfo is UTC


def test_the_same_moment_is_night_in_one_zone_and_day_in_another() -> None:
    moment = datetime(2026, 1, 5, 22, 30, tzinfo=UTC)
    assert when_allowed(moment, ZoneInfo("Asia/Tokyo"), USUAL) == datetime(2026, 1, 5, 23, tzinfo=UTC)
    assert when_allowed(moment, ZoneInfo("America/New_York"), USUAL) == moment


def test_hours_within_a_day_are_kept_too() -> None:
    noon = Quiet(time(12), time(13, 30))
    assert when_allowed(berlin(2026, 1, 5, 12, 15), BERLIN, noon) == berlin(2026, 1, 5, 13, 30)
    assert when_allowed(berlin(2026, 1, 5, 23, 15), BERLIN, noon) == berlin(2026, 1, 5, 23, 15)


@pytest.mark.parametrize(("day", "hours_asleep"), [((2026, 3, 28), 9), ((2026, 10, 24), 11)])
def test_a_night_in_which_the_clocks_change_ends_by_the_wall_clock(
    day: tuple[int, int, int], hours_asleep: int
) -> None:
    begins = berlin(*day, 22).astimezone(UTC)
    allowed = when_allowed(begins, BERLIN, USUAL)
    assert allowed.astimezone(BERLIN).time() == time(8)
    assert allowed - begins == timedelta(hours=hours_asleep)


def test_an_end_that_comes_twice_ends_both_passes() -> None:
    until_half = Quiet(time(22), time(2, 30))
    first, second = berlin(2026, 10, 25, 2, 10), berlin(2026, 10, 25, 2, 10, fold=1)
    assert when_allowed(first, BERLIN, until_half) == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert when_allowed(second, BERLIN, until_half) == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)


def test_an_end_that_the_clocks_skip_is_an_hour_later_on_them() -> None:
    # RFC 5545, 3.3.5: read with the offset from before the change
    before = berlin(2026, 3, 29, 1, 30)
    assert when_allowed(before, BERLIN, Quiet(time(22), time(2, 30))) == berlin(2026, 3, 29, 3, 30)


def test_a_skipped_end_that_is_quiet_again_is_no_end() -> None:
    nearly_always = Quiet(time(3, 15), time(2, 30))
    before = berlin(2026, 3, 29, 1, 30)
    assert when_allowed(before, BERLIN, nearly_always) == berlin(2026, 3, 30, 2, 30)


def test_a_naive_moment_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a time zone"):
        when_allowed(datetime(2026, 1, 5), BERLIN, USUAL)


@given(MOMENTS, st.sampled_from(ZONES), TIMES)
def test_hours_that_end_when_they_begin_are_never_quiet(moment: datetime, zone: ZoneInfo, at: time) -> None:
    assert when_allowed(moment, zone, Quiet(at, at)) == moment


@given(MOMENTS | NEAR_CHANGES, st.sampled_from(ZONES), HOURS)
def test_no_clock_shows_a_quiet_hour_when_it_is_allowed(
    moment: datetime, zone: ZoneInfo, quiet: Quiet
) -> None:
    allowed = when_allowed(moment, zone, quiet)
    assert not quiet.holds(allowed.astimezone(zone).time())
    assert when_allowed(allowed, zone, quiet) == allowed
    if not quiet.holds(moment.astimezone(zone).time()):
        assert allowed == moment


@given(NEAR_CHANGES, HOURS)
def test_it_is_put_off_no_longer_than_the_hours_last(moment: datetime, quiet: Quiet) -> None:
    """Each minute up to the moment that was found is quiet, but for those after a change that skipped the
    end."""
    allowed = when_allowed(moment, BERLIN, quiet)
    minutes = int((allowed - moment) / timedelta(minutes=1))
    shown = [(moment + timedelta(minutes=each)).astimezone(BERLIN) for each in range(minutes)]
    skipped = {at for at in shown if at.date() == CHANGES[0].date() and at.hour == 3}
    assert all(quiet.holds(at.time()) for at in shown if at not in skipped or not 2 <= quiet.end.hour < 3)
