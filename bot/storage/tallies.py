"""The practice log: tallies, and their running sums, which change in the same transaction.

Each function takes the owner and finds only what is theirs.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Row, Select, and_, bindparam, func, insert, select, update

from bot.results.place import Owner
from bot.results.tally import KeptTally, Mark, Subject, SubjectKind, Tally, Total
from bot.storage.base import upsert
from bot.storage.rows import (
    SUBJECT,
    enter,
    kept_tally,
    new_id,
    number_of,
    subject_of_row,
    subject_values,
    tally_values,
)
from bot.storage.schema import member, subject, total
from bot.storage.schema import tally as rows
from bot.storage.store import Reading, Writing
from core.learning.tally import Context

_WHOSE = (
    subject.c.owner_id
    == select(member.c.id)
    .where(member.c.server_id == bindparam("server_id"), member.c.member_id == bindparam("member_id"))
    .scalar_subquery(),
    *(column == bindparam(column.name) for column in SUBJECT),
)
_FIND = select(subject.c.id, subject.c.owner_id).where(*_WHOSE)
_NEW = "new_"
"""What the parameters of `_ADD` begin with that are columns of the row."""
_GIVEN = tuple(column for column in rows.c if column.name not in ("id", "owner_id", "subject_id"))
_ADD = (
    insert(rows)
    .from_select(
        ["owner_id", "subject_id", *(column.name for column in _GIVEN)],
        select(
            subject.c.owner_id,
            subject.c.id,
            *(bindparam(_NEW + column.name, type_=column.type) for column in _GIVEN),
        ).where(*_WHOSE),
    )
    .returning(rows.c.id, rows.c.subject_id)
)
"""One statement where the owner practised it before. These are built once: building one takes longer than
running it."""
_SUMS = ("tallies", "tries", "landed", "early", "late")


async def add(writing: Writing, owner: Owner, tally: Tally, event_id: int | None, now: datetime) -> KeptTally:
    """Stores a tally that was logged `now` by this interaction or message."""
    given = {_NEW + name: value for name, value in _given(tally, event_id, now).items()}
    values = {**_key(owner, tally.subject), **given}
    added = (await writing.connection.execute(_ADD, values)).one_or_none()
    if added is None:
        await enter_subject(writing, owner, tally.subject)
        added = (await writing.connection.execute(_ADD, values)).one()
    await _sum_up(writing, [_sums(added.subject_id, tally, 1)])
    return KeptTally(added.id, added.subject_id, tally)


async def add_all(writing: Writing, owner: Owner, made: Sequence[Tally], now: datetime) -> None:
    """Stores tallies that no interaction and no message logged, in their order: as `add` does, in bulk."""
    about = dict.fromkeys(tally.subject for tally in made)
    numbers = {each: await enter_subject(writing, owner, each) for each in about}
    if not made:
        return
    added = [
        {
            **_given(tally, None, now),
            "owner_id": numbers[tally.subject][0],
            "subject_id": numbers[tally.subject][1],
        }
        for tally in made
    ]
    await writing.connection.execute(insert(rows), added)
    await _sum_up(writing, [_sums(numbers[tally.subject][1], tally, 1) for tally in made])


async def by_event(reading: Reading, owner: Owner, event_id: int) -> KeptTally | None:
    """The tally that this interaction or message logged."""
    return await _one(reading, _tallies(owner).where(rows.c.event_id == event_id))


async def get(reading: Reading, owner: Owner, tally_id: int, undone: bool = False) -> KeptTally | None:
    """The tally with this number, among those in the log, or among those taken out of it."""
    return await _one(reading, _tallies(owner, undone).where(rows.c.id == tally_id))


async def latest(reading: Reading, owner: Owner) -> KeptTally | None:
    """The tally that was logged last."""
    return await _one(reading, _tallies(owner).order_by(rows.c.id.desc()).limit(1))


async def listed(
    reading: Reading, owner: Owner, most: int, before_id: int | None = None, subject_id: int | None = None
) -> tuple[KeptTally, ...]:
    """At most so many tallies, the one logged last first: those before one of them, those of one subject."""
    query = _tallies(owner).order_by(rows.c.id.desc()).limit(most)
    if before_id is not None:
        query = query.where(rows.c.id < before_id)
    if subject_id is not None:
        query = query.where(rows.c.subject_id == subject_id)
    return await _all(reading, query)


async def change(writing: Writing, owner: Owner, tally_id: int, tally: Tally) -> KeptTally | None:
    """Gives a tally of the log other values; None where it is not there."""
    before = await get(writing, owner, tally_id)
    if before is None:
        return None
    subject_id = before.subject_id
    if tally.subject != before.tally.subject:
        _, subject_id = await enter_subject(writing, owner, tally.subject)
    values = {**tally_values(tally), "subject_id": subject_id}
    await writing.connection.execute(update(rows).where(rows.c.id == tally_id).values(values))
    await _sum_up(writing, [_sums(before.subject_id, before.tally, -1), _sums(subject_id, tally, 1)])
    return KeptTally(tally_id, subject_id, tally)


async def undo(writing: Writing, owner: Owner, tally_id: int) -> KeptTally | None:
    """Takes a tally out of the log; it can be put back. None where it is not in it."""
    return await _move(writing, owner, tally_id, undone=True)


async def put_back(writing: Writing, owner: Owner, tally_id: int) -> KeptTally | None:
    """Puts a tally that was taken out back into the log. None where there is no such tally."""
    return await _move(writing, owner, tally_id, undone=False)


async def of_subject(reading: Reading, owner: Owner, subject_id: int, most: int) -> tuple[KeptTally, ...]:
    """At most so many tallies of one subject, the one made last first."""
    query = _tallies(owner).where(rows.c.subject_id == subject_id)
    return await _all(reading, query.order_by(rows.c.made_at.desc(), rows.c.id.desc()).limit(most))


async def of_links(reading: Reading, owner: Owner, game: str, most: int) -> tuple[KeptTally, ...]:
    """At most so many tallies of all links of a game, the one made last first."""
    query = _tallies(owner).where(subject.c.game == game, subject.c.kind == SubjectKind.LINK.value)
    return await _all(reading, query.order_by(rows.c.made_at.desc(), rows.c.id.desc()).limit(most))


async def marks(reading: Reading, owner: Owner, most: int, *, by_hand: bool = False) -> tuple[Mark, ...]:
    """At most so many of all tallies in little, the one made last first; `by_hand`: without those of
    choosing."""
    columns = (rows.c.id, rows.c.subject_id, rows.c.made_at, rows.c.tries, rows.c.landed, rows.c.context)
    query = select(*columns).where(_in_log(owner)).order_by(rows.c.made_at.desc(), rows.c.id.desc())
    if by_hand:
        query = query.join_from(rows, subject).where(subject.c.kind != SubjectKind.CHOICE.value)
    found = await reading.connection.execute(query.limit(most))
    return tuple(
        Mark(row.id, row.subject_id, row.made_at, row.tries, row.landed, Context(row.context))
        for row in found
    )


async def totals(reading: Reading, owner: Owner, game: str) -> tuple[Total, ...]:
    """The sums over the log of each subject of a game in each context in which it was practised."""
    query = (
        select(total, *SUBJECT)
        .join_from(subject, total)
        .where(subject.c.owner_id == number_of(owner), subject.c.game == game, total.c.tallies > 0)
        .order_by(total.c.subject_id, total.c.context)
    )
    return tuple(
        Total(
            row.subject_id,
            subject_of_row(row),
            Context(row.context),
            row.tallies,
            row.tries,
            row.landed,
            row.early,
            row.late,
        )
        for row in await reading.connection.execute(query)
    )


async def subject_of(reading: Reading, owner: Owner, subject_id: int) -> Subject | None:
    """What the owner practises under this number."""
    query = select(*SUBJECT).where(subject.c.id == subject_id, subject.c.owner_id == number_of(owner))
    row = (await reading.connection.execute(query)).one_or_none()
    return subject_of_row(row) if row is not None else None


async def find_subject(reading: Reading, owner: Owner, subject: Subject) -> int | None:
    """The number under which the owner practises this; None where they never did."""
    found = await _find(reading, owner, subject)
    return found.id if found is not None else None


async def tries_since(reading: Reading, owner: Owner, since: datetime) -> int:
    """How many tries the hands made from this moment on: choosing is none of their work."""
    query = (
        select(func.coalesce(func.sum(rows.c.tries), 0))
        .join_from(rows, subject)
        .where(_in_log(owner), rows.c.made_at >= since, subject.c.kind != SubjectKind.CHOICE.value)
    )
    return int((await reading.connection.execute(query)).scalar_one())


def _in_log(owner: Owner, undone: bool = False) -> ColumnElement[bool]:
    return and_(rows.c.owner_id == number_of(owner), rows.c.undone == undone)


def _tallies(owner: Owner, undone: bool = False) -> Select[*tuple[Any, ...]]:
    """The owner's tallies with what they are about."""
    return select(rows, *SUBJECT).join_from(rows, subject).where(_in_log(owner, undone))


