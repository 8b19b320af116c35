"""When something breaks: one private sentence with a number, and all of it in the log under that number."""

from __future__ import annotations

import logging
import re

import pytest
import simcord
from chat.world import World, answers_in, labels_of, text_of
from net import error_records

LINK = {"first": "5MP", "second": "2MP", "character": "Odrun"}
SECRET = "my own words 5MP"


class BrokenError(Exception):
    """Not foreseen."""


def broken(*_: object, **__: object) -> None:
    raise BrokenError


def reference_of(said: str) -> str:
    found = re.search(r"reference ([0-9a-f]{6})\.", said)
    assert found, said
    return found[1]


def check_logged(records: list[logging.LogRecord], reference: str) -> None:
    assert len(records) == 1
    assert reference in records[0].getMessage()
    assert records[0].exc_info
    assert records[0].exc_info[0] is BrokenError
    assert SECRET not in logging.Formatter().format(records[0])


async def test_a_command_that_breaks(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(world.bot.desk, "ask", broken)
    with error_records("bot") as records:
        result = await world.salt.ann.slash(world.salt.channel, "ask", question=SECRET)
    assert result.ephemeral
    assert text_of(result).strip().count("\n") == 0
    check_logged(records, reference_of(text_of(result)))
    simcord.assert_error(world.env, BrokenError)


async def test_a_button_that_breaks(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    salt = world.salt
    card = await salt.ann.slash(salt.channel, "link", **LINK)
    monkeypatch.setattr(world.bot.desk, "again", broken)
    with error_records("bot") as records:
        result = await salt.ann.click(card.response, label=labels_of(card)[0])
    assert result.ephemeral
    check_logged(records, reference_of(text_of(result)))


@pytest.mark.parametrize("direct", [False, True])
async def test_a_message_that_breaks(world: World, monkeypatch: pytest.MonkeyPatch, direct: bool) -> None:
    monkeypatch.setattr(world.bot.desk, "ask", broken)
    ann, channel = world.salt.ann, world.salt.channel
    with error_records("bot") as records:
        if direct:
            channel = ann.user.dm_channel
            await ann.user.send_dm(SECRET)
        else:
            await ann.send(channel, f"{world.mention} {SECRET} @everyone")
    answer = channel.last_message
    check_logged(records, reference_of(text_of(answer)))
    stored = world.env.backend.get_message(channel.id, answer.id)
    assert stored.ping_user_ids == [ann.id]


async def test_each_error_has_a_number_of_its_own(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(world.bot.desk, "ask", broken)
    with error_records("bot"):
        said = [
            text_of(await world.salt.ann.slash(world.salt.channel, "ask", question=SECRET)) for _ in range(3)
        ]
    assert len({reference_of(one) for one in said}) == 3
    simcord.assert_error(world.env, BrokenError)


async def test_an_error_in_who_may_do_it_lets_nobody_in(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(world.bot.access, "allows", broken)
    salt = world.salt
    with error_records("bot") as records:
        result = await salt.ann.slash(salt.channel, "ask", question=SECRET)
        offered = await salt.ann.autocomplete(salt.channel, "move", "character", "od")
        await salt.ann.send(salt.channel, f"{world.mention} {SECRET}")
    assert result.ephemeral
    assert offered == []
    assert len(records) == 3
    assert "reference" in text_of(result)
    assert ["reference" in text_of(one) for one in answers_in(salt.channel, world.bot)] == [True]


async def test_a_command_that_is_no_more_is_told_so(world: World) -> None:
    """A member's program may still show a command of an older version."""
    world.bot.tree.remove_command("follow")
    result = await world.salt.ann.slash(world.salt.channel, "follow", move="5MP")
    assert result.ephemeral
    assert "do not know this command" in text_of(result)
    _ = world.env.errors  # simcord notes it although it was handled: reading acknowledges it


async def test_an_apology_that_cannot_be_sent_is_noted_too(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(world.bot.desk, "ask", broken)
    monkeypatch.setattr("bot.client.sending.PAUSES_SECONDS", (0.0, 0.0, 0.0))
    world.env.inject_error("POST", "/channels/*/messages", status=500, times=5)
    with error_records("bot") as records:
        await world.salt.ann.send(world.salt.channel, f"{world.mention} {SECRET}")
    assert [record.exc_info[0].__name__ for record in records if record.exc_info and record.exc_info[0]] == [
        "BrokenError",
        "HTTPException",
    ]
