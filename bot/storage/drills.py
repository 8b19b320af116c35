"""Group drills: when they are held, who takes part, and which tallies count."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, func, insert, select, update

from bot.results.drills import DrillPlan, DrillStage, KeptDrill
from bot.results.place import Owner
from bot.results.tally import KeptTally, Subject
from bot.storage.base import upsert
from bot.storage.rows import (
    SUBJECT,
    Found,
    enter,
    kept_tally,
    new_id,
    number_of,
    subject_of_row,
    subject_values,
)
from bot.storage.schema import drill, drill_tally, entry, member, subject, tally, total
from bot.storage.store import Reading, Writing
from core.drills.drill import Scoring

_DRILLS = select(drill, member.c.member_id).join_from(drill, member, isouter=True)
_LIVE = (DrillStage.PLANNED.value, DrillStage.OPEN.value)
_HELD = (DrillStage.OPEN.value, DrillStage.CLOSED.value)
_SCORED = (tally.c.made_at, tally.c.tries, tally.c.landed, tally.c.context)
_IS_OF_DRILL = and_(*(column == drill.c[column.name] for column in SUBJECT))
"""Whether a row of `subject` is what a row of `drill` is about."""
_IN_TIME = and_(
    tally.c.undone.is_(False),
    tally.c.made_at >= drill.c.opens_at,
    tally.c.made_at < drill.c.closes_at,
    tally.c.logged_at < drill.c.closes_at,
)


@dataclass(frozen=True, slots=True)
class DrillTally:
    """A tally that counts in a drill, unless `struck_at` says that it was struck."""

    member_id: int
    kept: KeptTally
    run: int | None
    seen_at: datetime | None
    struck_at: datetime | None
    reason: str


def plan_values(plan: DrillPlan) -> dict[str, Any]:
    """The columns of a plan."""
    return {
        **subject_values(plan.subject),
        "scoring": plan.scoring.value,
        "at_least": plan.at_least,
        "daily_cap": plan.daily_cap,
        "goal": plan.goal,
        "dummy": plan.dummy,
    }


def plan_of_row(row: Found) -> DrillPlan:
    """The record of a plan, by its columns."""
    scoring = Scoring(row.scoring)
    return DrillPlan(subject_of_row(row), scoring, row.at_least, row.daily_cap, row.goal, row.dummy)


async def add(
    writing: Writing,
    server_id: int,
    plan: DrillPlan,
    channel_id: int,
    opens_at: datetime,
    closes_at: datetime,
    *,
    weekly: bool,
    opened_by: int | None,
) -> KeptDrill:
    """Stores a drill that is to be opened. `opened_by`: by this member of the server."""
    number = None if opened_by is None else await enter(writing, Owner(server_id, opened_by))
    values = {
        **plan_values(plan),
        "server_id": server_id,
        "weekly": weekly,
        "channel_id": channel_id,
        "opens_at": opens_at,
        "closes_at": closes_at,
        "stage": DrillStage.PLANNED.value,
        "opened_by": number,
    }
    drill_id = new_id(await writing.connection.execute(insert(drill), values))
    return KeptDrill(
        drill_id, server_id, plan, weekly, channel_id, opens_at, closes_at, DrillStage.PLANNED, opened_by
    )


async def get(reading: Reading, drill_id: int) -> KeptDrill | None:
    """The drill with this number, of whatever server."""
    return await _first(reading, _DRILLS.where(drill.c.id == drill_id))


async def live(reading: Reading, server_id: int) -> tuple[KeptDrill, ...]:
    """The drills of a server that are open or yet to be opened, the latest first."""
    query = _DRILLS.where(drill.c.server_id == server_id, drill.c.stage.in_(_LIVE))
    return await _all(reading, query.order_by(drill.c.id.desc()))


async def all_open(reading: Reading, among: Collection[int] | None = None) -> tuple[KeptDrill, ...]:
    """The open drills of all servers; `among`: only those with these numbers, some hundreds at most."""
    query = _DRILLS.where(drill.c.stage == DrillStage.OPEN.value).order_by(drill.c.id)
    return await _all(reading, query if among is None else query.where(drill.c.id.in_(among)))


async def last_opened_by(reading: Reading, owner: Owner) -> KeptDrill | None:
    """The drill that this member decided on last, outside of a series."""
    query = _DRILLS.where(drill.c.opened_by == number_of(owner), drill.c.weekly.is_(False))
    return await _first(reading, query.order_by(drill.c.id.desc()).limit(1))


async def weekly_after(reading: Reading, server_id: int, drill_id: int) -> KeptDrill | None:
    """The first drill of a server's series after this one that was not cancelled."""
    query = _DRILLS.where(
        drill.c.server_id == server_id,
        drill.c.weekly.is_(True),
        drill.c.id > drill_id,
        drill.c.stage != DrillStage.CANCELLED.value,
    )
    return await _first(reading, query.order_by(drill.c.id).limit(1))