async def _one(reading: Reading, query: Select[*tuple[Any, ...]]) -> KeptTally | None:
    row = (await reading.connection.execute(query)).one_or_none()
    return kept_tally(row) if row is not None else None


async def _all(reading: Reading, query: Select[*tuple[Any, ...]]) -> tuple[KeptTally, ...]:
    return tuple(kept_tally(row) for row in await reading.connection.execute(query))


async def _find(reading: Reading, owner: Owner, about: Subject) -> Row[int, int] | None:
    return (await reading.connection.execute(_FIND, _key(owner, about))).one_or_none()


def _key(owner: Owner, about: Subject) -> dict[str, Any]:
    """The parameters of `_WHOSE`."""
    return {"server_id": owner.server_id, "member_id": owner.member_id, **subject_values(about)}


def _given(tally: Tally, event_id: int | None, now: datetime) -> dict[str, Any]:
    """The columns of a new row, without whose it is and its subject."""
    return {**tally_values(tally), "event_id": event_id, "undone": False, "logged_at": now}


async def enter_subject(writing: Writing, owner: Owner, about: Subject) -> tuple[int, int]:
    """The owner's number and the subject's; a new one where they have neither practised nor looked at it."""
    found = await _find(writing, owner, about)
    if found is not None:
        return found.owner_id, found.id
    number = await enter(writing, owner)
    values = {"owner_id": number, **subject_values(about)}
    return number, new_id(await writing.connection.execute(insert(subject), values))


async def _move(writing: Writing, owner: Owner, tally_id: int, undone: bool) -> KeptTally | None:
    found = await get(writing, owner, tally_id, undone=not undone)
    if found is not None:
        await writing.connection.execute(update(rows).where(rows.c.id == tally_id).values(undone=undone))
        await _sum_up(writing, [_sums(found.subject_id, found.tally, -1 if undone else 1)])
    return found


def _sums(subject_id: int, tally: Tally, sign: int) -> dict[str, Any]:
    """What a tally adds to the sums of its subject and context, or takes from them."""
    sums = (1, tally.tries, tally.landed, tally.drops.early, tally.drops.late)
    added = {name: sign * each for name, each in zip(_SUMS, sums, strict=True)}
    return {"subject_id": subject_id, "context": tally.context.value, **added}


async def _sum_up(writing: Writing, changes: Sequence[dict[str, Any]]) -> None:
    statement = upsert(writing.dialect, total, ("subject_id", "context"), added=_SUMS)
    await writing.connection.execute(statement, changes)
