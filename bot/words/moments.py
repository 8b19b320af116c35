"""Moments and dates as members type them, on the clocks of their zone.

A day is `today`, `yesterday`, `tomorrow`, `Friday`, `last Friday`, `next Friday`, `3 days ago`, `in 2 weeks`,
`2026-01-03`, `3 Jan`, `Jan 3rd, 2026`; a time of day `21:30`, `9 pm`, `9:30 pm`; both by the clock `2 hours
ago`, `in 20 minutes`. Months and days of the week have their English names. Not read, since they could mean
two things: days in figures other than year-month-day (3/1), times without a colon (930), and words such as
`last night` or `next month`.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from core.learning.calendar import DAY, WEEK, day_of, moment_of
from core.notation.tokens import fold

MOMENT_CHARACTERS = 60
AHEAD = timedelta(minutes=5)
"""By so much a member's clock may be ahead of the program's."""

_MONTHS = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_NEAR_DAYS = {"yesterday": -1, "today": 0, "tomorrow": 1}
_UNITS = {"day": DAY, "week": WEEK}
_LAST_MINUTE = time(23, 59)
_SHORTEST = 3
_YEARS_TO_A_LEAP_DAY = 8

_NUMBER = r"(?P<number>[0-9]{1,4}|an?)"
_DAYS_AGO = re.compile(rf"{_NUMBER} (?P<unit>day|week)s? ago")
_IN_DAYS = re.compile(rf"in {_NUMBER} (?P<unit>day|week)s?")
_CLOCK = rf"{_NUMBER} ?(?P<unit>minute|min|m|hour|hr|h)s?"
_CLOCK_AGO = re.compile(rf"{_CLOCK} ago")
_IN_CLOCK = re.compile(rf"in {_CLOCK}")
_ISO = re.compile(r"(?P<year>[0-9]{4})-(?P<month>[0-9]{2})-(?P<day>[0-9]{2})")
_WEEKDAY = re.compile(r"(?:(?P<which>last|next|this) )?(?P<name>[a-z]+)")
_DAY, _MONTH, _YEAR = (
    r"(?P<day>[0-9]{1,2})(?:st|nd|rd|th)?",
    r"(?P<month>[a-z]+)",
    r"(?: (?P<year>[0-9]{4}))?",
)
_DAY_MONTH = re.compile(rf"{_DAY} (?:of )?{_MONTH}{_YEAR}")
_MONTH_DAY = re.compile(rf"{_MONTH} {_DAY}{_YEAR}")
_TIME = r"(?P<hour>[0-9]{1,2})(?::(?P<minute>[0-9]{2}))? ?(?P<half>[ap]m)?"
_TIME_ALONE = re.compile(_TIME)
_DAY_THEN_TIME = re.compile(rf"(?P<on>.+?)(?: (?:at )?|(?<=[0-9])t)(?P<at>{_TIME})")
_TIME_THEN_DAY = re.compile(rf"(?P<at>{_TIME}) (?P<on>.+)")


def read_moment(typed: str, now: datetime, zone: tzinfo) -> datetime | None:
    """The moment in UTC that the text means; None where it is not understood.

    A day without a year, a day of the week and a time alone mean the latest such, up to `now` (and `AHEAD`).
    A day without a time is its noon, and today is `now`. Where the clocks show a time twice, it is
    the first; a time that they skip is read with the offset from before.
    """
    text = _words(typed)
    if text is None:
        return None
    try:
        return _moment(text.removeprefix("at "), now.astimezone(UTC), zone)
    except (ValueError, OverflowError):  # no such day or time, or outside of the calendar
        return None


def read_ahead(typed: str, now: datetime, zone: tzinfo) -> datetime | None:
    """The moment in UTC by which something is to be done, as it was typed; None where it is not understood.

    A day without a year, a day of the week and a time alone mean the next such after `now`; a day without a
    time is its last minute. What is named with its year, or as `yesterday`, may lie in the past: whoever asks
    checks that. Times that the clocks show twice or skip are read as in `read_moment`.

    >>> from zoneinfo import ZoneInfo
    >>> now, zone = datetime(2026, 2, 27, 12, tzinfo=UTC), ZoneInfo("Europe/Berlin")
    >>> read_ahead("Friday 18:00", now, zone).isoformat()
    '2026-02-27T17:00:00+00:00'
    >>> read_ahead("in 3 days", now, zone).isoformat()
    '2026-03-02T22:59:00+00:00'
    """
    text = _words(typed)
    if text is None:
        return None
    try:
        return _moment_ahead(re.sub(r"^(?:at|by|until) ", "", text), now.astimezone(UTC), zone)
    except (ValueError, OverflowError):  # no such day or time, or outside of the calendar
        return None


def read_date(typed: str, today: date) -> date | None:
    """The date that the text means; None where it is not understood.

    A day without a year and a day of the week mean the next such, from today on; `next Friday` is the first
    Friday after today.
    """
    text = _words(typed)
    if text is None:
        return None
    try:
        return _day(text, today, ahead=True)
    except (ValueError, OverflowError):
        return None


def read_time(typed: str) -> time | None:
    """The time of day that the text means; None where it is not understood.

    >>> read_time("6 pm"), read_time("18:00"), read_time("1800")
    (datetime.time(18, 0), datetime.time(18, 0), None)
    """
    text = _words(typed)
    try:
        return _time(_TIME_ALONE.fullmatch(text)) if text else None
    except ValueError:  # 25:00
        return None


def _words(typed: str) -> str | None:
    """The text folded, words apart by one blank, commas off; None where there is none or too much."""
    if len(typed) > MOMENT_CHARACTERS:
        return None
    words = re.sub(r"[,]|\.$", " ", fold(typed).chars.strip()).split()
    return " ".join(words) or None


def _moment(text: str, now: datetime, zone: tzinfo) -> datetime | None:
    if text in ("now", "just now"):
        return now
    if found := _CLOCK_AGO.fullmatch(text):
        return now - _by_the_clock(found)
    today = day_of(now, zone)
    if (at := _time(_TIME_ALONE.fullmatch(text))) is not None:
        moment = moment_of(today, at, zone)
        return moment if moment <= now + AHEAD else moment_of(today - DAY, at, zone)
    day = _day(text, today, ahead=False)
    if day is not None:
        return now if day == today else moment_of(day, time(12), zone)
    parts = _day_and_time(text, today, ahead=False)
    return moment_of(*parts, zone) if parts else None


def _moment_ahead(text: str, now: datetime, zone: tzinfo) -> datetime | None:
    if found := _IN_CLOCK.fullmatch(text):
        return now + _by_the_clock(found)
    today = day_of(now, zone)
    if (at := _time(_TIME_ALONE.fullmatch(text))) is not None:
        moment = moment_of(today, at, zone)
        return moment if moment > now else moment_of(today + DAY, at, zone)
    if (day := _day(text, today, ahead=True)) is not None:
        return moment_of(day, _LAST_MINUTE, zone)
    parts = _day_and_time(text, today, ahead=True)
    if parts is None:
        return None
    moment = moment_of(*parts, zone)
    if moment <= now and parts[0] == today:  # "Friday 18:00" on a Friday evening
        later = _day_and_time(text, today + DAY, ahead=True)
        if later is not None and "today" not in text.split():
            return moment_of(*later, zone)
    return moment


def _day_and_time(text: str, today: date, ahead: bool) -> tuple[date, time] | None:
    """A day and a time of day, in either order; None where it is not both."""
    for split in (_DAY_THEN_TIME, _TIME_THEN_DAY):
        found = split.fullmatch(text)
        at, day = _time(found), _day(found["on"], today, ahead) if found else None
        if at is not None and day is not None:
            return day, at
    return None


def _by_the_clock(found: re.Match[str]) -> timedelta:
    """So many minutes or hours."""
    unit = timedelta(hours=1) if found["unit"].startswith("h") else timedelta(minutes=1)
    return _number(found) * unit


def _time(found: re.Match[str] | None) -> time | None:
    """A time of day: with a colon, by twelve hours with am or pm, or both. Raises ValueError for 25:00."""
    if found is None or (found["minute"] is None and found["half"] is None):
        return None
    hour = int(found["hour"])
    if found["half"]:
        if not 1 <= hour <= 12:
            raise ValueError(f"There is no hour {hour} {found['half']}.")
        hour = hour % 12 + (12 if found["half"] == "pm" else 0)
    return time(hour, int(found["minute"] or 0))


def _day(text: str, today: date, ahead: bool) -> date | None:
    """A day; `ahead`: where several fit, the next from today on, else the latest up to today."""
    text = text.removeprefix("on ")
    if text in _NEAR_DAYS:
        return today + _NEAR_DAYS[text] * DAY
    if found := _DAYS_AGO.fullmatch(text):
        return today - _number(found) * _UNITS[found["unit"]]
    if found := _IN_DAYS.fullmatch(text):
        return today + _number(found) * _UNITS[found["unit"]]
    if found := _ISO.fullmatch(text):
        return date(int(found["year"]), int(found["month"]), int(found["day"]))
    if (found := _WEEKDAY.fullmatch(text)) and (weekday := _named(found["name"], _WEEKDAYS)) is not None:
        return _on_weekday(weekday, found["which"], today, ahead)
    if (found := _DAY_MONTH.fullmatch(text) or _MONTH_DAY.fullmatch(text)) is None:
        return None
    month = _named(found["month"], _MONTHS)
    if month is None:
        return None
    if found["year"]:
        return date(int(found["year"]), month + 1, int(found["day"]))
    return _in_year_near(lambda year: date(year, month + 1, int(found["day"])), today, ahead)


def _on_weekday(weekday: int, which: str | None, today: date, ahead: bool) -> date:
    """`last` and `next` leave today out, `this` and nothing count it in."""
    back = (today.weekday() - weekday) % 7
    on = (weekday - today.weekday()) % 7
    match which:
        case "last":
            return today - (back or 7) * DAY
        case "next":
            return today + (on or 7) * DAY
        case _:
            return today + on * DAY if ahead or which == "this" else today - back * DAY


def _in_year_near(in_year: Callable[[int], date], today: date, ahead: bool) -> date:
    """The day in the first year from this one on, or back, that has it on the right side of today."""
    for years in range(_YEARS_TO_A_LEAP_DAY + 1):
        try:
            day = in_year(today.year + (years if ahead else -years))
        except ValueError:  # 29 February
            continue
        if day >= today if ahead else day <= today:
            return day
    raise ValueError("No year has this day.")


def _named(word: str, names: tuple[str, ...]) -> int | None:
    """The place of the name that the word is, or shortens to three letters or more."""
    if len(word) < _SHORTEST:
        return None
    return next((place for place, name in enumerate(names) if name.startswith(word)), None)


def _number(found: re.Match[str]) -> int:
    return 1 if found["number"].startswith("a") else int(found["number"])
