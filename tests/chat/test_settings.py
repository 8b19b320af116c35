"""What members and moderators choose, and that it stays chosen."""

from __future__ import annotations

import pytest
import simcord
from chat.practice import log, picked, rows
from chat.world import World, text_of


async def test_what_was_chosen_outlives_a_restart(world: World) -> None:
    salt, kite = world.salt, world.kite
    await salt.ann.slash(salt.channel, "character", name="odrun", controls="one-button")
    await salt.ann.slash(salt.channel, "goal", share="70 %")
    await salt.mod.slash(salt.channel, "zone", name="Asia/Tokyo")
    await salt.mod.slash(salt.channel, "game choose", name="Saltglass")
    await world.restart()
    character = text_of(await salt.ann.slash(salt.channel, "character"))
    assert "Odrun Vale" in character
    assert "one-button" in character
    assert "Asia/Tokyo" in text_of(await salt.mod.slash(salt.channel, "zone"))
    assert "This server asks about Saltglass." in text_of(await salt.mod.slash(salt.channel, "game choose"))
    assert "This server asks about Kitewind." in text_of(await kite.mod.slash(kite.channel, "game choose"))
    kept = text_of(await salt.ann.slash(salt.channel, "mydata show"))
    assert "Your goal: 70 %." in kept
    assert "Odrun Vale" in kept
    assert "Nothing yet." in text_of(await salt.bo.slash(salt.channel, "mydata show"))


@pytest.mark.parametrize("share", ["80", "80 %", "80%", "0.8", ".8"])
async def test_a_goal_may_be_typed_as_one_likes(world: World, share: str) -> None:
    told = await world.salt.ann.slash(world.salt.channel, "goal", share=share)
    assert told.ephemeral
    assert "Your goal is 80 %" in text_of(told)


async def test_a_goal_that_is_none_is_refused_and_the_one_before_stays(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "goal", share="70")
    for share in ("49", "100", "-70", "all", "7/10", " ", "9" * 500, "nan"):
        refused = await salt.ann.slash(salt.channel, "goal", share=share)
        assert refused.ephemeral
        assert "is no goal I can take" in text_of(refused), share
    assert "Your goal: 70 %." in text_of(await salt.ann.slash(salt.channel, "mydata show"))
    assert [one["goal"] for one in rows(world, "member") if one["goal"]] == [0.7]


async def test_times_are_told_and_read_in_the_servers_zone(world: World) -> None:
    """The simulator's clock begins at midnight in UTC."""
    salt = world.salt
    await salt.mod.slash(salt.channel, "zone", name="asia/tokyo")
    await log(salt.ann, salt.channel, when="2026-01-01 08:30")
    assert [str(one["made_at"])[:16] for one in rows(world, "tally")] == ["2025-12-31 23:30"]
    shown = await salt.ann.slash(salt.channel, "tallies")
    one = await salt.ann.select(shown.response, [picked(shown)[0]["value"]])
    assert "1 Jan 2026, 08:30" in text_of(one)


async def test_only_moderators_choose_the_zone_and_only_one_that_there_is(world: World) -> None:
    salt = world.salt
    assert "zone" not in salt.ann.available_commands(salt.channel)
    with pytest.raises(simcord.SetupError):
        await salt.ann.slash(salt.channel, "zone", name="Asia/Tokyo")
    for name in ("lisbon", "Nowhere/At_All", "../etc/passwd", "", "x" * 1_000, "@everyone"):
        refused = await salt.mod.slash(salt.channel, "zone", name=name)
        assert refused.ephemeral
        assert "There is no time zone" in text_of(refused), name
    assert "UTC" in text_of(await salt.mod.slash(salt.channel, "zone"))
    offered = await salt.mod.autocomplete(salt.channel, "zone", "name", "lisb")
    assert offered[0]["value"] == "Europe/Lisbon"


async def test_controller_and_controls_are_remembered_from_one_tally_to_the_next(world: World) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel, controller="stick", controls="one-button")
    await world.restart()
    await log(salt.ann, salt.channel)
    kept = [(one["controller"], one["controls"]) for one in rows(world, "tally")]
    assert kept == [("stick", "one-button")] * 2
