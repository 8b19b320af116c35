"""Numbers that members say are wrong, and what was decided."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ScalarSelect, Select, delete, func, insert, select, update

from bot.results.games import Report, ReportStage
from bot.results.place import Owner
from bot.storage.rows import Found, enter, new_id, number_of
from bot.storage.schema import edition, member, report
from bot.storage.store import Reading, Writing

_REPORTS = select(report, member.c.member_id).join_from(report, member, report.c.owner_id == member.c.id)
"""Reports, each with the id of who made it."""
_OPEN = report.c.stage == ReportStage.OPEN.value


async def add(writing: Writing, new: Report) -> int:
    """Keeps a report that waits; its number."""
    values = {
        "owner_id": await enter(writing, new.member),
        "server_id": new.member.server_id,
        "game": new.game,
        "version": new.version,
        "character": new.character,
        "input": new.input,
        "column": new.column,
        "found": new.found,
        "right": new.right,
        "note": new.note,
        "made_at": new.made_at,
        "stage": new.stage.value,
    }
    return new_id(await writing.connection.execute(insert(report), values))


async def get(reading: Reading, report_id: int) -> Report | None:
    """The report with this number, of whatever server."""
    row = (await reading.connection.execute(_REPORTS.where(report.c.id == report_id))).one_or_none()
    return _report(row) if row is not None else None


async def open_ones(reading: Reading, server_id: int, most: int) -> tuple[Report, ...]:
    """At most so many reports of a server that wait, the oldest first."""
    query = _REPORTS.where(report.c.server_id == server_id, _OPEN).order_by(report.c.id).limit(most)
    return tuple(map(_report, await reading.connection.execute(query)))


async def open_count(reading: Reading, server_id: int) -> int:
    """How many reports of a server wait."""
    query = select(func.count()).select_from(report).where(report.c.server_id == server_id, _OPEN)
    return int((await reading.connection.execute(query)).scalar_one())


async def open_of(reading: Reading, owner: Owner) -> tuple[Report, ...]:
    """A member's reports that wait, the oldest first."""
    return await _all(reading, _REPORTS.where(report.c.owner_id == number_of(owner), _OPEN))


async def of_member(reading: Reading, number: int) -> tuple[Report, ...]:
    """All that the member with this number reported, the oldest first."""
    return await _all(reading, _REPORTS.where(report.c.owner_id == number))


async def decide(writing: Writing, report_id: int, stage: ReportStage, by: Owner, at: datetime) -> None:
    """Keeps what was decided, and who did."""
    values = {"stage": stage.value, "decided_by": await enter(writing, by), "decided_at": at}
    await writing.connection.execute(update(report).where(report.c.id == report_id).values(values))


async def erase(writing: Writing, number: ScalarSelect[int]) -> None:
    """Removes what the member with this number reported. What they decided, and versions of games that they
    made, stay, without their name."""
    await writing.connection.execute(delete(report).where(report.c.owner_id == number))
    for column in (report.c.decided_by, edition.c.made_by):
        nameless = update(column.table).where(column == number).values({column.name: None})
        await writing.connection.execute(nameless)


async def _all(reading: Reading, query: Select[Any]) -> tuple[Report, ...]:
    return tuple(map(_report, await reading.connection.execute(query.order_by(report.c.id))))


def _report(row: Found) -> Report:
    return Report(
        row.id,
        Owner(row.server_id, row.member_id),
        row.game,
        row.version,
        row.character,
        row.input,
        row.column,
        row.found,
        row.right,
        row.note,
        row.made_at,
        ReportStage(row.stage),
    )
