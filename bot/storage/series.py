"""A server's list of drills, and the weekly series that takes its drills from it."""

from __future__ import annotations

from datetime import datetime, time

from sqlalchemy import delete, insert, select, update

from bot.results.drills import DrillPlan, Exercise, Series
from bot.storage.base import upsert
from bot.storage.drills import plan_of_row, plan_values
from bot.storage.rows import new_id
from bot.storage.schema import exercise, series, server
from bot.storage.store import Reading, Writing


async def exercises(reading: Reading, server_id: int) -> tuple[Exercise, ...]:
    """A server's list in the order in which the series takes it: what was never used first, then what was not
    used for longest."""
    order = (exercise.c.used_at.is_not(None), exercise.c.used_at, exercise.c.id)
    query = select(exercise).where(exercise.c.server_id == server_id).order_by(*order)
    found = await reading.connection.execute(query)
    return tuple(Exercise(row.id, plan_of_row(row), row.used_at) for row in found)


async def add(writing: Writing, server_id: int, plan: DrillPlan) -> Exercise:
    """Puts a drill into a server's list."""
    await _know(writing, server_id)
    values = {**plan_values(plan), "server_id": server_id}
    return Exercise(new_id(await writing.connection.execute(insert(exercise), values)), plan)


async def remove(writing: Writing, exercise_id: int) -> None:
    """Takes a drill out of the list."""
    await writing.connection.execute(delete(exercise).where(exercise.c.id == exercise_id))


async def note_used(writing: Writing, exercise_id: int, now: datetime) -> None:
    """Notes that the series took a drill."""
    used = update(exercise).where(exercise.c.id == exercise_id)
    await writing.connection.execute(used.values(used_at=now))


async def get(reading: Reading, server_id: int) -> Series | None:
    """A server's series; None where there is none."""
    query = select(series).where(series.c.server_id == server_id)
    row = (await reading.connection.execute(query)).one_or_none()
    if row is None:
        return None
    return Series(row.server_id, row.channel_id, row.weekday, time.fromisoformat(row.at))


async def put(writing: Writing, weekly: Series) -> None:
    """Keeps a series in place of the server's that was before."""
    await _know(writing, weekly.server_id)
    values = {"channel_id": weekly.channel_id, "weekday": weekly.weekday, "at": f"{weekly.at:%H:%M}"}
    statement = upsert(writing.dialect, series, ("server_id",), replaced=tuple(values))
    await writing.connection.execute(statement, {"server_id": weekly.server_id, **values})


async def end(writing: Writing, server_id: int) -> None:
    """Removes a server's series."""
    await writing.connection.execute(delete(series).where(series.c.server_id == server_id))


async def _know(writing: Writing, server_id: int) -> None:
    await writing.connection.execute(upsert(writing.dialect, server, ("id",)), {"id": server_id})
