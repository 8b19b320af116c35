"""Every command as members use it, in a server of each game."""

from __future__ import annotations

from typing import Any

import pytest
from chat.world import World, labels_of, text_of

# game, command, options, what the answer begins with, what else stands in it
ANSWERED: list[tuple[str, str, dict[str, Any], str, str]] = [
    ("Saltglass", "ask", {"question": "does Garrow's 5MP link into 2MP?"}, "### ", "5MP"),
    ("Saltglass", "move", {"move": "236HK", "character": "Mirrel"}, "### ", "long wave skim"),
    ("Saltglass", "link", {"first": "5MP", "second": "2MP", "character": "Odrun"}, "### ", "2MP"),
    ("Saltglass", "cancel", {"first": "5MP", "second": "236LP", "character": "Odrun"}, "### ", "236LP"),
    ("Saltglass", "gap", {"first": "5MP", "second": "2MP", "character": "Odrun", "late": 2}, "### ", "2MP"),
    ("Saltglass", "punish", {"move": "236HK", "their_character": "Mirrel"}, "### ", "236HK"),
    ("Saltglass", "follow", {"move": "5HP", "character": "Odrun", "on": "counter hit"}, "### ", "5HP"),
    ("Kitewind", "ask", {"question": "is Ossily's 2H safe?"}, "### ", "2H"),
    ("Kitewind", "move", {"move": "book fold", "character": "Ossily Fenn"}, "### ", "6H"),
    ("Kitewind", "link", {"first": "5M", "second": "2M", "character": "Marrable"}, "### ", "5M"),
    ("Kitewind", "cancel", {"first": "5M", "second": "236M", "character": "Corbet"}, "### ", "236M"),
    ("Kitewind", "gap", {"first": "5L", "second": "5M", "character": "Dapple"}, "### ", "5L"),
    (
        "Kitewind",
        "punish",
        {"move": "2H", "their_character": "Corbet", "my_character": "Dapple"},
        "### ",
        "2H",
    ),
    ("Kitewind", "follow", {"move": "5M", "character": "Marrable"}, "### ", "5M"),
]


@pytest.mark.parametrize(("game", "command", "options", "begins", "holds"), ANSWERED)
async def test_a_question_is_answered_in_public_with_the_games_version(
    world: World, game: str, command: str, options: dict[str, Any], begins: str, holds: str
) -> None:
    server = world.servers[game]
    result = await server.ann.slash(server.channel, command, **options)
    said = text_of(result).strip()
    assert result.response is not None
    assert not result.ephemeral
    assert said.startswith(begins)
    assert holds in said
    assert f"{game}, version " in said


async def test_an_answer_says_what_its_link_says_on_the_command_line(world: World) -> None:
    options = {"first": "5MP", "second": "2MP", "character": "Odrun"}
    linked = await world.salt.ann.slash(world.salt.channel, "link", **options)
    asked = await world.salt.ann.slash(world.salt.channel, "ask", question="does Odrun's 5MP link into 2MP?")
    assert text_of(linked) == text_of(asked)


async def test_a_state_that_is_typed_changes_the_answer(world: World) -> None:
    said = {}
    for on in ("hit", "block", "counter hit", "ON COUNTER HIT"):
        result = await world.salt.ann.slash(
            world.salt.channel, "link", first="5MP", second="2MP", on=on, character="Odrun"
        )
        said[on] = text_of(result)
    assert said["counter hit"] == said["ON COUNTER HIT"]
    assert len({said["hit"], said["block"], said["counter hit"]}) == 3


async def test_a_touch_that_the_game_does_not_have_is_refused_in_private(world: World) -> None:
    result = await world.kite.ann.slash(
        world.kite.channel, "link", first="5M", second="2M", on="off balance", character="Marrable"
    )
    assert result.ephemeral
    assert "it can be hit, block, whiff, counter hit" in text_of(result)


