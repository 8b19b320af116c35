"""The standings of a group drill, worked out from the rows of the log."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from bot.results.drills import DrillBoard, KeptDrill
from bot.results.tally import KeptTally
from bot.services.desk import AskDesk
from bot.storage import drills as stored
from bot.storage.drills import DrillTally
from bot.storage.rows import Found
from bot.storage.store import Reading
from core.drills.drill import Drill, Scored, sure_run
from core.drills.recap import Recap, recap
from core.drills.standings import Standings, standings
from core.learning.calendar import day_of
from core.learning.rates import Rate, TooFew, tell
from core.learning.tally import Context, Tally


@dataclass(frozen=True, slots=True)
class DrillRows:
    """What of the database a drill is scored from."""

    drill: KeptDrill
    counted: tuple[Found, ...]
    earlier: dict[int, tuple[int, int]]
    listed: frozenset[int]
    members: int


async def read_rows(reading: Reading, drill: KeptDrill) -> DrillRows:
    """What a drill is scored from, all of one moment."""
    return DrillRows(
        drill,
        await stored.counted(reading, drill.id),
        await stored.earlier(reading, drill.id),
        await stored.listed(reading, drill.id),
        await stored.members(reading, drill.id),
    )


async def board_of(rows: DrillRows, desk: AskDesk, zone: ZoneInfo) -> DrillBoard:
    """The drill as its post shows it; worked out in a thread, for the tallies may be many."""
    current = await asyncio.to_thread(_standings, rows, zone)
    return DrillBoard(rows.drill, current, rows.members, zone, version_of(desk, rows.drill))


async def recap_of(rows: DrillRows, before: Iterable[Found], final: Standings) -> Recap:
    """The recap of these standings. `before`: the rows of `earlier_tallies`."""
    return await asyncio.to_thread(_recap, rows, before, final)


def scored_drill(drill: KeptDrill, zone: ZoneInfo) -> Drill:
    """A drill as it is scored, by the days of this zone."""
    plan = drill.plan
    return Drill(
        plan.subject.what,
        plan.scoring,
        drill.opens_at,
        drill.closes_at,
        zone,
        plan.at_least,
        plan.daily_cap,
    )


def clean_reps_on(moment: datetime, own: Iterable[DrillTally], zone: ZoneInfo) -> int:
    """How many reps landed on the day of this moment, in tallies that are not struck."""
    day = day_of(moment, zone)
    made = (one.kept.tally for one in own if one.struck_at is None)
    return sum(tally.landed for tally in made if day_of(tally.made_at, zone) == day)


def struck_of(own: Iterable[DrillTally]) -> tuple[tuple[KeptTally, str], ...]:
    """The struck tallies, each with the reason."""
    return tuple((one.kept, one.reason) for one in own if one.struck_at is not None)


def version_of(desk: AskDesk, drill: KeptDrill) -> str:
    """The version of the game file that a drill is shown by; empty where there is no such game any more."""
    game = desk.game_named(drill.server_id, drill.plan.subject.game)
    return game.version if game is not None else ""


def _standings(rows: DrillRows, zone: ZoneInfo) -> Standings:
    rates: dict[int, Rate | TooFew] = {
        member_id: tell(landed, tries) for member_id, (landed, tries) in rows.earlier.items()
    }
    return standings(scored_drill(rows.drill, zone), _scored(rows), rates, rows.listed)


def _recap(rows: DrillRows, before: Iterable[Found], final: Standings) -> Recap:
    past: dict[int, list[Tally]] = {}
    for row in before:
        past.setdefault(row.member_id, []).append(_tally(row, rows.drill))
    return recap(final, _scored(rows), past)


def _scored(rows: DrillRows) -> Iterator[Scored]:
    """The tallies as they are scored. A run that the counts no longer hold, since they were changed in the
    log, is passed over."""
    for row in rows.counted:
        run: int | None = row.run
        if run is not None and not sure_run(row.landed, row.tries) <= run <= row.landed:
            run = None
        yield Scored(row.member_id, _tally(row, rows.drill), run, row.struck_at is not None)


def _tally(row: Found, drill: KeptDrill) -> Tally:
    return Tally(row.made_at, drill.plan.subject.what, row.tries, row.landed, Context(row.context))
