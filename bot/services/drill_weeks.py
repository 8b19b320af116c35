"""When group drills open and close, and how a weekly series goes on from one to the next."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta, tzinfo

from bot.results.drills import DrillStage, KeptDrill, Series
from bot.results.job import Job
from bot.services.jobs import JobService
from bot.storage import drills as stored
from bot.storage import series as lists
from bot.storage.store import Writing
from core.learning.calendar import DAY, day_of, moment_of, next_weekly

OPEN_JOB, CLOSE_JOB = "drill-open", "drill-close"
SHORTEST = timedelta(days=2)
"""A drill of a series that would be open for less runs a week longer."""


def next_week(series: Series, after: datetime, zone: tzinfo) -> datetime:
    """The next moment at which this series goes on."""
    return next_weekly(after, series.weekday, series.at, zone)


def week_end(series: Series, opens_at: datetime, zone: tzinfo) -> datetime:
    """When a drill of this series closes that opens then."""
    return next_week(series, opens_at + SHORTEST - timedelta(microseconds=1), zone)


def days_later(opens_at: datetime, days: int, zone: tzinfo) -> datetime:
    """So many days later, when the clocks of this zone show the same."""
    shown = opens_at.astimezone(zone)
    return moment_of(day_of(opens_at, zone) + days * DAY, shown.time(), zone)


async def set_jobs(writing: Writing, jobs: JobService, drill: KeptDrill) -> None:
    """Have a drill opened, unless it is, and closed at its times."""
    due = [(CLOSE_JOB, drill.closes_at)]
    if drill.stage is DrillStage.PLANNED:
        due.insert(0, (OPEN_JOB, drill.opens_at))
    for kind, moment in due:
        job = Job(f"{kind}:{drill.id}", kind, moment, {"drill": drill.id}, drill.server_id)
        await jobs.add(writing, job)


async def call_off(writing: Writing, jobs: JobService, drill: KeptDrill) -> None:
    """Cancel a drill: nothing is done with it any more."""
    await stored.set_stage(writing, drill.id, DrillStage.CANCELLED)
    for kind in (OPEN_JOB, CLOSE_JOB):
        await jobs.cancel(writing, f"{kind}:{drill.id}")


def weekly_among(drills: Iterable[KeptDrill]) -> KeptDrill | None:
    """The drill of a series that is open, else the one that is yet to be opened."""
    weekly = [drill for drill in drills if drill.weekly]
    return min(weekly, key=lambda drill: drill.stage is not DrillStage.OPEN, default=None)


async def plan_weekly(
    writing: Writing,
    jobs: JobService,
    series: Series,
    opens_at: datetime,
    zone: tzinfo,
    now: datetime,
    opened_by: int | None,
) -> KeptDrill | None:
    """Take the next drill of the server's list for the series, to be opened then; None where the list is
    empty. `opened_by`: whoever began the series."""
    listed = await lists.exercises(writing, series.server_id)
    if not listed:
        return None
    taken = listed[0]
    await lists.note_used(writing, taken.id, now)
    drill = await stored.add(
        writing,
        series.server_id,
        taken.plan,
        series.channel_id,
        opens_at,
        week_end(series, opens_at, zone),
        weekly=True,
        opened_by=opened_by,
    )
    await set_jobs(writing, jobs, drill)
    return drill
