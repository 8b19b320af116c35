"""The versions of a server's games: looked at, used again, downloaded; and the games of single channels."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from chat.faults import deliver_again, events_seen
from chat.gaming import (
    GAME,
    OTHER,
    STARTUP,
    faster,
    load,
    loaded,
    moves,
    plain,
    rules,
    startup_of,
    versions_of,
)
from chat.practice import everything, files_of, forge, picked, rows
from chat.world import World, labels_of

BACK, YES = "Back to 1.2", "Yes, use it"


async def opened(world: World, version: str) -> Any:
    """A version, picked from the list."""
    salt = world.salt
    shown = await salt.mod.slash(salt.channel, "game versions")
    (value,) = [one["value"] for one in picked(shown) if one["label"].startswith(f"{version}:")]
    return await salt.mod.select(shown.response, [value])


async def sent(answer: Any) -> dict[str, bytes]:
    """The files of an answer by their names."""
    return {one.filename: await one.read() for one in answer.response.attachments}


async def test_versions_are_listed_with_who_when_and_why(world: World) -> None:
    salt = world.salt
    await loaded(world, rules("1.3"), faster(), reason="the spring patch")
    shown = await salt.mod.slash(salt.channel, "game versions")
    assert shown.ephemeral
    said = plain(shown)
    assert "Saltglass is at version 1.3 here." in said
    assert f"1.3, which is used now: from {salt.mod.name}, 1 Jan 2026, “the spring patch”." in said
    assert "1.2: came with the bot, 1 Jan 2026." in said
    assert [one["label"].split(":")[0] for one in picked(shown)] == ["1.3, which is used now", "1.2"]


async def test_a_version_is_used_again_after_a_question_that_says_what_changes(world: World) -> None:
    salt = world.salt
    used = await loaded(world, rules("1.3"), faster())
    await world.restart()
    asked = await salt.mod.click(used.response, label=BACK)
    assert "Use version 1.2 of Saltglass again?" in plain(asked)
    assert "Odrun Vale's 5MP: startup is 6, was 5." in plain(asked)
    assert await startup_of(world) == "5"
    with events_seen(world.env) as seen:
        back = await salt.mod.click(asked.response, label=YES)
    assert "Saltglass is at version 1.2 again, for everybody in this server." in plain(back)
    assert await startup_of(world) == STARTUP
    assert versions_of(world, salt) == ["1.3"]  # nothing is deleted
    before = everything(world)
    for card, label in ((asked, YES), (used, BACK)):
        again = await salt.mod.click(card.response, label=label)
        assert "Version 1.2 is the one that is used already." in plain(again)
    await world.restart()
    await deliver_again(world.env, seen, "INTERACTION_CREATE")
    assert everything(world) == before
    assert await startup_of(world) == STARTUP


async def test_a_version_that_is_picked_can_be_used_or_downloaded(world: World) -> None:
    salt = world.salt
    await loaded(world, rules("1.3"), faster())
    await loaded(world, rules("1.4"), faster("4", "18"))
    one = await opened(world, "1.3")
    assert one.ephemeral
    assert "This is version 1.3 of Saltglass." in plain(one)
    assert labels_of(one) == ["Use this version", "Download", "Versions"]
    files = await salt.mod.click(one.response, label="Download")
    assert b'version = "1.3"' in (await sent(files))["game.toml"]
    asked = await salt.mod.click(one.response, label="Use this version")
    await salt.mod.click(asked.response, label=YES)
    assert await startup_of(world) == "5"
    shown = await salt.mod.slash(salt.channel, "game versions")
    assert "1.3, which is used now:" in plain(shown)
    assert "1.4: from" in plain(shown)


async def test_older_versions_are_on_the_next_page(world: World) -> None:
    salt = world.salt
    for number in range(12):
        await loaded(world, rules(f"2.{number}"), moves({("5MP", "damage"): str(500 + number)}))
    shown = await salt.mod.slash(salt.channel, "game versions")
    assert picked(shown)[0]["label"].startswith("2.11, which is used now:")
    assert len(picked(shown)) == 10
    older = await salt.mod.click(shown.response, label="Older ones")
    assert [one["label"].split(":")[0] for one in picked(older)] == ["2.1", "2.0", "1.2"]
    assert "Older ones" not in labels_of(older)


async def test_a_download_holds_what_is_used_and_can_be_sent_back(world: World) -> None:
    salt = world.salt
    await loaded(world, rules("1.3"), faster())
    shown = await salt.mod.slash(salt.channel, "game download")
    assert shown.ephemeral
    assert "Here is Saltglass, version 1.3." in plain(shown)
    assert files_of(shown) == ["game.toml", "moves.csv"]
    files = await sent(shown)
    table = list(csv.DictReader(io.StringIO(files["moves.csv"].decode("utf-8-sig"), newline="")))
    (row,) = [one for one in table if (one["character"], one["input"]) == ("Odrun Vale", "5MP")]
    assert row["startup"] == "5"
    back = await load(world, *files.items())
    assert "These files say what version 1.3 says already" in plain(back)
    old = await salt.mod.slash(salt.channel, "game download", version="1.2")
    assert b'version = "1.2"' in (await sent(old))["game.toml"]


async def test_versions_are_offered_as_they_are_typed_and_unknown_ones_refused(world: World) -> None:
    salt = world.salt
    await loaded(world, rules("1.3"), faster())
    offered = await salt.mod.autocomplete(salt.channel, "game download", "version", "")
    assert [one["value"] for one in offered] == ["1.3", "1.2"]
    refused = await salt.mod.slash(salt.channel, "game download", version="9.9 <@1> **x**")
    assert refused.ephemeral
    assert "There is no version “9.9 <@" in plain(refused)
    assert files_of(refused) == []


@pytest.mark.parametrize("act", ["use-edition", "use-edition-now", "download", "choose-game"])
async def test_a_version_of_another_server_does_not_exist_here(world: World, act: str) -> None:
    salt, kite = world.salt, world.kite
    await kite.mod.slash(kite.channel, "game choose", name=GAME)
    used = await loaded(world, rules("1.3"), faster())
    (edition,) = [row for row in rows(world, "edition") if row["server_id"] == salt.guild.id]
    card = await kite.mod.slash(kite.channel, "game versions")
    label = labels_of(card)[0]
    forge(world, kite.channel, card, f"m1|{act}|{edition['id']}")
    before = everything(world)
    refused = await kite.mod.click(card.response, label=label)
    assert "That version is not one of this server's" in plain(refused)
    assert everything(world) == before
    assert "1.3" in plain(used)


async def test_a_channel_has_a_game_of_its_own_until_it_is_taken_back(world: World) -> None:
    salt = world.salt
    chosen = await salt.mod.slash(salt.channel, "game choose", name="kitewind", channel=salt.other_channel)
    assert chosen.ephemeral
    assert "#talk asks about Kitewind." in plain(chosen)
    await world.restart()
    assert "Kitewind, version" in plain(await salt.ann.slash(salt.other_channel, "help"))
    assert "Saltglass, version" in plain(await salt.ann.slash(salt.channel, "help"))
    shown = plain(await salt.mod.slash(salt.other_channel, "game choose"))
    assert "This channel asks about Kitewind, the rest of the server about Saltglass." in shown
    for_all = plain(await salt.mod.slash(salt.channel, "game choose", name=OTHER))
    assert "This server asks about Kitewind." in for_all
    await salt.mod.slash(salt.channel, "game choose", name=GAME)
    back = await salt.mod.slash(salt.channel, "game choose", name="none", channel=salt.other_channel)
    assert "#talk asks about Saltglass." in plain(back)
    assert "Saltglass, version" in plain(await salt.ann.slash(salt.other_channel, "help"))
    assert rows(world, "channel") == []


async def test_a_game_for_a_channel_that_there_is_not_is_refused_with_those_that_are(world: World) -> None:
    salt = world.salt
    refused = await salt.mod.slash(salt.channel, "game choose", name="Saltglas", channel=salt.other_channel)
    assert refused.ephemeral
    assert "Nearest: Saltglass" in plain(refused)
    assert rows(world, "channel") == []


async def test_loading_in_a_channel_is_about_the_game_of_the_channel(world: World) -> None:
    salt = world.salt
    await salt.mod.slash(salt.channel, "game choose", name=OTHER, channel=salt.other_channel)
    await loaded(world, rules("1.3"), faster())
    shown = await salt.mod.slash(salt.other_channel, "game versions")
    assert "Kitewind is at version" in plain(shown)
    assert "1.3" not in plain(shown)
    offered = await salt.mod.autocomplete(salt.other_channel, "game edit", "character", "")
    assert "Odrun Vale" not in [one["value"] for one in offered]


async def test_a_game_to_begin_with_can_be_filled_in_and_loaded(world: World) -> None:
    salt = world.salt
    shown = await salt.mod.slash(salt.channel, "game template")
    assert shown.ephemeral
    assert files_of(shown) == ["game.toml", "moves.csv", "columns.md"]
    assert "columns.md says what each column may hold; it is for you to read" in plain(shown)
    files = await sent(shown)
    del files["columns.md"]
    assert "can be used: a new game for this server." in plain(await load(world, *files.items()))
