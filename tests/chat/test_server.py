"""/server health, audit and keep, and what becomes of a server that sends the bot away."""

from __future__ import annotations

from typing import Any

import discord
import pytest
from chat.lessons import coached, given, morning, plain
from chat.practice import EVERYTHING, everything, log, picked, rows, tallies_of
from chat.world import Server, World, labels_of

from bot.results.setup import Need
from bot.results.tally import ServerSettings
from bot.services.access import Standing
from bot.services.leaving import GRACE

DAY_SECONDS = 24 * 3600
LINKS = {"Saltglass": "Odrun: 5MP, 2MP", "Kitewind": "Marrable: 5M, 2M"}


async def health(server: Server) -> Any:
    return await server.mod.slash(server.channel, "server health")


async def test_where_all_is_allowed_that_is_said_with_what_each_channel_is_for(world: World) -> None:
    salt = world.salt
    await salt.mod.slash(salt.channel, "coaches", notices=salt.other_channel)
    shown = await health(salt)
    assert shown.ephemeral
    assert "I am allowed all that I need in Harbour" in plain(shown)
    assert "#talk (notices): all is well." in plain(shown)
    assert "#frames (where you ask): all is well." in plain(shown)
    assert "applications.commands" in plain(shown)


@pytest.mark.parametrize("need", list(Need))
async def test_each_permission_that_is_missing_is_named_with_how_to_grant_it(
    world: World, need: Need
) -> None:
    salt = world.salt
    closed = salt.guild.create_text_channel(
        "closed", overwrites={salt.guild.default_role: discord.PermissionOverwrite(**{need.value: False})}
    )
    settings = ServerSettings(notice_channel=closed.id, patch_channel=closed.id)
    await world.bot.book.set_server(salt.guild.id, settings)
    said = plain(await health(salt))
    assert "I am not allowed all that I need in Harbour: 1 to mend." in said
    assert "#closed (notices, patch days): I may not" in said
    words = need.value.replace("_", " ").title()
    assert f"allow: {words}" in said if need is not Need.VIEW else "View Channel" in said


async def test_channels_of_drills_are_looked_at_and_channels_and_roles_that_are_gone_are_told(
    world: World,
) -> None:
    salt = world.salt
    coach = salt.by_standing[Standing.COACH]
    asked = {"what": "Odrun: 5MP, 2MP", "scoring": "best-tally"}
    await coach.slash(salt.channel, "drill open", **asked, channel=salt.other_channel)
    await world.bot.book.set_server(salt.guild.id, ServerSettings(coach_role=1, notice_channel=2))
    said = plain(await health(salt))
    assert "#talk (a drill): all is well." in said
    assert "The channel for notices is gone" in said
    assert "Coaches is gone: choose anew." in said
    assert ": 2 to mend." in said
    assert "/server settings chooses another channel or role" in said


async def test_it_is_looked_at_again_in_place(world: World) -> None:
    salt = world.salt
    shown = await health(salt)
    again = await salt.mod.click(shown.response, label="Check my permissions")
    assert again.response.id == shown.response.id


async def test_the_list_of_deeds_names_who_did_what_and_turns_its_pages(world: World) -> None:
    salt = world.salt
    assert "Nobody has changed anything here yet" in plain(await salt.mod.slash(salt.channel, "server audit"))
    await salt.mod.slash(salt.channel, "zone", name="Asia/Tokyo")
    await coached(world, salt, salt.ann)
    await given(salt, salt.ann)
    shown = await salt.mod.slash(salt.channel, "server audit")
    assert shown.ephemeral
    said = plain(shown)
    assert "coach-harbour: set the homework Odrun Vale: 5MP, 2MP." in said
    assert "coach-harbour: asked a member to be their student." in said
    assert "moderator-harbour: chose the time zone Asia/Tokyo." in said
    assert "09:00" in said, "on the server's clocks"
    assert salt.ann.name not in said
    for number in range(15):
        await salt.mod.slash(salt.channel, "zone", name=["Asia/Seoul", "Asia/Tokyo"][number % 2])
    shown = await salt.mod.slash(salt.channel, "server audit")
    assert "set the homework" not in plain(shown)
    older = await salt.mod.click(shown.response, label="Older ones")
    assert "set the homework" in plain(older)
    assert "Older ones" not in labels_of(older)
    there = plain(await world.kite.mod.slash(world.kite.channel, "server audit"))
    assert "Asia/Tokyo" not in there, "another server's list has none of it"


async def test_roles_and_channels_are_named_as_they_are_now(world: World) -> None:
    salt = world.salt
    role = salt.guild.create_role("Trainers")
    await salt.mod.slash(salt.channel, "coaches", role=role, notices=salt.other_channel)
    said = plain(await salt.mod.slash(salt.channel, "server audit"))
    assert "chose the coaches' role Trainers." in said
    assert "chose the channel #talk for notices." in said


async def test_who_erased_their_data_is_not_named_any_more(world: World) -> None:
    salt = world.salt
    await salt.mod.slash(salt.channel, "zone", name="Asia/Tokyo")
    asked = await salt.mod.slash(salt.channel, "mydata erase")
    await salt.mod.click(asked.response, label="Yes, erase everything")
    said = plain(await salt.mod.slash(salt.channel, "server audit"))
    assert "someone who left: chose the time zone Asia/Tokyo." in said


