"""Weekly drills over a change of the clocks, restarts at random moments, and many members at once."""

from __future__ import annotations

import random
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from chat.practice import rows, tallies_of
from chat.world import Server, World, answers_in, labels_of, text_of

from bot.results.tally import ServerSettings
from bot.services.access import Standing

ZONES = {"Saltglass": "Europe/Berlin", "Kitewind": "America/New_York"}
BEGIN = datetime(2026, 3, 2, 6, tzinfo=ZoneInfo("UTC"))
"""A Monday: the clocks of New York change on the 8th, those of Berlin on the 29th (IANA, 2026)."""
TASKS = ("drill: anti-airs", "drill: throws", "drill: parries")


def coach(server: Server) -> Any:
    return server.by_standing[Standing.COACH]


def posts_of(world: World, server: Server) -> list[Any]:
    return answers_in(server.other_channel, world.bot)


def open_posts(world: World, server: Server) -> list[Any]:
    return [post for post in posts_of(world, server) if "Log a tally" in labels_of(post)]


def recaps_of(world: World, server: Server) -> list[Any]:
    return [post for post in posts_of(world, server) if "What did we do together?" in text_of(post)]


async def log_on(world: World, server: Server, result: str) -> None:
    (post,) = open_posts(world, server)
    shown = await server.ann.click(post, label="Log a tally")
    await server.ann.submit_modal(shown, {"result": result})


@pytest.mark.parametrize("seed", [1, 2])
async def test_four_weeks_of_a_series_in_two_zones_survive_restarts_and_the_clocks(
    world: World, seed: int
) -> None:
    chance = random.Random(seed)
    await world.env.advance_time((BEGIN - world.clock.now()).total_seconds())
    for game, server in world.servers.items():
        kept = world.bot.book.server(server.guild.id)
        zoned = ServerSettings(kept.game, ZONES[game], coach_role=kept.coach_role)
        await world.bot.book.set_server(server.guild.id, zoned)
        for what in TASKS:
            await coach(server).slash(server.channel, "drill plan", what=what, scoring="total-clean")
        await coach(server).slash(
            server.channel, "drill weekly", day=1, time="18:00", channel=server.other_channel
        )
    await world.env.settle()
    landed = [chance.randrange(1, 11) for _ in range(4)]
    for week, result in enumerate(landed):
        for server in world.servers.values():
            assert len(open_posts(world, server)) == 1
            assert len(recaps_of(world, server)) == week
            await log_on(world, server, f"{result}/10")
        left = timedelta(days=7)
        if chance.random() < 0.7:
            away = timedelta(hours=chance.randrange(1, 160))
            await world.env.advance_time(away.total_seconds())
            await world.restart()
            left -= away
        if week == 0:
            left += timedelta(days=1)  # from a Monday's morning the first one runs to the next Monday evening
        await world.env.advance_time(left.total_seconds())
    for game, server in world.servers.items():
        assert len(open_posts(world, server)) == 1
        assert len(recaps_of(world, server)) == 4
        drills = [one for one in rows(world, "drill") if one["server_id"] == server.guild.id]
        assert len(drills) == 5
        for one in drills:
            closes = datetime.fromisoformat(str(one["closes_at"]))
            at = closes.replace(tzinfo=closes.tzinfo or ZoneInfo("UTC")).astimezone(ZoneInfo(ZONES[game]))
            assert (at.isoweekday(), at.hour, at.minute) == (1, 18, 0)
        for recap, result in zip(recaps_of(world, server), landed, strict=True):
            reps = "1 rep" if result == 1 else f"{result} reps"
            assert f"{reps} landed in 10 tries" in text_of(recap)
        assert [one["landed"] for one in tallies_of(world, server.ann)] == landed


async def test_two_hundred_members_log_at_once_and_the_post_ends_right(world: World) -> None:
    salt = world.salt
    given = {"what": "drill: anti-airs", "scoring": "total-clean", "channel": salt.other_channel}
    await coach(salt).slash(salt.channel, "drill open", **given)
    await world.env.settle()
    (post,) = posts_of(world, salt)
    members = [salt.guild.add_member(world.env.create_user(f"crowd{number}")) for number in range(200)]
    await world.env.settle()

    for number, member in enumerate(members):  # the simulated clock stands still meanwhile
        shown = await member.click(post, label="Log a tally")
        await member.submit_modal(shown, {"result": f"{1 + number % 50}/50"})
    assert len(rows(world, "drill_tally")) == 200
    await world.env.advance_time(75)
    (post,) = posts_of(world, salt)
    assert "200 more take part" in text_of(post)
    await world.env.advance_time(8 * 86_400)
    *_, recap = posts_of(world, salt)
    assert "5100 reps landed in 10000 tries" in text_of(recap).replace(",", "").replace(" ", " ")
