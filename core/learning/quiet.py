"""Hours in which nobody is to be reminded of anything."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, time, tzinfo

from core.learning.calendar import DAY, moment_of


@dataclass(frozen=True, slots=True)
class Quiet:
    """From `start` to before `end` on a wall clock, over midnight where that comes first; never where both
    are the same."""

    start: time
    end: time

    def holds(self, at: time) -> bool:
        """Whether these hours are kept when a clock shows this.

        >>> [USUAL.holds(time(hour)) for hour in (21, 22, 0, 7, 8)]
        [False, True, True, True, False]
        """
        if self.start <= self.end:
            return self.start <= at < self.end
        return at >= self.start or at < self.end

    def __str__(self) -> str:
        """As on a clock.

        >>> str(USUAL)
        '22:00-08:00'
        """
        return f"{self.start:%H:%M}-{self.end:%H:%M}"


USUAL = Quiet(time(22), time(8))


def when_allowed(moment: datetime, zone: tzinfo, quiet: Quiet) -> datetime:
    """The moment itself, in UTC, where the clocks of the zone show no quiet hour; else the end of the quiet
    hours. An hour that comes twice is quiet twice; an end that the clocks skip is read as `moment_of` does.
    Raises ValueError for a naive moment.

    >>> from zoneinfo import ZoneInfo
    >>> late = datetime(2026, 3, 28, 22, 30, tzinfo=UTC)  # 23:30, in the night in which the clocks are set on
    >>> when_allowed(late, ZoneInfo("Europe/Berlin"), USUAL).isoformat()
    '2026-03-29T06:00:00+00:00'
    """
    if moment.utcoffset() is None:
        raise ValueError(f"A moment needs a time zone: {moment} has none.")
    shown = moment.astimezone(zone)
    if not quiet.holds(shown.time()):
        return moment.astimezone(UTC)
    day = shown.date() if shown.time() < quiet.end else shown.date() + DAY
    end = moment_of(day, quiet.end, zone)
    if end <= moment:  # this hour comes for the second time, and so does the end
        end = datetime.combine(day, quiet.end, zone).replace(fold=1).astimezone(UTC)
    return when_allowed(end, zone, quiet)  # a skipped end may show a time that is quiet again
