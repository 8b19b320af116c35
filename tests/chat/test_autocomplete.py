"""Completing what is typed: moves, characters, what a move did, games."""

from __future__ import annotations

import logging
from typing import Any

import pytest
from chat.world import World, text_of
from net import error_records

HOSTILE = [
    "",
    " ",
    "x" * 100,
    "\u202e5MP",
    "\u200b",
    "@everyone",
    "<@1>",
    "**",
    "[a](http://b.c)",
    "\\",
    "5MP\n",
]

# command, option, options filled already, typed, the first offered value
OFFERED: list[tuple[str, str, str, dict[str, Any], str, str]] = [
    ("Saltglass", "move", "move", {"character": "Odrun"}, "5m", "5MP"),
    ("Saltglass", "link", "second", {"character": "Odrun"}, "crouching medium punch", "2MP"),
    ("Saltglass", "punish", "move", {"their_character": "Mirrel"}, "long wave", "236HK"),
    ("Saltglass", "link", "character", {}, "gar", "Garrow Thrupp"),
    ("Saltglass", "punish", "my_character", {}, "Ninet", "Ninnet Sprae"),
    ("Saltglass", "follow", "on", {}, "cou", "counter hit"),
    ("Saltglass", "character", "name", {}, "od", "Odrun Vale"),
    ("Saltglass", "character", "controls", {}, "one", "one-button"),
    ("Kitewind", "gap", "first", {"character": "Ossily"}, "book", "6H"),
    ("Kitewind", "cancel", "on", {}, "bl", "block"),
    ("Kitewind", "move", "character", {}, "dap", "Dapple Reeve"),
]


@pytest.mark.parametrize(("game", "command", "option", "filled", "typed", "first"), OFFERED)
async def test_the_likeliest_is_offered_first(
    world: World, game: str, command: str, option: str, filled: dict[str, Any], typed: str, first: str
) -> None:
    server = world.servers[game]
    offered = await server.ann.autocomplete(server.channel, command, option, typed, **filled)
    assert offered[0]["value"] == first


async def test_no_more_than_25_are_offered_and_each_is_a_move_of_the_character(world: World) -> None:
    salt = world.salt
    offered = await salt.ann.autocomplete(salt.channel, "move", "move", "", character="Odrun")
    assert len(offered) == 25
    assert offered[0] == {"name": "5LP: wick pinch", "value": "5LP"}


async def test_what_is_offered_in_one_server_is_of_its_game(world: World) -> None:
    for server, has, lacks in (
        (world.salt, "Odrun Vale", "Dapple Reeve"),
        (world.kite, "Dapple Reeve", "Odrun Vale"),
    ):
        offered = await server.ann.autocomplete(server.channel, "move", "character", "")
        names = [one["value"] for one in offered]
        assert has in names
        assert lacks not in names


async def test_the_members_own_character_narrows_what_is_offered(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "character", name="Mirrel")
    mine = await salt.ann.autocomplete(salt.channel, "move", "move", "5MP")
    assert mine[0]["name"] == "5MP: net cast"


@pytest.mark.parametrize("typed", HOSTILE)
async def test_nothing_that_is_typed_breaks_it(world: World, typed: str) -> None:
    salt = world.salt
    for command, option in (("move", "move"), ("link", "character"), ("follow", "on"), ("character", "name")):
        await salt.ann.autocomplete(salt.channel, command, option, typed)


async def test_moderators_are_offered_the_games(world: World) -> None:
    offered = await world.salt.mod.autocomplete(world.salt.channel, "game choose", "name", "kite")
    assert offered[0]["value"] == "Kitewind"


async def test_what_is_typed_without_picking_is_read_all_the_same(world: World) -> None:
    salt = world.salt
    picked = await salt.ann.slash(salt.channel, "move", move="236HK", character="Mirrel Quay")
    typed = await salt.ann.slash(salt.channel, "move", move="long wave skim", character="mirrel")
    assert text_of(picked) == text_of(typed)


async def test_an_error_while_completing_offers_nothing_and_is_noted(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(world.bot.desk, "complete_character", broken)
    with error_records("bot.client.policy") as records:
        offered = await world.salt.ann.autocomplete(world.salt.channel, "move", "character", "o")
    assert offered == []
    assert [record.levelno for record in records] == [logging.ERROR]
    assert "autocomplete move.character" in records[0].getMessage()
    assert records[0].exc_info
