"""What a new version of a game may touch in a server, and who is told of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ScalarSelect, Select, delete, insert, select

from bot.results.drills import DrillStage
from bot.results.patches import Keep, KeptMoves
from bot.results.place import Owner
from bot.results.tally import SubjectKind
from bot.storage.rows import entered, new_id
from bot.storage.schema import conversion, drill, edition, exercise, homework, library, member, route
from bot.storage.schema import patch_notice as rows
from bot.storage.store import Reading, Writing
from core.learning.homework import Stage

_OPEN_HOMEWORK = tuple(stage.value for stage in Stage if stage is not Stage.ACCEPTED)
_LIVE_DRILLS = (DrillStage.PLANNED.value, DrillStage.OPEN.value)
_OF_MOVES = (SubjectKind.LINK.value, SubjectKind.ROUTE.value)
_NOTICES = select(rows, member.c.server_id, member.c.member_id).join_from(rows, member)


@dataclass(frozen=True, slots=True)
class NoticeRow:
    """Who is told what a change from `before_id` to `edition_id` does to what is theirs."""

    id: int
    to: Owner
    edition_id: int
    before_id: int


async def kept_moves(
    reading: Reading, server_id: int, game: str, member_id: int | None = None
) -> tuple[KeptMoves, ...]:
    """All moves of a game that are kept in a server; with `member_id` only a member's own routes and
    homework."""
    found = await _saved(reading, server_id, game, member_id)
    found += await _homework(reading, server_id, game, member_id)
    found += await _shared(reading, server_id, game, member_id)
    if member_id is None:
        found += await _drills(reading, server_id, game)
    return tuple(found)


async def add(writing: Writing, to: Owner, edition_id: int, before_id: int) -> int | None:
    """Notes that this member is told of this change, anew where they were told of it before: then others came
    in between. None where nothing is kept of them any more."""
    number = await entered(writing, to)
    if number is None:
        return None
    change = {"edition_id": edition_id, "before_id": before_id, "owner_id": number}
    same = (rows.c[name] == value for name, value in change.items())
    await writing.connection.execute(delete(rows).where(*same))
    return new_id(await writing.connection.execute(insert(rows), change))


async def get(reading: Reading, notice_id: int) -> NoticeRow | None:
    """The notice with this number."""
    found = await _all(reading, _NOTICES.where(rows.c.id == notice_id))
    return found[0] if found else None


async def among(
    reading: Reading, notice_ids: Collection[int], server_id: int, game: str
) -> tuple[NoticeRow, ...]:
    """Those of these notices that are of a game of this server."""
    if not notice_ids:
        return ()
    query = _NOTICES.join(edition, rows.c.edition_id == edition.c.id).where(
        rows.c.id.in_(notice_ids), member.c.server_id == server_id, edition.c.game == game
    )
    return await _all(reading, query)


async def remove(writing: Writing, notice_id: int) -> None:
    """Forgets a notice."""
    await writing.connection.execute(delete(rows).where(rows.c.id == notice_id))


async def erase(writing: Writing, number: ScalarSelect[int]) -> None:
    """Removes what the member with this number is told."""
    await writing.connection.execute(delete(rows).where(rows.c.owner_id == number))


async def _saved(reading: Reading, server_id: int, game: str, member_id: int | None) -> list[KeptMoves]:
    played = select(conversion.c.route_id, conversion.c.situation).join_from(conversion, member)
    played = _of_members(played, server_id, member_id).where(conversion.c.game == game)
    situations: defaultdict[int, list[str]] = defaultdict(list)
    for row in await reading.connection.execute(played.order_by(conversion.c.id)):
        situations[row.route_id].append(row.situation)
    query = _of_members(select(route, member.c.member_id).join_from(route, member), server_id, member_id)
    query = query.where(route.c.game == game).order_by(route.c.id)
    return [
        KeptMoves(
            Keep.SAVED,
            row.id,
            row.member_id,
            row.character,
            row.notation,
            row.name,
            tuple(situations[row.id]),
        )
        for row in await reading.connection.execute(query)
    ]


async def _shared(reading: Reading, server_id: int, game: str, member_id: int | None) -> list[KeptMoves]:
    query = _of_members(select(library, member.c.member_id).join_from(library, member), server_id, member_id)
    query = query.where(library.c.server_id == server_id, library.c.game == game).order_by(library.c.id)
    return [
        KeptMoves(Keep.SHARED, row.id, row.member_id, row.character, row.notation, row.name)
        for row in await reading.connection.execute(query)
    ]


async def _homework(reading: Reading, server_id: int, game: str, member_id: int | None) -> list[KeptMoves]:
    query = select(homework, member.c.member_id).join_from(
        member, homework, homework.c.student_id == member.c.id
    )
    query = _of_members(query, server_id, member_id).where(
        homework.c.stage.in_(_OPEN_HOMEWORK), homework.c.game == game, homework.c.kind.in_(_OF_MOVES)
    )
    return [
        KeptMoves(Keep.HOMEWORK, row.id, row.member_id, row.character, row.what)
        for row in await reading.connection.execute(query.order_by(homework.c.id))
    ]


async def _drills(reading: Reading, server_id: int, game: str) -> list[KeptMoves]:
    """Drills that are held or decided on, then those of the list; all are the server's."""
    live = select(drill.c.id, drill.c.character, drill.c.what).where(
        drill.c.server_id == server_id,
        drill.c.stage.in_(_LIVE_DRILLS),
        drill.c.game == game,
        drill.c.kind.in_(_OF_MOVES),
    )
    listed = select(exercise.c.id, exercise.c.character, exercise.c.what).where(
        exercise.c.server_id == server_id, exercise.c.game == game, exercise.c.kind.in_(_OF_MOVES)
    )
    return [
        KeptMoves(keep, row.id, 0, row.character, row.what)
        for keep, query in ((Keep.DRILL, live), (Keep.LISTED, listed))
        for row in sorted(await reading.connection.execute(query), key=lambda row: row.id)
    ]


def _of_members(query: Select[Any], server_id: int, member_id: int | None) -> Select[Any]:
    query = query.where(member.c.server_id == server_id)
    return query if member_id is None else query.where(member.c.member_id == member_id)


async def _all(reading: Reading, query: Select[Any]) -> tuple[NoticeRow, ...]:
    return tuple(
        NoticeRow(row.id, Owner(row.server_id, row.member_id), row.edition_id, row.before_id)
        for row in await reading.connection.execute(query.order_by(rows.c.id))
    )