async def test_deleting_old_tallies_is_asked_first_and_done_in_the_night(world: World) -> None:
    salt, kite = world.salt, world.kite
    for server in (salt, kite):
        for day in ("2025-09-01", "2025-12-30"):
            await log(server.ann, server.channel, LINKS[server.game], when=day)
    assert "kept for ever" in plain(await salt.mod.slash(salt.channel, "server keep"))
    asked = await salt.mod.slash(salt.channel, "server keep", days=90)
    assert "Shall tallies be kept 90 days only? 1 tally would be deleted for good." in plain(asked)
    await world.env.advance_time(DAY_SECONDS)
    assert len(tallies_of(world, salt.ann)) == 2, "asking deletes nothing"
    chosen = await salt.mod.click(asked.response, label="Yes, delete what is older")
    assert "Tallies are kept 90 days here." in plain(chosen)
    await world.env.advance_time(DAY_SECONDS)
    assert len(tallies_of(world, salt.ann)) == 1
    assert len(tallies_of(world, kite.ann)) == 2, "another server keeps what it has"
    assert len(picked(await salt.ann.slash(salt.channel, "tallies"))) == 1
    both = plain(await salt.mod.slash(salt.channel, "server keep", days=90, for_ever=True))
    assert "Both at once cannot be" in both
    assert "Tallies are kept 90 days" in plain(await salt.mod.slash(salt.channel, "server keep"))
    assert "kept for ever" in plain(await salt.mod.slash(salt.channel, "server keep", for_ever=True))


async def test_the_night_after_a_restart_is_a_night_like_any_other(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, when="2025-09-01")
    asked = await salt.mod.slash(salt.channel, "server keep", days=90)
    await salt.mod.click(asked.response, label="Yes, delete what is older")
    await world.restart()
    await world.env.advance_time(DAY_SECONDS)
    assert tallies_of(world, salt.ann) == []


def of_server(world: World, server_id: int) -> dict[str, list[dict[str, Any]]]:
    """Every row that names a server, or a member of it."""
    people = [one["id"] for one in rows(world, "member") if one["server_id"] == server_id]
    return {
        table: [
            row
            for row in rows(world, table)
            if row.get("server_id") == server_id
            or row.get("owner_id") in people
            or (table == "server" and row["id"] == server_id)
        ]
        for table in EVERYTHING
    }


async def lived_in(world: World, server: Server) -> None:
    """A server in which much was done."""
    coach = server.by_standing[Standing.COACH]
    link = LINKS[server.game]
    await log(server.ann, server.channel, what=link)
    await server.ann.slash(server.channel, "route save", moves=link, name="bread")
    await server.ann.slash(server.channel, "route share", name="bread")
    await coach.slash(server.channel, "drill open", what=link, scoring="best-tally")
    await coach.slash(server.channel, "drill plan", what=link, scoring="best-tally")
    await coached(world, server, server.ann)
    await server.mod.slash(server.channel, "zone", name="Asia/Tokyo")
    await morning(world)


async def test_a_server_that_sends_the_bot_away_is_forgotten_after_thirty_days(world: World) -> None:
    salt, kite = world.salt, world.kite
    await lived_in(world, salt)
    await lived_in(world, kite)
    world.env.backend.remove_guild(salt.guild.id)
    await world.env.settle()
    others = of_server(world, kite.guild.id)
    assert all(others[table] for table in ("tally", "route", "library", "drill", "exercise", "audit"))
    await world.env.advance_time((GRACE.days - 1) * DAY_SECONDS)
    assert of_server(world, salt.guild.id)["member"], "it may come back"
    await world.env.advance_time(2 * DAY_SECONDS)
    assert not any(of_server(world, salt.guild.id).values())
    assert world.bot.book.server(salt.guild.id) == ServerSettings()
    after = of_server(world, kite.guild.id)
    for table in ("tally", "subject", "total", "route", "library", "coaching", "audit", "member"):
        assert after[table] == others[table], table


async def test_a_server_that_takes_the_bot_back_in_time_keeps_everything(world: World) -> None:
    salt = world.salt
    await lived_in(world, salt)
    kept = of_server(world, salt.guild.id)["tally"]
    await world.bot.leaving.left(salt.guild.id)
    guild = world.bot.get_guild(salt.guild.id)
    assert guild is not None
    await world.bot.on_guild_join(guild)
    await world.env.advance_time((GRACE.days + 1) * DAY_SECONDS)
    assert of_server(world, salt.guild.id)["tally"] == kept


async def test_a_server_that_the_bot_is_in_is_never_forgotten_whatever_it_was_told(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel)
    await world.bot.leaving.left(salt.guild.id)
    await world.env.advance_time((GRACE.days + 1) * DAY_SECONDS)
    assert len(tallies_of(world, salt.ann)) == 1


async def test_a_server_that_left_while_the_bot_was_away_is_found_out_at_the_start(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel)
    before = everything(world)["tally"]
    await world.bot.leaving.left(world.kite.guild.id)  # and that one came back, unseen
    world.env.backend.guilds.pop(salt.guild.id)
    await world.restart()
    await world.env.settle()
    waiting = [one["key"] for one in rows(world, "job") if one["kind"] == "forget-server"]
    assert waiting == [f"forget-server:{salt.guild.id}"]
    assert everything(world)["tally"] == before
