"""What is delivered twice is answered once; what is lost on the way is answered all the same."""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable
from typing import Any

import discord
import pytest
import simcord
from chat.faults import (
    deliver_again,
    delivered_twice,
    events_seen,
    failing_after,
    nonces_enforced,
    requests_wrapped,
    slash_together,
)
from chat.practice import form, log, open_form, picked, tallies_of
from chat.world import World, answers_in, labels_of, text_of
from net import error_records

from bot.client.seen import Seen

Act = Callable[[], Awaitable[Any]]

LINK = {"first": "5MP", "second": "2MP", "character": "Odrun"}


async def test_a_command_delivered_twice_at_once_is_answered_once(world: World) -> None:
    salt = world.salt
    with delivered_twice(world.env, "INTERACTION_CREATE"):
        await salt.ann.slash(salt.channel, "link", **LINK)
    assert len(answers_in(salt.channel, world.bot)) == 1


async def test_a_command_delivered_again_later_is_not_answered_again(world: World) -> None:
    salt = world.salt
    with events_seen(world.env) as seen:
        await salt.ann.slash(salt.channel, "link", **LINK)
    await deliver_again(world.env, seen, "INTERACTION_CREATE")
    assert len(answers_in(salt.channel, world.bot)) == 1


async def test_a_press_delivered_twice_is_answered_once(world: World) -> None:
    salt = world.salt
    card = await salt.ann.slash(salt.channel, "link", **LINK)
    with delivered_twice(world.env, "INTERACTION_CREATE"):
        await salt.ann.click(card.response, label=labels_of(card)[0])
    assert len(answers_in(salt.channel, world.bot)) == 2


@pytest.mark.parametrize("direct", [False, True])
async def test_a_message_delivered_twice_is_answered_once(world: World, direct: bool) -> None:
    ann, channel = world.salt.ann, world.salt.channel
    with events_seen(world.env) as seen, delivered_twice(world.env, "MESSAGE_CREATE"):
        if direct:
            channel = ann.user.dm_channel
            await ann.user.send_dm("is Mirrel's 236HK safe?")
        else:
            await ann.send(channel, f"{world.mention} is Mirrel's 236HK safe?")
    first = next(entry for entry in seen if entry[0] == "MESSAGE_CREATE")
    await deliver_again(world.env, [first], "MESSAGE_CREATE")
    assert len(answers_in(channel, world.bot)) == 1


async def test_completing_delivered_twice_does_no_harm(world: World) -> None:
    with delivered_twice(world.env, "INTERACTION_CREATE"):
        offered = await world.salt.ann.autocomplete(world.salt.channel, "move", "character", "od")
    assert offered[0]["value"] == "Odrun Vale"


async def logs(world: World) -> Act:
    return lambda: log(world.salt.ann, world.salt.channel)


async def lands_again(world: World) -> Act:
    card = await log(world.salt.ann, world.salt.channel)
    return lambda: world.salt.ann.click(card.response, label="Landed it again")


async def opens_a_form(world: World) -> Act:
    card = await world.salt.ann.slash(world.salt.channel, "help")
    return lambda: world.salt.ann.click(card.response, label="Log a tally")


async def picks_from_a_list(world: World) -> Act:
    await log(world.salt.ann, world.salt.channel)
    card = await world.salt.ann.slash(world.salt.channel, "tallies")
    return lambda: world.salt.ann.select(card.response, [picked(card)[0]["value"]])


async def sends_a_form(world: World) -> Act:
    shown = await open_form(world.salt.ann, world.salt.channel)
    return lambda: world.salt.ann.submit_modal(shown, form())


KINDS: dict[str, tuple[Callable[[World], Awaitable[Act]], list[tuple[int, int]]]] = {
    "command": (logs, [(7, 10)]),
    "button": (lands_again, [(7, 10), (1, 1)]),
    "button that opens a form": (opens_a_form, []),
    "list": (picks_from_a_list, [(7, 10)]),
    "form": (sends_a_form, [(7, 10)]),
}


@pytest.mark.parametrize("processes", [1, 2])
@pytest.mark.parametrize("kind", KINDS)
async def test_what_comes_twice_before_it_is_answered_has_one_effect_and_one_answer(
    world: World, monkeypatch: pytest.MonkeyPatch, kind: str, processes: int
) -> None:
    """Two processes have no memory in common: what is left to them are the database and the platform."""
    prepare, numbers = KINDS[kind]
    act = await prepare(world)
    if processes == 2:
        monkeypatch.setattr(world.bot._seen, "is_new", lambda _: True)
    with error_records("bot", "discord") as records, delivered_twice(world.env, "INTERACTION_CREATE"):
        told = await act()
    assert told.response is not None or told.modal is not None
    assert told.followups == records == []
    assert "went wrong" not in text_of(told) if told.modal is None else True
    assert [(one["landed"], one["tries"]) for one in tallies_of(world, world.salt.ann)] == numbers


