"""Everything that is kept of one member: to give to them, or to remove."""

from __future__ import annotations

from sqlalchemy import ScalarSelect, delete, select, update

from bot.results.coaching import KeptCoachData
from bot.results.games import KeptGameData
from bot.results.place import Owner
from bot.results.tally import (
    DrillNote,
    Everything,
    JoinedDrill,
    KeptConversion,
    KeptTally,
    SharedRoute,
)
from bot.storage import audit, coaching, editions, homework, patches, reports, uploads
from bot.storage.rows import (
    CONVERSIONS,
    SHARED,
    SUBJECT,
    is_of,
    kept_conversion,
    kept_tally,
    member_settings,
    number_of,
    saved_route,
    shared_route,
    subject_of_row,
)
from bot.storage.schema import (
    conversion,
    drill,
    drill_tally,
    entry,
    library,
    member,
    quiz,
    route,
    subject,
    tally,
    total,
)
from bot.storage.store import Reading, Writing


async def erase(writing: Writing, owner: Owner) -> int:
    """Removes all of it: tallies, also those taken out of the log, what they were about, their sums, routes,
    also those shared with the server, conversions, the quiz, homework, coaches and students, reports of
    numbers, files that were sent, and settings. How many tallies there were."""
    number = number_of(owner)
    mine = select(subject.c.id).where(subject.c.owner_id == number)
    await _leave_drills(writing, number)
    await coaching.erase(writing, number)
    await homework.erase(writing, number)
    await audit.erase(writing, number)
    await uploads.erase(writing, number)
    await reports.erase(writing, number)
    await patches.erase(writing, number)
    gone = await writing.connection.execute(delete(tally).where(tally.c.owner_id == number))
    await writing.connection.execute(delete(total).where(total.c.subject_id.in_(mine)))
    await writing.connection.execute(delete(subject).where(subject.c.owner_id == number))
    for table in (quiz, conversion, library, route):  # what points to others goes before them
        await writing.connection.execute(delete(table).where(table.c.owner_id == number))
    await writing.connection.execute(delete(member).where(is_of(owner)))
    writing.erases = True
    return gone.rowcount


async def _leave_drills(writing: Writing, number: ScalarSelect[int]) -> None:
    """Removes a member's part in group drills; what they decided as a coach stays, without their name."""
    own = select(tally.c.id).where(tally.c.owner_id == number)
    await writing.connection.execute(delete(drill_tally).where(drill_tally.c.tally_id.in_(own)))
    await writing.connection.execute(delete(entry).where(entry.c.owner_id == number))
    for column in (drill_tally.c.seen_by, drill_tally.c.struck_by, drill.c.opened_by):
        nameless = update(column.table).where(column == number).values({column.name: None})
        await writing.connection.execute(nameless)


async def everything(reading: Reading, owner: Owner) -> Everything:
    """All of it, as records, in the order in which it was stored."""
    settings = await reading.connection.execute(select(member).where(is_of(owner)))
    row = settings.one_or_none()
    if row is None:
        return Everything()
    routes = await reading.connection.execute(
        select(route).where(route.c.owner_id == row.id).order_by(route.c.id)
    )
    return Everything(
        await _tallies(reading, row.id, undone=False),
        tuple(map(saved_route, routes)),
        member_settings(row),
        await _tallies(reading, row.id, undone=True),
        await _shared(reading, row.id),
        await _conversions(reading, row.id),
        await _drills(reading, row.id),
        await _coaching(reading, row.id),
        await _games(reading, owner, row.id),
        await audit.of_member(reading, row.id),
    )


async def _tallies(reading: Reading, number: int, undone: bool) -> tuple[KeptTally, ...]:
    query = (
        select(tally, *SUBJECT)
        .join_from(tally, subject)
        .where(tally.c.owner_id == number, tally.c.undone == undone)
        .order_by(tally.c.id)
    )
    return tuple(map(kept_tally, await reading.connection.execute(query)))


async def _shared(reading: Reading, number: int) -> tuple[SharedRoute, ...]:
    query = SHARED.where(library.c.owner_id == number).order_by(library.c.id)
    return tuple(map(shared_route, await reading.connection.execute(query)))


async def _conversions(reading: Reading, number: int) -> tuple[KeptConversion, ...]:
    query = CONVERSIONS.where(conversion.c.owner_id == number).order_by(conversion.c.id)
    return tuple(map(kept_conversion, await reading.connection.execute(query)))


async def _drills(reading: Reading, number: int) -> tuple[JoinedDrill, ...]:
    query = select(drill, entry.c.joined_at, entry.c.left_it).join_from(entry, drill)
    joined = await reading.connection.execute(query.where(entry.c.owner_id == number).order_by(drill.c.id))
    said = select(drill_tally).join_from(drill_tally, tally).where(tally.c.owner_id == number)
    notes: dict[int, list[DrillNote]] = {}
    for row in sorted(await reading.connection.execute(said), key=lambda row: row.tally_id):
        reason = row.reason if row.struck_at is not None else None
        note = DrillNote(row.tally_id, row.run, row.seen_at is not None, reason)
        notes.setdefault(row.drill_id, []).append(note)
    return tuple(
        JoinedDrill(
            row.id,
            subject_of_row(row),
            row.opens_at,
            row.closes_at,
            row.joined_at,
            row.left_it,
            tuple(notes.get(row.id, ())),
        )
        for row in joined
    )


async def _coaching(reading: Reading, number: int) -> KeptCoachData | None:
    own = await homework.of_member(reading, number)
    found = KeptCoachData(
        await coaching.of_member(reading, number),
        own,
        tuple([(kept.id, said) for kept in own for said in await homework.comments(reading, kept.id)]),
        await homework.set_by_member(reading, number),
        await coaching.notes_of(reading, number),
    )
    return None if found == KeptCoachData() else found


async def _games(reading: Reading, owner: Owner, number: int) -> KeptGameData | None:
    sent = await uploads.of_owner(reading, owner)
    found = KeptGameData(
        await reports.of_member(reading, number),
        await editions.made_by(reading, number),
        tuple(file.name for file in sent.files) if sent is not None else (),
    )
    return None if found == KeptGameData() else found
