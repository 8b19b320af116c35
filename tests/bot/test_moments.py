"""Moments and dates as members type them."""

from __future__ import annotations

import tomllib
from datetime import UTC, date, datetime, time, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from conftest import DATA
from hypothesis import given
from hypothesis import strategies as st

from bot.words.moments import AHEAD, MOMENT_CHARACTERS, read_ahead, read_date, read_moment, read_time

TABLE = tomllib.loads((DATA / "moments.toml").read_text("utf-8"))
NOW = datetime(2026, 1, 7, 20, 15, tzinfo=UTC)
MOMENTS = [(text, case["zone"], case.get("is")) for case in TABLE["moment"] for text in case["typed"]]
DATES = [(text, case.get("is")) for case in TABLE["date"] for text in case["typed"]]
AHEAD_OF_NOW = [(text, case["zone"], case.get("is")) for case in TABLE["ahead"] for text in case["typed"]]
PIECES = ("3", "2026", "jan", "feb", "fri", "last", "next", "in", "ago", "days", "weeks", "21:00", "9 pm")


@pytest.mark.parametrize(("typed", "zone", "meant"), MOMENTS)
def test_a_moment_is_read_on_the_clocks_of_the_zone_or_not_at_all(
    typed: str, zone: str, meant: datetime | None
) -> None:
    assert read_moment(typed, NOW, ZoneInfo(zone)) == meant


@pytest.mark.parametrize(("typed", "meant"), DATES)
def test_a_date_is_read_from_today_on_or_not_at_all(typed: str, meant: date | None) -> None:
    assert read_date(typed, NOW.date()) == meant


@pytest.mark.parametrize(("typed", "zone", "meant"), AHEAD_OF_NOW)
def test_by_when_something_is_to_be_done_is_read_from_now_on(
    typed: str, zone: str, meant: datetime | None
) -> None:
    assert read_ahead(typed, NOW, ZoneInfo(zone)) == meant


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("18:00", time(18)), (" 6 pm", time(18)), ("0:05", time(0, 5)), ("12 am", time(0))]
    + [(typed, None) for typed in ("", "18", "24:00", "13 pm", "Friday 18:00", "18:00" + " " * 60)],
)
def test_a_time_of_day_is_read_alone_or_not_at_all(typed: str, meant: time | None) -> None:
    assert read_time(typed) == meant


@pytest.mark.parametrize("hour", [9, 20])
def test_today_without_a_time_is_now(hour: int) -> None:
    now = NOW.replace(hour=hour)
    for typed in ("today", "Wednesday", "7 Jan"):
        assert read_moment(typed, now, UTC) == now


def test_a_time_alone_is_the_latest_such() -> None:
    at = (NOW + AHEAD).strftime("%H:%M")
    after = (NOW + AHEAD + timedelta(minutes=1)).strftime("%H:%M")
    assert read_moment(at, NOW, UTC) == NOW + AHEAD
    assert read_moment(after, NOW, UTC) == NOW + AHEAD + timedelta(minutes=1) - timedelta(days=1)


def test_the_moment_is_in_utc_whatever_zone_the_clock_is_in() -> None:
    elsewhere = NOW.astimezone(timezone(timedelta(hours=-9)))
    moment = read_moment("2 hours ago", elsewhere, ZoneInfo("Europe/Berlin"))
    assert moment == NOW - timedelta(hours=2)
    assert moment.tzinfo is UTC


def test_a_text_longer_than_a_moment_is_none() -> None:
    assert read_moment("today" + " " * (MOMENT_CHARACTERS - 5), NOW, UTC) == NOW
    assert read_moment("today" + " " * (MOMENT_CHARACTERS - 4), NOW, UTC) is None
    assert read_date("today" + " " * (MOMENT_CHARACTERS - 4), NOW.date()) is None


@given(st.text(max_size=80) | st.lists(st.sampled_from(PIECES), max_size=8).map(" ".join), st.datetimes())
def test_no_text_at_no_time_raises(typed: str, now: datetime) -> None:
    for zone in (UTC, ZoneInfo("Pacific/Auckland")):
        moment = read_moment(typed, NOW, zone)
        assert moment is None or moment.tzinfo is UTC
    read_date(typed, now.date())
