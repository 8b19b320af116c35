"""What members do when a starter lands, and the question of the quiz that each has before them."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from sqlalchemy import delete, insert, select, update

from bot.results.conversion import OpenQuestion
from bot.results.place import Owner
from bot.results.tally import KeptConversion
from bot.storage.base import upsert
from bot.storage.rows import CONVERSIONS, ROUTE_OF_CONVERSION, enter, kept_conversion, new_id, number_of
from bot.storage.schema import conversion as rows
from bot.storage.schema import quiz, route
from bot.storage.store import Reading, Writing

_KEYS = ("owner_id", "game", "character", "starter", "situation")


async def set_one(writing: Writing, owner: Owner, wanted: KeptConversion) -> KeptConversion:
    """Keeps a conversion in place of the one of the same starter and situation; `wanted.route` is a route of
    the owner's. Another route than before is to be learnt from the start, and is what is asked from now
    on."""
    number = await enter(writing, owner)
    keys = {"owner_id": number} | {name: getattr(wanted, name) for name in _KEYS[1:]}
    query = CONVERSIONS.where(*(rows.c[name] == value for name, value in keys.items()))
    found = (await writing.connection.execute(query)).one_or_none()
    if found is not None and found.route_id == wanted.route.id:
        return kept_conversion(found)
    if found is not None:
        await writing.connection.execute(delete(quiz).where(quiz.c.conversion_id == found.id))
    replaced = {"route_id": wanted.route.id, "step": 0, "due_at": None}
    statement = upsert(writing.dialect, rows, _KEYS, replaced=tuple(replaced))
    stored = await writing.connection.execute(statement.returning(rows.c.id), {**keys, **replaced})
    return replace(wanted, id=stored.scalar_one(), step=0, due_at=None)


async def listed(reading: Reading, owner: Owner, game: str) -> tuple[KeptConversion, ...]:
    """The owner's conversions of a game, in the order in which they were first kept."""
    query = CONVERSIONS.where(rows.c.owner_id == number_of(owner), rows.c.game == game).order_by(rows.c.id)
    return tuple(map(kept_conversion, await reading.connection.execute(query)))


async def forget(writing: Writing, owner: Owner, conversion_id: int) -> None:
    """Removes a conversion, and the open question about it."""
    mine = rows.c.owner_id == number_of(owner)
    own = select(rows.c.id).where(rows.c.id == conversion_id, mine).scalar_subquery()
    await writing.connection.execute(delete(quiz).where(quiz.c.conversion_id == own))
    await writing.connection.execute(delete(rows).where(rows.c.id == conversion_id, mine))


async def open_question(reading: Reading, owner: Owner) -> OpenQuestion | None:
    """The question that the owner has before them."""
    query = (
        select(rows, *ROUTE_OF_CONVERSION, *(column.label(f"quiz_{column.name}") for column in quiz.c))
        .join_from(rows, route)
        .join(quiz, quiz.c.conversion_id == rows.c.id)
        .where(quiz.c.owner_id == number_of(owner))
    )
    row = (await reading.connection.execute(query)).one_or_none()
    if row is None:
        return None
    offered = tuple(map(int, row.quiz_route_ids.split()))
    return OpenQuestion(row.quiz_id, kept_conversion(row), offered, row.quiz_asked_at)


async def ask(
    writing: Writing, owner: Owner, about: KeptConversion, route_ids: tuple[int, ...], now: datetime
) -> OpenQuestion:
    """Keeps what is asked now, in place of the question before: that one is over."""
    number = await enter(writing, owner)
    await writing.connection.execute(delete(quiz).where(quiz.c.owner_id == number))
    values = {
        "owner_id": number,
        "conversion_id": about.id,
        "route_ids": " ".join(map(str, route_ids)),
        "asked_at": now,
    }
    number = new_id(await writing.connection.execute(insert(quiz), values))
    return OpenQuestion(number, about, route_ids, now)


async def answered(writing: Writing, question: OpenQuestion, step: int, due_at: datetime) -> None:
    """Notes how well the conversion of an open question is known now, and closes the question."""
    await writing.connection.execute(delete(quiz).where(quiz.c.id == question.id))
    known = update(rows).where(rows.c.id == question.conversion.id)
    await writing.connection.execute(known.values(step=step, due_at=due_at))