async def last_subjects(reading: Reading, server_id: int, most: int) -> tuple[Subject, ...]:
    """What the last drills of a server are or were about, the latest first."""
    query = select(drill).where(drill.c.server_id == server_id, drill.c.stage != DrillStage.CANCELLED.value)
    found = await reading.connection.execute(query.order_by(drill.c.id.desc()).limit(most))
    return tuple(map(subject_of_row, found))


async def set_stage(writing: Writing, drill_id: int, stage: DrillStage) -> None:
    """Notes where a drill is in its life."""
    await _change(writing, drill_id, stage=stage.value)


async def set_times(writing: Writing, drill_id: int, opens_at: datetime, closes_at: datetime) -> None:
    """Moves a drill."""
    await _change(writing, drill_id, opens_at=opens_at, closes_at=closes_at)


async def set_channel(writing: Writing, drill_id: int, channel_id: int) -> None:
    """Moves a drill that was not posted yet into another channel."""
    await _change(writing, drill_id, channel_id=channel_id)


async def join(writing: Writing, owner: Owner, drill_id: int, now: datetime) -> None:
    """The owner takes part, from now or again."""
    values = {"drill_id": drill_id, "owner_id": await enter(writing, owner), "joined_at": now}
    statement = upsert(writing.dialect, entry, ("drill_id", "owner_id"), replaced=("left_it",))
    await writing.connection.execute(statement, {**values, "left_it": False})


async def leave(writing: Writing, owner: Owner, drill_id: int) -> bool:
    """The owner takes part no longer; False where they did not."""
    own = update(entry).where(*_takes_part(drill_id), entry.c.owner_id == number_of(owner))
    return (await writing.connection.execute(own.values(left_it=True))).rowcount == 1


async def is_in(reading: Reading, owner: Owner, drill_id: int) -> bool:
    """Whether the owner takes part."""
    own = select(entry.c.id).where(*_takes_part(drill_id), entry.c.owner_id == number_of(owner))
    return (await reading.connection.execute(own)).one_or_none() is not None


async def members(reading: Reading, drill_id: int) -> int:
    """How many take part."""
    query = select(func.count()).select_from(entry).where(*_takes_part(drill_id))
    return int((await reading.connection.execute(query)).scalar_one())


async def listed(reading: Reading, drill_id: int) -> frozenset[int]:
    """Who takes part and agreed to be named, by member id."""
    query = select(member.c.member_id).join_from(entry, member)
    found = await reading.connection.execute(query.where(*_takes_part(drill_id), member.c.listed.is_(True)))
    return frozenset(found.scalars())


async def of_member(reading: Reading, owner: Owner) -> tuple[int, ...]:
    """The drills that the owner ever took part in."""
    query = select(entry.c.drill_id).where(entry.c.owner_id == number_of(owner)).order_by(entry.c.drill_id)
    return tuple((await reading.connection.execute(query)).scalars())