@pytest.mark.parametrize("direct", [False, True])
async def test_a_message_that_two_processes_hear_is_answered_once(
    world: World, monkeypatch: pytest.MonkeyPatch, direct: bool
) -> None:
    ann, channel = world.salt.ann, world.salt.channel
    monkeypatch.setattr(world.bot._seen, "is_new", lambda _: True)
    with nonces_enforced(world.env) as nonces, delivered_twice(world.env, "MESSAGE_CREATE"):
        if direct:
            channel = ann.user.dm_channel
            await ann.user.send_dm("is Mirrel's 236HK safe?")
        else:
            await ann.send(channel, f"{world.mention} is Mirrel's 236HK safe?")
    assert len(nonces) == 2
    assert len(answers_in(channel, world.bot)) == 1


async def test_the_same_question_asked_twice_is_answered_twice(world: World) -> None:
    salt = world.salt
    for _ in range(2):
        await salt.ann.slash(salt.channel, "link", **LINK)
    assert len(answers_in(salt.channel, world.bot)) == 2


async def test_an_answer_whose_receipt_was_lost_is_not_followed_by_silence(world: World) -> None:
    """Design section 7: after a 5xx the callback may have been applied, and a second one gets 40060."""
    salt = world.salt
    with (
        error_records("bot.client.policy") as records,
        failing_after(world.env, "POST", "/interactions/*/callback") as hit,
    ):
        result = await salt.ann.slash(salt.channel, "link", **LINK)
    assert hit
    assert "5MP" in text_of(result)
    assert "reference" in result.followups[0].content
    assert len(records) == 1
    simcord.assert_error(world.env, discord.DiscordServerError)


async def test_an_answer_that_the_library_sent_again_is_not_doubled(world: World) -> None:
    """As above, but the library's own second try is what gets 40060."""
    salt = world.salt
    lost = failing_after(world.env, "POST", "/interactions/*/callback", status=400, code=40060)
    with error_records("bot") as records, lost as hit:
        result = await salt.ann.slash(salt.channel, "link", **LINK)
    assert hit
    assert "5MP" in text_of(result)
    assert result.followups == []
    assert records == []


async def test_an_interaction_that_has_expired_is_logged_and_nothing_breaks(
    world: World, caplog: pytest.LogCaptureFixture
) -> None:
    salt = world.salt
    world.env.inject_error("POST", "/interactions/*/callback", status=404, code=10062, times=1)
    with caplog.at_level(logging.WARNING, "bot.client.sending"):
        await salt.ann.slash(salt.channel, "link", **LINK)
    assert "had expired" in caplog.text
    record = max(world.env.backend.interactions.values(), key=lambda one: one.id)
    record.responded = True  # nobody could have answered it: not a fault of ours for the net


async def test_a_channel_in_which_the_bot_may_not_speak_is_noted_and_nothing_breaks(world: World) -> None:
    salt = world.salt
    world.env.inject_error("POST", "/channels/*/messages", status=403, code=50013, times=2)
    with error_records("bot.client.policy") as records:
        await salt.ann.send(salt.channel, f"{world.mention} is Mirrel's 236HK safe?")
    assert len(records) == 1
    assert answers_in(salt.channel, world.bot) == []


async def test_64_commands_at_once_are_all_answered(world: World) -> None:
    salt = world.salt
    calls = [(salt.ann, salt.channel, "link", LINK)] * 64
    results = await slash_together(world.env, calls)
    assert len({text_of(result) for result in results}) == 1
    assert all(result.response is not None for result in results)


async def test_a_handler_sees_its_requests_in_order(world: World) -> None:
    """The one answer of a command is its first request: nothing is deferred or sent beside it."""
    sent: list[str] = []

    async def around(method: str, path: str, call: object) -> object:
        sent.append(f"{method} {path.rsplit('/', 1)[1]}")
        return await call()  # type: ignore[operator]

    with requests_wrapped(world.env, around):
        await world.salt.ann.slash(world.salt.channel, "link", **LINK)
    assert sent == ["POST callback"]


def test_an_id_is_new_once() -> None:
    seen = Seen(2)
    assert [seen.is_new(one) for one in (1, 1, 2, 2, 1)] == [True, False, True, False, False]


def test_what_is_remembered_is_bounded_and_the_oldest_goes_first() -> None:
    seen = Seen(2)
    assert [seen.is_new(one) for one in (1, 2, 3, 2, 3, 1)] == [True, True, True, False, False, True]
