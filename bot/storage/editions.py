"""Versions of the games of a server, which of them it uses, and what its channels are about."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Select, delete, func, insert, select

from bot.results.games import Edition
from bot.results.place import Owner
from bot.storage.base import upsert
from bot.storage.rows import Found, enter, new_id, number_of
from bot.storage.schema import channel, edition, game, member, server
from bot.storage.store import Reading, Writing

_TOLD = tuple(column for column in edition.c if column.name not in ("content", "digest", "made_by"))
_EDITIONS = select(*_TOLD, member.c.member_id).join_from(edition, member, isouter=True)
"""Editions without what they say, which may be long, each with the id of who made it."""


@dataclass(frozen=True, slots=True)
class Label:
    """One version of a game in little."""

    edition_id: int
    version: str
    digest: str


@dataclass(frozen=True, slots=True)
class Used:
    """The version of a game that a server uses."""

    server_id: int
    game: str
    edition_id: int
    version: str
    digest: str


@dataclass(frozen=True, slots=True)
class ChannelGame:
    """What a channel is about."""

    channel_id: int
    server_id: int
    game: str


async def add(
    writing: Writing,
    server_id: int,
    name: str,
    version: str,
    content: str,
    digest: str,
    by: Owner | None,
    at: datetime,
    reason: str = "",
) -> Edition:
    """Keeps a version of a game, under a label that no other of it has in this server. `by`: who made it,
    None for the host's own."""
    await _enter_server(writing, server_id)
    values = {
        "server_id": server_id,
        "game": name,
        "version": version,
        "content": content,
        "digest": digest,
        "made_by": await enter(writing, by) if by is not None else None,
        "made_at": at,
        "reason": reason,
    }
    number = new_id(await writing.connection.execute(insert(edition), values))
    return Edition(number, server_id, name, version, by.member_id if by else None, at, reason)


async def get(reading: Reading, edition_id: int) -> Edition | None:
    """The version with this number, of whatever server."""
    return await _one(reading, _EDITIONS.where(edition.c.id == edition_id))


async def by_label(reading: Reading, server_id: int, name: str, version: str) -> Edition | None:
    """The version of a server's game that has this label."""
    return await _one(reading, _of(server_id, name).where(edition.c.version == version))


async def last_by(reading: Reading, by: Owner) -> Edition | None:
    """The version that this member made last."""
    made = _EDITIONS.where(edition.c.made_by == number_of(by))
    return await _one(reading, made.order_by(edition.c.id.desc()).limit(1))


async def made_by(reading: Reading, number: int) -> tuple[Edition, ...]:
    """The versions that the member with this number made, the oldest first."""
    made = _EDITIONS.where(edition.c.made_by == number).order_by(edition.c.id)
    return tuple(map(_edition, await reading.connection.execute(made)))


async def content(reading: Reading, edition_id: int) -> str | None:
    """What the version with this number says, as `gamefiles.as_json` wrote it."""
    query = select(edition.c.content).where(edition.c.id == edition_id)
    found: str | None = (await reading.connection.execute(query)).scalar_one_or_none()
    return found


async def labels(reading: Reading, server_id: int, name: str) -> tuple[Label, ...]:
    """All versions of a server's game in little, the oldest first."""
    query = select(edition.c.id, edition.c.version, edition.c.digest)
    query = query.where(edition.c.server_id == server_id, edition.c.game == name).order_by(edition.c.id)
    rows = await reading.connection.execute(query)
    return tuple(Label(row.id, row.version, row.digest) for row in rows)


async def listed(
    reading: Reading, server_id: int, name: str, before: int | None, most: int
) -> tuple[Edition, ...]:
    """At most so many versions of a server's game, the newest first: those before one of them where it is
    given."""
    query = _of(server_id, name).order_by(edition.c.id.desc()).limit(most)
    if before is not None:
        query = query.where(edition.c.id < before)
    return tuple(map(_edition, await reading.connection.execute(query)))


async def games_of(reading: Reading, server_id: int) -> int:
    """How many games a server has versions of."""
    query = select(func.count(edition.c.game.distinct())).where(edition.c.server_id == server_id)
    return int((await reading.connection.execute(query)).scalar_one())


async def used(reading: Reading, among: Collection[int] | None = None) -> tuple[Used, ...]:
    """The version of each game that each server uses, where it is not simply the host's present one; `among`:
    only of these servers, some hundreds at most."""
    query = select(game.c.server_id, game.c.game, edition.c.id, edition.c.version, edition.c.digest)
    query = query.join_from(game, edition)
    if among is not None:
        query = query.where(game.c.server_id.in_(among))
    rows = await reading.connection.execute(query)
    return tuple(Used(row.server_id, row.game, row.id, row.version, row.digest) for row in rows)


async def current(reading: Reading, server_id: int, name: str) -> int | None:
    """The number of the version that a server uses; None where it uses the host's present one."""
    query = select(game.c.edition_id).where(game.c.server_id == server_id, game.c.game == name)
    found: int | None = (await reading.connection.execute(query)).scalar_one_or_none()
    return found


async def set_current(writing: Writing, server_id: int, name: str, edition_id: int) -> None:
    """Has a server use this version of a game from now on."""
    await _enter_server(writing, server_id)
    values = {"server_id": server_id, "game": name, "edition_id": edition_id}
    statement = upsert(writing.dialect, game, ("server_id", "game"), replaced=("edition_id",))
    await writing.connection.execute(statement, values)


async def channels(reading: Reading, among: Collection[int] | None = None) -> tuple[ChannelGame, ...]:
    """All channels that are about another game than their server; `among`: only these, some hundreds at
    most."""
    query = select(channel) if among is None else select(channel).where(channel.c.id.in_(among))
    rows = await reading.connection.execute(query)
    return tuple(ChannelGame(row.id, row.server_id, row.game) for row in rows)


async def set_channel(writing: Writing, server_id: int, channel_id: int, name: str) -> None:
    """Has a channel be about this game."""
    await _enter_server(writing, server_id)
    values = {"id": channel_id, "server_id": server_id, "game": name}
    statement = upsert(writing.dialect, channel, ("id",), replaced=("server_id", "game"))
    await writing.connection.execute(statement, values)


async def drop_channel(writing: Writing, channel_id: int) -> None:
    """Has a channel be about its server's game again."""
    await writing.connection.execute(delete(channel).where(channel.c.id == channel_id))


async def _enter_server(writing: Writing, server_id: int) -> None:
    await writing.connection.execute(upsert(writing.dialect, server, ("id",)), {"id": server_id})


def _of(server_id: int, name: str) -> Select[Any]:
    return _EDITIONS.where(edition.c.server_id == server_id, edition.c.game == name)


async def _one(reading: Reading, query: Select[Any]) -> Edition | None:
    row = (await reading.connection.execute(query)).one_or_none()
    return _edition(row) if row is not None else None


def _edition(row: Found) -> Edition:
    return Edition(row.id, row.server_id, row.game, row.version, row.member_id, row.made_at, row.reason)
