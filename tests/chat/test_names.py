"""Members go by their names, and those who left are known to be gone."""

from __future__ import annotations

import discord
import pytest
from chat.world import Server, World

from bot.client import names as module
from bot.client.names import REMEMBERED_SECONDS, Names

MEMBERS = "/guilds/*/members/*"


def asked(world: World) -> int:
    """How often the platform was asked for a member."""
    return sum(sent.method == "GET" and "/members/" in sent.path for sent in world.env.http_requests)


def people(server: Server) -> list[int]:
    return [server.ann.id, server.bo.id, server.mod.id]


async def test_members_go_by_the_names_that_are_shown_in_the_server(world: World) -> None:
    salt, kite = world.salt, world.kite
    names = Names(world.bot)
    nan = salt.guild.add_member(world.env.create_user("nan", global_name="Nan"), nick="Nan of the Pier")
    kite.guild.add_member(nan.user)
    await world.env.settle()
    shown = await names.of(salt.guild.id, [nan.id, salt.ann.id])
    assert shown == {nan.id: "Nan of the Pier", salt.ann.id: "member-harbour"}
    assert await names.of(kite.guild.id, [nan.id]) == {nan.id: "Nan"}


async def test_who_is_no_member_is_left_out(world: World) -> None:
    salt, names = world.salt, Names(world.bot)
    salt.guild.remove_member(salt.bo)
    await world.env.settle()
    assert set(await names.of(salt.guild.id, people(salt))) == {salt.ann.id, salt.mod.id}
    assert await names.of(1, people(salt)) == {}
    assert await names.of(salt.guild.id, []) == {}


async def test_a_name_is_asked_for_once_an_hour(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    salt, names, seconds = world.salt, Names(world.bot), 5.0
    monkeypatch.setattr(module, "_seconds", lambda: seconds)
    first = await names.of(salt.guild.id, people(salt))
    assert asked(world) == 3
    seconds += REMEMBERED_SECONDS - 1
    assert await names.of(salt.guild.id, people(salt)) == first
    assert asked(world) == 3
    seconds += 1
    salt.guild.remove_member(salt.bo)
    await world.env.settle()
    assert set(await names.of(salt.guild.id, people(salt))) == {salt.ann.id, salt.mod.id}
    assert asked(world) == 6


async def test_only_so_many_are_remembered(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_REMEMBERED", 2)
    salt, names = world.salt, Names(world.bot)
    await names.of(salt.guild.id, people(salt)[:2])
    await names.of(salt.guild.id, people(salt)[:1])
    await names.of(salt.guild.id, people(salt)[2:])  # in place of the one that was looked up longest ago
    before = asked(world)
    await names.of(salt.guild.id, people(salt)[:1])
    assert asked(world) == before
    await names.of(salt.guild.id, people(salt)[1:2])
    assert asked(world) == before + 1


@pytest.mark.parametrize("status", [403, 503])
async def test_a_name_that_the_platform_does_not_tell_is_left_out_and_asked_for_anew(
    world: World, status: int
) -> None:
    salt, names = world.salt, Names(world.bot)
    world.env.inject_error("GET", f"/guilds/*/members/{salt.bo.id}", status=status)
    assert set(await names.of(salt.guild.id, people(salt))) == {salt.ann.id, salt.mod.id}
    assert set(await names.of(salt.guild.id, people(salt))) == set(people(salt))


async def test_who_left_is_known_to_be_gone_even_where_the_name_is_remembered(world: World) -> None:
    salt, names = world.salt, Names(world.bot)
    await names.of(salt.guild.id, [salt.bo.id])
    assert await names.is_here(salt.guild.id, salt.bo.id)
    salt.guild.remove_member(salt.bo)
    await world.env.settle()
    assert not await names.is_here(salt.guild.id, salt.bo.id)
    assert await names.of(salt.guild.id, [salt.bo.id]) == {}
    assert not await names.is_here(1, salt.ann.id)


async def test_nobody_is_taken_for_gone_because_the_platform_is_silent(world: World) -> None:
    salt, names = world.salt, Names(world.bot)
    world.env.inject_error("GET", MEMBERS, status=503, times=2)
    with pytest.raises(discord.HTTPException):
        await names.is_here(salt.guild.id, salt.ann.id)
    with pytest.raises(discord.HTTPException):
        await names.with_role(salt.guild.id, [salt.ann.id], salt.guild.default_role.id)


async def test_a_server_that_the_platform_has_lost_for_now_is_not_taken_for_left(world: World) -> None:
    guild = world.bot.get_guild(world.salt.guild.id)
    assert guild is not None
    guild.unavailable = True
    world.env.inject_error("GET", f"/guilds/{guild.id}", status=404, times=5)
    assert await Names(world.bot).are_we_in(guild.id)


async def test_members_with_a_role_are_told_from_the_others(world: World) -> None:
    salt, names = world.salt, Names(world.bot)
    role = salt.guild.create_role("Crew")
    crew = salt.guild.add_member(world.env.create_user("crew"), roles=[role])
    gone = salt.guild.add_member(world.env.create_user("gone"), roles=[role])
    salt.guild.remove_member(gone)
    await world.env.settle()
    everyone = [crew.id, gone.id, *people(salt)]
    assert await names.with_role(salt.guild.id, everyone, role.id) == (crew.id,)
    assert await names.with_role(salt.guild.id, everyone, 1) == ()
    assert await names.with_role(salt.guild.id, everyone, salt.guild.id) == (crew.id, *people(salt))
    assert await names.with_role(1, everyone, role.id) == ()