async def test_the_gap_grows_with_the_frames_that_the_second_move_is_late(world: World) -> None:
    options = {"first": "5MP", "second": "2MP", "character": "Odrun"}
    at_once = await world.salt.ann.slash(world.salt.channel, "gap", **options)
    later = await world.salt.ann.slash(world.salt.channel, "gap", late=3, **options)
    assert text_of(at_once) != text_of(later)


@pytest.mark.parametrize("game", ["Saltglass", "Kitewind"])
async def test_help_shows_questions_that_work_here(world: World, game: str) -> None:
    server = world.servers[game]
    shown = await server.ann.slash(server.channel, "help")
    assert shown.ephemeral
    examples = [line[2:] for line in text_of(shown).splitlines() if line.startswith("- ") and "?" in line][:3]
    assert len(examples) == 3
    for example in examples:
        answer = await server.ann.slash(server.channel, "ask", question=example)
        assert not answer.ephemeral
        assert example not in text_of(answer)


async def test_a_members_own_character_stands_in_and_is_theirs_alone(world: World) -> None:
    salt = world.salt
    chosen = await salt.ann.slash(salt.channel, "character", name="odrun")
    assert chosen.ephemeral
    assert "Your character here is Odrun Vale." in text_of(chosen)
    assert "Odrun" in text_of(await salt.ann.slash(salt.channel, "character"))
    mine = await salt.ann.slash(salt.channel, "link", first="5MP", second="2MP")
    assert text_of(mine) == text_of(
        await salt.bo.slash(salt.channel, "link", first="5MP", second="2MP", character="Odrun")
    )
    assert "Whose" in text_of(await salt.bo.slash(salt.channel, "link", first="5MP", second="2MP"))


async def test_a_chosen_character_can_be_taken_back(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "character", name="odrun")
    assert "no character" in text_of(await salt.ann.slash(salt.channel, "character", name="None"))
    assert "Whose" in text_of(await salt.ann.slash(salt.channel, "link", first="5MP", second="2MP"))


async def test_controls_are_chosen_with_the_character_or_not_at_all(world: World) -> None:
    salt = world.salt
    both = await salt.ann.slash(salt.channel, "character", name="garrow", controls="one-button")
    assert "Garrow Thrupp" in text_of(both)
    assert "one-button" in text_of(both)
    refused = await salt.ann.slash(salt.channel, "character", name="odrun", controls="nonsense")
    assert "nonsense" in text_of(refused)
    assert "Garrow Thrupp" in text_of(await salt.ann.slash(salt.channel, "character"))


async def test_an_unknown_character_is_refused_in_private_and_changes_nothing(world: World) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "character", name="garrow")
    refused = await salt.ann.slash(salt.channel, "character", name="Nobody At All")
    assert refused.ephemeral
    assert "Saltglass has no character “Nobody At All”" in text_of(refused)
    assert "Garrow Thrupp" in text_of(await salt.ann.slash(salt.channel, "character"))


async def test_a_moderator_changes_the_game_for_this_server_alone(world: World) -> None:
    salt, kite = world.salt, world.kite
    changed = await salt.mod.slash(salt.channel, "game choose", name="kitewind")
    assert changed.ephemeral
    assert "This server asks about Kitewind." in text_of(changed)
    assert "Kitewind, version" in text_of(await salt.ann.slash(salt.channel, "help"))
    await salt.mod.slash(salt.channel, "game choose", name="Saltglass")
    assert "Kitewind, version" in text_of(await kite.ann.slash(kite.channel, "help"))


async def test_a_game_that_is_not_there_is_refused_with_those_that_are(world: World) -> None:
    refused = await world.salt.mod.slash(world.salt.channel, "game choose", name="Saltglas")
    assert refused.ephemeral
    assert "Saltglass" in text_of(refused)
    assert "This server asks about Saltglass." in text_of(
        await world.salt.mod.slash(world.salt.channel, "game choose")
    )


async def test_a_direct_message_takes_commands_too(world: World) -> None:
    result = await world.salt.ann.user.slash("ask", question="is Mirrel's 236HK safe?")
    assert "236HK" in text_of(result)
    assert labels_of(result)
