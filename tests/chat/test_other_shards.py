"""What a process does for servers whose events come to another one: all by asking the platform."""

from __future__ import annotations

from dataclasses import replace

import discord
import pytest
from chat.test_drills import WEEK_SECONDS, log, opened, post_of, refreshed
from chat.test_poster import HOUR, MARKER, card, poster
from chat.world import Server, World, answers_in, text_of

from bot.client.names import Names
from bot.client.shards import Shards
from bot.ports import NotReadableError
from bot.results.tally import Notation
from bot.services.leaving import GRACE

DAY_SECONDS = 24 * 3600


async def elsewhere(world: World) -> None:
    """Another process takes over, which does not hold the first server's shard."""
    other = 1 - Shards(0, 1, 2).of(world.salt.guild.id)
    await world.restart(Shards(other, other, 2))
    assert world.bot.get_guild(world.salt.guild.id) is None
    assert not world.bot.shards_held.holds(world.salt.guild.id)


def people(server: Server) -> list[int]:
    return [server.ann.id, server.bo.id]


async def test_the_recap_of_a_drill_is_posted_with_its_names_and_its_spelling(world: World) -> None:
    salt, book = world.salt, world.bot.book
    await book.set_server(salt.guild.id, replace(book.server(salt.guild.id), notation=Notation.LETTERS))
    post = await opened(world)
    joined = await salt.ann.click(post, label="Join")
    await log(salt.ann, post, "8/10")
    await salt.ann.click(joined.response, label="Show my name")
    before = await refreshed(world)
    assert salt.ann.name in before
    await elsewhere(world)
    await world.env.advance_time(WEEK_SECONDS)
    recap, closed = answers_in(salt.other_channel, world.bot)[-1], post_of(world)
    assert recap.id != closed.id
    for said in (text_of(recap), text_of(closed)):
        assert salt.ann.name in said
        assert "st.MP, cr.MP" in said


async def test_members_and_servers_go_by_their_names(world: World) -> None:
    salt = world.salt
    await elsewhere(world)
    names = Names(world.bot)
    assert await names.of(salt.guild.id, people(salt)) == {
        salt.ann.id: salt.ann.name,
        salt.bo.id: salt.bo.name,
    }
    assert await names.server(salt.guild.id) == "Harbour"
    assert await names.is_here(salt.guild.id, salt.ann.id)
    assert await names.with_role(salt.guild.id, people(salt), salt.guild.default_role.id) == tuple(
        people(salt)
    )


async def test_a_server_that_is_told_of_by_nobody_is_not_taken_for_left(world: World) -> None:
    salt = world.salt
    await elsewhere(world)
    names = Names(world.bot)
    world.env.inject_error("GET", f"/guilds/{salt.guild.id}", status=503, times=5)
    with pytest.raises(discord.HTTPException):
        await names.are_we_in(salt.guild.id)
    with pytest.raises(discord.HTTPException):
        await names.is_here(salt.guild.id, salt.ann.id)
    with pytest.raises(discord.HTTPException):
        await names.with_role(salt.guild.id, people(salt), salt.guild.default_role.id)
    assert await names.of(salt.guild.id, people(salt)) == {}
    assert await names.server(salt.guild.id) is None
    assert await names.are_we_in(salt.guild.id)
    assert not await names.are_we_in(1)


async def test_a_server_of_another_process_is_not_forgotten(world: World) -> None:
    """Not even where it had left, and came back, and the one that holds it has not said so."""
    salt = world.salt
    await opened(world)
    await world.bot.leaving.left(salt.guild.id)
    await elsewhere(world)
    await world.env.advance_time((GRACE.days + 1) * DAY_SECONDS)
    assert await world.bot.drill_boards.board(1) is not None


async def test_a_post_is_found_again_and_changed(world: World) -> None:
    salt = world.salt
    await elsewhere(world)
    posts, channel = poster(world), salt.channel.id
    message_id = await posts.post(channel, MARKER, card())
    since = world.env.now() - HOUR
    assert await posts.find(channel, MARKER, since) == message_id
    assert await posts.edit(channel, message_id, MARKER, card())
    assert await posts.find(1, MARKER, since) is None


async def test_a_channel_whose_history_is_closed_to_us_is_known_for_that(world: World) -> None:
    """The platform would say that it is empty, and a post that stands there would be posted once more."""
    salt = world.salt
    closed = salt.guild.create_text_channel(
        "closed",
        overwrites={salt.guild.default_role: discord.PermissionOverwrite(read_message_history=False)},
    )
    await elsewhere(world)
    with pytest.raises(NotReadableError):
        await poster(world).find(closed.id, MARKER, world.env.now() - HOUR)