async def counted(reading: Reading, drill_id: int) -> tuple[Found, ...]:
    """Of each tally of a drill what it is scored by, in no order: `member_id`, `made_at`, `tries`, `landed`,
    `context`, `run`, `struck_at`. They may be many: what is made of them is made off the event loop."""
    said = (drill_tally.c.run, drill_tally.c.struck_at)
    query = _in_drill(member.c.member_id, *_SCORED, *said).where(drill.c.id == drill_id)
    return tuple(await reading.connection.execute(query))


async def own(reading: Reading, owner: Owner, drill_id: int) -> tuple[DrillTally, ...]:
    """The owner's tallies of a drill, struck ones too, in the order in which they were logged."""
    query = _tallies().where(drill.c.id == drill_id, entry.c.owner_id == number_of(owner))
    return _drill_tallies(await reading.connection.execute(query.order_by(tally.c.id)))


async def latest(
    reading: Reading, drill_id: int, most: int, before_id: int | None = None
) -> tuple[DrillTally, ...]:
    """At most so many tallies of a drill, struck ones too, the one logged last first."""
    query = _tallies().where(drill.c.id == drill_id).order_by(tally.c.id.desc()).limit(most)
    if before_id is not None:
        query = query.where(tally.c.id < before_id)
    return _drill_tallies(await reading.connection.execute(query))


async def of_drill(
    reading: Reading, tally_id: int, server_id: int | None = None
) -> tuple[KeptDrill, DrillTally] | None:
    """A tally with the drill that it counts in, the latest of several; of this server, where one is given."""
    query = _tallies(drill.c.id.label("of_drill")).where(tally.c.id == tally_id, drill.c.stage.in_(_HELD))
    if server_id is not None:
        query = query.where(drill.c.server_id == server_id)
    row = (await reading.connection.execute(query.order_by(drill.c.id.desc()).limit(1))).one_or_none()
    if row is None:
        return None
    kept = await get(reading, row.of_drill)
    assert kept is not None
    return kept, _drill_tallies([row])[0]


async def all_of_tally(reading: Reading, tally_id: int) -> tuple[int, ...]:
    """The drills, open or over, that a tally counts in, or would if it were not struck."""
    held = drill.c.stage.in_(_HELD)
    query = _of_who_takes_part(drill.c.id).where(tally.c.id == tally_id, held, _IN_TIME)
    return tuple((await reading.connection.execute(query)).scalars())


async def earlier(reading: Reading, drill_id: int) -> dict[int, tuple[int, int]]:
    """By member id, what those who take part had landed of how many tries when the drill opened."""
    sums = (func.sum(tally.c.landed), func.sum(tally.c.tries))
    query = _of_who_takes_part(member.c.member_id, *sums).where(drill.c.id == drill_id, _before())
    found = await reading.connection.execute(query.group_by(member.c.member_id))
    return {member_id: (int(landed), int(tries)) for member_id, landed, tries in found}


async def earlier_tallies(reading: Reading, drill_id: int) -> tuple[Found, ...]:
    """The tallies behind `earlier`, as `counted` gives them, without what a drill knows of them."""
    query = _of_who_takes_part(member.c.member_id, *_SCORED).where(drill.c.id == drill_id, _before())
    return tuple(await reading.connection.execute(query))


async def note_run(writing: Writing, tally_id: int, drill_id: int, run: int | None) -> None:
    """Notes that a tally was logged on a drill, with the most that landed in a row."""
    await _note(writing, tally_id, drill_id, run=run)


async def note_seen(writing: Writing, tally_id: int, drill_id: int, by: Owner, now: datetime) -> None:
    """Notes that a coach has seen a tally."""
    await _note(writing, tally_id, drill_id, seen_by=await enter(writing, by), seen_at=now)


async def note_struck(
    writing: Writing, tally_id: int, drill_id: int, by: Owner, now: datetime, reason: str
) -> None:
    """Notes that a coach struck a tally."""
    number = await enter(writing, by)
    await _note(writing, tally_id, drill_id, struck_by=number, struck_at=now, reason=reason)


