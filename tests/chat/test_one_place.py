"""What the whole bot keeps to, read off its source and its commands."""

from __future__ import annotations

import ast
from pathlib import Path

import discord
import pytest
from apispec import ApiDocument
from chat.commands import commands_of
from chat.conftest import problems_of
from chat.practice import form, log, open_form
from chat.world import World, labels_of

from bot.services.access import Access, Standing

ROWS = Access().rows
ROOT = Path(__file__).parents[2]
SENDS = {
    "send",
    "send_message",
    "edit_message",
    "edit_original_response",
    "reply",
    "respond",
    "defer",
    "edit",
}
SENDERS = {"bot/client/sending.py"}
THROUGH_IT = {"self._chat.reply", "chat.reply", "sending.reply", "respond", "self._poster.edit"}
"""Calls of the same name that end in the one place."""
OF_OTHER_THINGS = {"chat.game_desk.edit"}
"""Calls of the same name that send nothing: a number of a game is edited."""


def test_nothing_is_sent_but_from_one_place() -> None:
    found = set()
    for path in sorted((ROOT / "bot").rglob("*.py")):
        name = path.relative_to(ROOT).as_posix()
        if name.startswith("bot/room/"):
            continue
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                called = ast.unparse(node.func)
                if node.func.attr in SENDS and called not in THROUGH_IT | OF_OTHER_THINGS:
                    found.add(name)
    assert found == SENDERS


async def test_a_command_is_said_in_plain_words_and_fits_the_platform(world: World) -> None:
    commands = commands_of(world.bot)
    assert len(commands) == 71
    for command in commands:
        assert 10 <= len(command.description) <= 100
        for option in command.parameters:
            assert 5 <= len(option.description) <= 100, (command.name, option.name)


async def test_what_moderators_decide_and_coaches_boards_are_not_offered_in_direct_messages(
    world: World,
) -> None:
    for_moderators = {
        row.removeprefix("command ")
        for row, who in ROWS.items()
        if who == {Standing.MODERATOR} and row.startswith("command ")
    }
    games = {"choose", "load", "versions", "download", "edit", "template", "reports"}
    servers = {"setup", "settings", "health", "audit", "keep"}
    assert for_moderators == {
        "coaches",
        "zone",
        *(f"game {name}" for name in games),
        *(f"server {name}" for name in servers),
    }
    mod = world.salt.mod
    for command in commands_of(world.bot):
        name = command.qualified_name
        closed, of_servers = name in for_moderators, name.startswith("students ") or name == "wrong"
        assert name in mod.available_commands(world.salt.channel)
        assert (name in mod.user.available_commands()) is not (closed or of_servers)
        assert (name in world.salt.ann.available_commands(world.salt.channel)) is not closed


async def test_nothing_that_needs_the_platforms_approval_is_asked_for(world: World) -> None:
    intents = world.bot.intents
    assert not any((intents.members, intents.presences, intents.message_content))
    assert world.bot.allowed_mentions is not None
    assert world.bot.allowed_mentions.to_dict() == discord.AllowedMentions.none().to_dict()


@pytest.mark.api_document
async def test_all_that_is_sent_fits_the_platforms_own_document(
    world: World, api_document: ApiDocument
) -> None:
    """The platform's published HTTP API document. Every other chat test checks its own requests likewise."""
    salt = world.salt
    card = await salt.ann.slash(salt.channel, "ask", question="does Odrun's 5MP link into 2MP?")
    for label in labels_of(card):
        await salt.ann.click(card.response, label=label)
    await salt.ann.autocomplete(salt.channel, "move", "move", "")
    await salt.ann.send(salt.channel, f"{world.mention} is Mirrel's 236HK safe?")
    await salt.ann.user.send_dm("is Mirrel's 236HK safe?")
    await salt.ann.slash(salt.channel, "help")
    await salt.ann.submit_modal(await open_form(salt.ann, salt.channel), form())
    logged = await log(salt.ann, salt.channel)
    for label in labels_of(logged):
        fresh = await log(salt.ann, salt.channel)
        await salt.ann.click(fresh.response, label=label)
    for report in ("timing", "progress", "tallies", "mydata download", "mydata erase"):
        await salt.ann.slash(salt.channel, report)
    assert len(world.env.http_requests) > 8
    assert problems_of(world.env, api_document) == []


WRONG = [
    ("a button's label of 81 characters", {"type": 2, "style": 2, "label": "x" * 81, "custom_id": "a"}),
    ("an id of 101 characters", {"type": 2, "style": 2, "label": "x", "custom_id": "a" * 101}),
    ("a style that is none", {"type": 2, "style": 9, "label": "x", "custom_id": "a"}),
    ("a misspelt field", {"type": 2, "style": 2, "label": "x", "custom_id": "a", "labl": "x"}),
    ("a type that is none", {"type": 99}),
]


@pytest.mark.api_document
@pytest.mark.parametrize("button", [button for _, button in WRONG], ids=[what for what, _ in WRONG])
def test_the_document_would_catch(button: dict[str, object], api_document: ApiDocument) -> None:
    def body(part: dict[str, object]) -> dict[str, object]:
        return {"components": [{"type": 1, "components": [part]}], "flags": 32768}

    right: dict[str, object] = {"type": 2, "style": 2, "label": "x" * 80, "custom_id": "a" * 100}
    assert api_document.problems("POST", "/channels/1/messages", body(right)) == []
    assert api_document.problems("POST", "/channels/1/messages", body(button))


@pytest.mark.api_document
def test_the_document_would_catch_a_request_that_it_does_not_know(api_document: ApiDocument) -> None:
    assert api_document.problems("POST", "/channels/1/massages", {})
    assert api_document.problems("POST", "/channels/1/messages", {"content": "x" * 4_001})
