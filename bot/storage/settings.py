"""What members and servers chose. They are few and small: they are all read at the start."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import select, tuple_

from bot.results.place import Owner
from bot.results.tally import MemberSettings, ServerSettings
from bot.storage.base import upsert
from bot.storage.rows import enter, is_of, member_settings, member_values, server_settings, server_values
from bot.storage.schema import member, server
from bot.storage.store import Reading, Writing


async def all_members(
    reading: Reading, among: Collection[Owner] | None = None
) -> dict[Owner, MemberSettings]:
    """The settings of each member of whom anything is kept, those who came first first. `among`: of some
    hundreds at most, only of these."""
    query = select(member).order_by(member.c.id)
    if among is not None:
        pairs = [(owner.server_id, owner.member_id) for owner in among]
        query = query.where(tuple_(member.c.server_id, member.c.member_id).in_(pairs))
    return {
        Owner(row.server_id, row.member_id): member_settings(row)
        for row in await reading.connection.execute(query)
    }


async def all_servers(reading: Reading, among: Collection[int] | None = None) -> dict[int, ServerSettings]:
    """The settings of each server that chose any. `among`: of some hundreds at most, only of these."""
    query = select(server)
    if among is not None:
        query = query.where(server.c.id.in_(among))
    found = {row.id: server_settings(row) for row in await reading.connection.execute(query)}
    return {server_id: settings for server_id, settings in found.items() if settings != ServerSettings()}


async def of_member(reading: Reading, owner: Owner) -> MemberSettings:
    """What this member chose, as it is stored."""
    row = (await reading.connection.execute(select(member).where(is_of(owner)))).one_or_none()
    return member_settings(row) if row is not None else MemberSettings()


async def set_member(writing: Writing, owner: Owner, settings: MemberSettings) -> None:
    """Keeps a member's settings in place of those before."""
    number = await enter(writing, owner)
    chosen = member.update().where(member.c.id == number).values(member_values(settings))
    await writing.connection.execute(chosen)


async def set_server(writing: Writing, server_id: int, settings: ServerSettings) -> None:
    """Keeps a server's settings in place of those before."""
    chosen = server_values(settings)
    await writing.connection.execute(
        upsert(writing.dialect, server, ("id",), replaced=tuple(chosen)), {"id": server_id, **chosen}
    )
