"""The routes that members shared with everybody in their server."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import Select, delete, insert, update

from bot.results.place import Owner
from bot.results.tally import SavedRoute, SharedRoute
from bot.storage.rows import SHARED, enter, new_id, number_of, shared_route
from bot.storage.schema import library as rows
from bot.storage.store import Reading, Writing


async def share(
    writing: Writing, owner: Owner, route: SavedRoute, now: datetime, instead_of: int | None = None
) -> SharedRoute | None:
    """Puts a route into the library of the owner's server, under a name that no other of its character has
    there. `instead_of`: the number of one that the owner shared before and that this one takes the place of;
    None where the owner has none of this number."""
    values = {
        "game": route.game,
        "character": route.character,
        "name": route.name,
        "game_version": route.game_version,
        "notation": route.notation,
        "tags": " ".join(route.tags),
        "shared_at": now,
    }
    if instead_of is None:
        number = await enter(writing, owner)
        whose = {"server_id": owner.server_id, "owner_id": number}
        added = await writing.connection.execute(insert(rows), {**whose, **values})
        return await get(writing, owner.server_id, new_id(added))
    own = update(rows).where(rows.c.id == instead_of, rows.c.owner_id == number_of(owner))
    changed = await writing.connection.execute(own.values(values))
    return await get(writing, owner.server_id, instead_of) if changed.rowcount else None


async def listed(reading: Reading, server_id: int, game: str) -> tuple[SharedRoute, ...]:
    """The routes of a game that are shared in a server, by character and name."""
    query = _shared(server_id).where(rows.c.game == game).order_by(rows.c.character, rows.c.name)
    return tuple(map(shared_route, await reading.connection.execute(query)))


async def get(reading: Reading, server_id: int, library_id: int) -> SharedRoute | None:
    """The route with this number that is shared in a server."""
    query = _shared(server_id).where(rows.c.id == library_id)
    row = (await reading.connection.execute(query)).one_or_none()
    return shared_route(row) if row is not None else None


async def remove(writing: Writing, server_id: int, library_id: int) -> SharedRoute | None:
    """Takes a route out of a server's library and gives it back; None where there is no such route."""
    route = await get(writing, server_id, library_id)
    if route is not None:
        await writing.connection.execute(delete(rows).where(rows.c.id == library_id))
    return route


def _shared(server_id: int) -> Select[Any]:
    return SHARED.where(rows.c.server_id == server_id)