async def note_unstruck(writing: Writing, tally_id: int, drill_id: int) -> None:
    """Notes that a tally counts again."""
    await _note(writing, tally_id, drill_id, struck_by=None, struck_at=None, reason="")


async def practised(reading: Reading, server_id: int, game: str) -> tuple[Found, ...]:
    """What the members of a server practise of a game, with `member_id`, the columns of a subject, `tries`
    and `landed`."""
    sums = (func.sum(total.c.tries).label("tries"), func.sum(total.c.landed).label("landed"))
    query = (
        select(member.c.member_id, *SUBJECT, *sums)
        .join_from(member, subject)
        .join(total)
        .where(member.c.server_id == server_id, subject.c.game == game, total.c.tallies > 0)
        .group_by(member.c.member_id, *SUBJECT)
    )
    return tuple(await reading.connection.execute(query))


def _takes_part(drill_id: int) -> tuple[ColumnElement[bool], ...]:
    return entry.c.drill_id == drill_id, entry.c.left_it.is_(False)


def _of_who_takes_part(*columns: Any) -> Select[Any]:
    """These columns of the tallies that those who take part have at what the drill is about."""
    return (
        select(*columns)
        .select_from(drill)
        .join(entry, and_(entry.c.drill_id == drill.c.id, entry.c.left_it.is_(False)))
        .join(member, member.c.id == entry.c.owner_id)
        .join(subject, and_(subject.c.owner_id == entry.c.owner_id, _IS_OF_DRILL))
        .join(tally, tally.c.subject_id == subject.c.id)
    )


def _in_drill(*columns: Any) -> Select[Any]:
    """These columns of the tallies that count in drills, or would if they were not struck."""
    query = _of_who_takes_part(*columns).outerjoin(drill_tally, drill_tally.c.tally_id == tally.c.id)
    return query.where(_IN_TIME)


def _tallies(*more: Any) -> Select[Any]:
    """Those tallies whole, as `_drill_tallies` reads them."""
    said = (drill_tally.c.run, drill_tally.c.seen_at, drill_tally.c.struck_at, drill_tally.c.reason)
    return _in_drill(tally, *SUBJECT, member.c.member_id, *said, *more)


def _drill_tallies(rows: Iterable[Found]) -> tuple[DrillTally, ...]:
    return tuple(
        DrillTally(row.member_id, kept_tally(row), row.run, row.seen_at, row.struck_at, row.reason or "")
        for row in rows
    )


def _before() -> ColumnElement[bool]:
    """Made and logged before the drill opened: what is logged later changes nobody's own earlier rate."""
    opens_at = drill.c.opens_at
    return and_(tally.c.undone.is_(False), tally.c.made_at < opens_at, tally.c.logged_at < opens_at)


async def _note(writing: Writing, tally_id: int, drill_id: int, **values: Any) -> None:
    statement = upsert(writing.dialect, drill_tally, ("tally_id",), replaced=tuple(values))
    given = {"tally_id": tally_id, "drill_id": drill_id, "reason": "", **values}
    await writing.connection.execute(statement, given)


async def _change(writing: Writing, drill_id: int, **values: Any) -> None:
    await writing.connection.execute(update(drill).where(drill.c.id == drill_id).values(values))


async def _first(reading: Reading, query: Select[Any]) -> KeptDrill | None:
    row = (await reading.connection.execute(query)).one_or_none()
    return _kept(row) if row is not None else None


async def _all(reading: Reading, query: Select[Any]) -> tuple[KeptDrill, ...]:
    return tuple(map(_kept, await reading.connection.execute(query)))


def _kept(row: Found) -> KeptDrill:
    """The record of a drill's row, joined with the `member_id` of who opened it."""
    return KeptDrill(
        row.id,
        row.server_id,
        plan_of_row(row),
        row.weekly,
        row.channel_id,
        row.opens_at,
        row.closes_at,
        DrillStage(row.stage),
        row.member_id,
    )
