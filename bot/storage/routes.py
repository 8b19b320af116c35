"""The routes that members saved under names of their own."""

from __future__ import annotations

from dataclasses import replace

from sqlalchemy import delete, select, update

from bot.results.library import Forgotten
from bot.results.place import Owner
from bot.results.tally import SavedRoute
from bot.storage.base import upsert
from bot.storage.rows import enter, number_of, saved_route
from bot.storage.schema import conversion, quiz
from bot.storage.schema import route as rows
from bot.storage.store import Reading, Writing


async def save(writing: Writing, owner: Owner, route: SavedRoute) -> SavedRoute:
    """Keeps a route in place of one with the same name, game and character. The number it comes with is not
    looked at; it is given back with its own. Where that changes its moves, the open question of the quiz is
    over: it was asked about others."""
    number = await enter(writing, owner)
    keys = {"owner_id": number, "game": route.game, "character": route.character, "name": route.name}
    replaced = {
        "game_version": route.game_version,
        "notation": route.notation,
        "saved_at": route.saved_at,
        "tags": " ".join(route.tags),
    }
    changed = select(rows.c.id).where(
        *(rows.c[name] == value for name, value in keys.items()), rows.c.notation != route.notation
    )
    if (await writing.connection.execute(changed)).one_or_none() is not None:
        await writing.connection.execute(delete(quiz).where(quiz.c.owner_id == number))
    insert = upsert(writing.dialect, rows, tuple(keys), replaced=tuple(replaced))
    saved = await writing.connection.execute(insert.returning(rows.c.id), {**keys, **replaced})
    return replace(route, id=saved.scalar_one())


async def rename(writing: Writing, owner: Owner, route_id: int, name: str) -> None:
    """Gives a route another name, which no other of its character may have; all that points to it stays."""
    mine = update(rows).where(rows.c.id == route_id, rows.c.owner_id == number_of(owner))
    await writing.connection.execute(mine.values(name=name))


async def listed(reading: Reading, owner: Owner, game: str) -> tuple[SavedRoute, ...]:
    """The owner's routes of a game, by character and name."""
    query = select(rows).where(rows.c.owner_id == number_of(owner), rows.c.game == game)
    found = await reading.connection.execute(query.order_by(rows.c.character, rows.c.name))
    return tuple(map(saved_route, found))


async def get(reading: Reading, owner: Owner, route_id: int) -> SavedRoute | None:
    """The owner's route with this number."""
    query = select(rows).where(rows.c.id == route_id, rows.c.owner_id == number_of(owner))
    row = (await reading.connection.execute(query)).one_or_none()
    return saved_route(row) if row is not None else None


async def forget(writing: Writing, owner: Owner, route_id: int) -> Forgotten | None:
    """Removes a route and gives it back; None where the owner has no such route. Conversions into it go with
    it, and so does the open question of the quiz, which may be about one of them, or offer this route."""
    route = await get(writing, owner, route_id)
    if route is None:
        return None
    into_it = conversion.c.route_id == route_id
    await writing.connection.execute(delete(quiz).where(quiz.c.owner_id == number_of(owner)))
    gone = await writing.connection.execute(delete(conversion).where(into_it))
    await writing.connection.execute(delete(rows).where(rows.c.id == route_id))
    return Forgotten(route, gone.rowcount)
