"""Everything that is kept of one member: to give to them, or to remove."""

from __future__ import annotations

from sqlalchemy import delete, select

from bot.results.place import Owner
from bot.results.tally import Everything, KeptConversion, KeptTally, SharedRoute
from bot.storage.rows import (
    CONVERSIONS,
    SHARED,
    is_of,
    kept_conversion,
    kept_tally,
    member_settings,
    number_of,
    saved_route,
    shared_route,
)
from bot.storage.schema import conversion, library, member, quiz, route, subject, tally, total
from bot.storage.store import Reading, Writing


async def erase(writing: Writing, owner: Owner) -> int:
    """Removes all of it: tallies, also those taken out of the log, what they were about, their sums, routes,
    also those shared with the server, conversions, the quiz and settings. How many tallies there were."""
    number = number_of(owner)
    mine = select(subject.c.id).where(subject.c.owner_id == number)
    gone = await writing.connection.execute(delete(tally).where(tally.c.owner_id == number))
    await writing.connection.execute(delete(total).where(total.c.subject_id.in_(mine)))
    await writing.connection.execute(delete(subject).where(subject.c.owner_id == number))
    for table in (quiz, conversion, library, route):  # what points to others goes before them
        await writing.connection.execute(delete(table).where(table.c.owner_id == number))
    await writing.connection.execute(delete(member).where(is_of(owner)))
    writing.erases = True
    return gone.rowcount


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
    )


async def _tallies(reading: Reading, number: int, undone: bool) -> tuple[KeptTally, ...]:
    about = (subject.c.game, subject.c.character, subject.c.kind, subject.c.what)
    query = (
        select(tally, *about)
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
