"""Days and ISO 8601 weeks in a member's time zone, and how many in a row have practice.

A zone is passed in (any tzinfo; `zoneinfo.ZoneInfo` knows the clock changes); the moment `now` is too.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from enum import StrEnum

DAY = timedelta(days=1)
WEEK = timedelta(weeks=1)


@dataclass(frozen=True, slots=True, order=True)
class Week:
    """A week of ISO 8601: it begins on Monday and belongs to the year that holds its Thursday."""

    year: int
    number: int

    @classmethod
    def of(cls, day: date) -> Week:
        """The week of a day.

        >>> str(Week.of(date(2005, 1, 1)))
        '2004-W53'
        """
        year, number, _ = day.isocalendar()
        return cls(year, number)

    @property
    def monday(self) -> date:
        """Its first day."""
        return date.fromisocalendar(self.year, self.number, 1)

    def __str__(self) -> str:
        return f"{self.year:04}-W{self.number:02}"


class OnTheClock(StrEnum):
    """How often a wall clock shows a time on a day."""

    ONCE = "once"
    NEVER = "never"
    TWICE = "twice"


def day_of(moment: datetime, zone: tzinfo) -> date:
    """The calendar day of an aware moment in this zone. Raises ValueError for a naive one."""
    if moment.utcoffset() is None:
        raise ValueError(f"A moment needs a time zone: {moment} has none.")
    return moment.astimezone(zone).date()


def on_the_clock(day: date, at: time, zone: tzinfo) -> OnTheClock:
    """Whether the clocks of this zone show this time on this day once, never (set on) or twice (set back)."""
    first = datetime.combine(day, at, zone).replace(fold=0)
    second = first.replace(fold=1)
    if first.utcoffset() == second.utcoffset():
        return OnTheClock.ONCE
    came_back = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None)
    return OnTheClock.TWICE if came_back == first.replace(tzinfo=None) else OnTheClock.NEVER


def moment_of(day: date, at: time, zone: tzinfo) -> datetime:
    """The moment, in UTC, at which clocks of this zone show `at` on `day`.

    As in RFC 5545, 3.3.5: of two such moments the first; a time that the clocks skip is read with the offset
    from before the change (02:30 in the skipped hour is 03:30).
    """
    return datetime.combine(day, at, zone).replace(fold=0).astimezone(UTC)


def weekly(first: date, at: time, zone: tzinfo, count: int) -> tuple[datetime, ...]:
    """`count` moments in UTC, a week apart by the wall clock: the hour stays when the clocks change."""
    return tuple(moment_of(first + index * WEEK, at, zone) for index in range(count))


def next_weekly(after: datetime, weekday: int, at: time, zone: tzinfo) -> datetime:
    """The first moment after `after`, in UTC, at which it is `at` on this day of the week in the zone.
    `weekday`: of ISO 8601, Monday is 1. The hour stays when the clocks change; a time
    that they skip is read as `moment_of` does.

    >>> from zoneinfo import ZoneInfo
    >>> monday = next_weekly(datetime(2026, 3, 27, tzinfo=UTC), 1, time(18), ZoneInfo("Europe/Berlin"))
    >>> monday.isoformat()
    '2026-03-30T16:00:00+00:00'
    """
    week = Week.of(day_of(after, zone)).monday + (weekday - 1) * DAY
    moments = (moment_of(week + index * WEEK, at, zone) for index in (-1, 0, 1, 2))
    return next(moment for moment in moments if moment > after)


class Standing(StrEnum):
    """How a row of days or weeks stands now. None of these blames."""

    KEPT = "kept"
    """This day or week has its practice."""
    OPEN = "open"
    """The row holds up to the last one, and there is still time in this one."""
    RESTING = "resting"
    """No row at present. The best and the total stand, and the next practice begins a new one."""


@dataclass(frozen=True, slots=True)
class Row:
    """Days or weeks with practice: in a row now, the best row so far, and in total.

    `best` and `total` never shrink. How long a pause lasted is left out on purpose.
    """

    now: int
    best: int
    total: int
    standing: Standing


def days_in_a_row(moments: Iterable[datetime], zone: tzinfo, now: datetime) -> Row:
    """The row of days with practice up to `now`, each moment taken as a day of this zone."""
    return _row({day_of(moment, zone) for moment in moments}, day_of(now, zone), DAY)


def weeks_in_a_row(moments: Iterable[datetime], zone: tzinfo, now: datetime) -> Row:
    """The row of ISO weeks with practice up to `now`; one day in a week is enough."""
    mondays = {Week.of(day_of(moment, zone)).monday for moment in moments}
    return _row(mondays, Week.of(day_of(now, zone)).monday, WEEK)


def _row(kept: set[date], current: date, step: timedelta) -> Row:
    """The row of `kept`, whose dates lie whole steps apart. What lies after `current` does not count yet."""
    best = length = 0
    last: date | None = None
    for day in sorted(day for day in kept if day <= current):
        length = length + 1 if last is not None and day - last == step else 1
        best = max(best, length)
        last = day
    total = sum(day <= current for day in kept)
    if last == current:
        return Row(length, best, total, Standing.KEPT)
    if last is not None and current - last == step:
        return Row(length, best, total, Standing.OPEN)
    return Row(0, best, total, Standing.RESTING)
