"""Whoever is slow says in time that they are at it: each kind of answer, after each kind of acknowledgement.

A slow handler sleeps in simulated time. The watch begins at once here, so that nobody waits for it.
"""

from __future__ import annotations

import asyncio
import logging
from types import SimpleNamespace
from typing import Any

import discord
import pytest
import simcord
from chat.faults import failing_after, requests_wrapped
from chat.practice import form, log, open_form, tallies_of
from chat.world import World, answers_in, labels_of, text_of
from net import error_records

from bot.client.policy import PRESS_AGAIN
from bot.client.prompt import AFTER_SECONDS, TYPING_SECONDS, Known, receipt_of, settled, watch
from bot.cogs import asking as asking_cog
from bot.components import buttons

SLOW_SECONDS = 100.0
LONG_ENOUGH_SECONDS = 2.5
"""The platform waits 3 s; the rest is for the way there."""
ASK = {"question": "does Odrun's 5MP link into 2MP?"}


@pytest.fixture(autouse=True)
def _the_watch_begins_at_once(
    _nobody_is_too_fast_and_nothing_too_slow: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.client.prompt.AFTER_SECONDS", 0.0)
    monkeypatch.setattr("bot.client.prompt.TYPING_SECONDS", 0.0)


def slowed(work: Any) -> Any:
    """The same, after a sleep."""

    async def slow(*args: Any, **kwargs: Any) -> Any:
        await asyncio.sleep(SLOW_SECONDS)
        return await work(*args, **kwargs)

    return slow


def slow_down(patch: pytest.MonkeyPatch, owner: Any, name: str) -> None:
    patch.setattr(owner, name, slowed(getattr(owner, name)))


async def wake(world: World) -> None:
    await world.env.advance_time(SLOW_SECONDS)


async def test_a_slow_command_is_acknowledged_in_private_and_its_answer_takes_that_place(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Privacy first: nobody knew yet that the answer would be for all."""
    slow_down(monkeypatch, asking_cog, "respond")
    salt = world.salt
    told = await salt.ann.slash(salt.channel, "ask", **ASK)
    assert (told.acknowledged, told.deferred, told.ephemeral) == (True, True, True)
    await wake(world)
    assert "5MP" in text_of(told)
    assert not told.deferred
    assert told.ephemeral
    assert told.followups == answers_in(salt.channel, world.bot) == []


async def test_a_slow_handler_that_waits_itself_finds_that_done(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow_down(monkeypatch, world.bot, "wait")
    salt = world.salt
    told = await log(salt.ann, salt.channel)
    assert told.deferred
    await wake(world)
    assert "Logged: 7 of 10" in text_of(told)
    assert told.ephemeral
    assert told.followups == []


async def test_who_answers_at_once_is_not_acknowledged_before(world: World) -> None:
    sent: list[str] = []

    async def around(method: str, path: str, call: Any) -> Any:
        sent.append(f"{method} {path.rsplit('/', 1)[1]}")
        return await call()

    with requests_wrapped(world.env, around):
        told = await world.salt.ann.slash(world.salt.channel, "ask", **ASK)
    assert sent == ["POST callback"]
    assert not told.ephemeral


async def test_a_slow_press_is_answered_beside_its_card_for_all(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    salt = world.salt
    card = await salt.ann.slash(salt.channel, "ask", **ASK)
    before = text_of(card)
    slow_down(monkeypatch, buttons, "respond")
    pressed = await salt.ann.click(card.response, label=labels_of(card)[0])
    assert pressed.deferred
    await wake(world)
    assert text_of(card) == before
    assert [one.ephemeral for one in pressed.followups] == [False]
    assert "5MP" in text_of(pressed.followups[0])


async def test_a_slow_press_on_what_is_anothers_is_answered_in_private(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    salt = world.salt
    card = await salt.ann.slash(salt.channel, "ask", **ASK)
    slow_down(monkeypatch, buttons, "respond")
    pressed = await salt.bo.click(card.response, label=labels_of(card)[0])
    await wake(world)
    assert [one.ephemeral for one in pressed.followups] == [True]


async def test_a_slow_press_changes_its_card_and_sends_nothing_beside_it(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel)
    undone = await salt.ann.slash(salt.channel, "undo")
    slow_down(monkeypatch, world.bot.log, "put_back")
    pressed = await salt.ann.click(undone.response, label="Put it back")
    assert pressed.deferred
    assert "Taken out" in text_of(undone)
    await wake(world)
    assert "Back in the log" in text_of(undone)
    assert pressed.followups == []
    assert len(tallies_of(world, salt.ann)) == 1


async def test_a_slow_press_that_takes_itself_finds_that_done(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    salt = world.salt
    logged = await log(salt.ann, salt.channel)
    slow_down(monkeypatch, world.bot, "wait_in_place")
    pressed = await salt.ann.click(logged.response, label="Landed it again")
    assert pressed.deferred
    await wake(world)
    assert "Logged: 1 of 1" in text_of(logged)
    assert pressed.followups == []
    assert len(tallies_of(world, salt.ann)) == 2


async def test_a_slow_press_that_waits_itself_stays_as_private_as_it_says(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The export says so when it waits, and not again when it answers."""
    salt = world.salt
    shown = await salt.ann.slash(salt.channel, "mydata erase")
    slow_down(monkeypatch, world.bot, "wait")
    pressed = await salt.ann.click(shown.response, label="Send me everything")
    assert pressed.deferred
    await wake(world)
    assert [one.ephemeral for one in pressed.followups] == [True]


async def test_too_late_for_a_form_who_pressed_is_told_to_do_it_again(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    salt = world.salt
    card = await salt.ann.slash(salt.channel, "help")
    slow_down(monkeypatch, world.bot, "show")
    told = await salt.ann.click(card.response, label="Log a tally")
    await wake(world)
    assert [one.content for one in told.followups] == [PRESS_AGAIN]
    assert told.followups[0].ephemeral
    assert told.modal is None


async def test_a_slow_form_on_a_card_is_answered_once_and_in_private(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    salt = world.salt
    shown = await open_form(salt.ann, salt.channel)
    slow_down(monkeypatch, world.bot, "wait")
    told = await salt.ann.submit_modal(shown, form())
    assert told.deferred
    assert tallies_of(world, salt.ann) == []
    await wake(world)
    assert ["7 of 10 on 5MP, 2MP" in text_of(one) for one in told.followups] == [True]
    assert told.followups[0].ephemeral
    assert len(tallies_of(world, salt.ann)) == 1


async def test_what_breaks_after_it_was_acknowledged_is_told_in_its_place(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By a change, which may be sent again where its receipt is lost, and not by a message of its own."""
    salt, sent = world.salt, list[str]()

    async def around(method: str, path: str, call: Any) -> Any:
        sent.append(f"{method} {path.rsplit('/', 1)[1]}")
        return await call()

    async def breaks(*_: object) -> None:
        raise LookupError

    monkeypatch.setattr(world.bot.log, "listed", slowed(breaks))
    with error_records("bot.client.policy") as records, requests_wrapped(world.env, around):
        told = await salt.ann.slash(salt.channel, "tallies")
        await wake(world)
    assert sent == ["POST callback", "PATCH @original"]
    assert "reference" in told.response.content
    assert told.followups == []
    assert len(records) == 1
    simcord.assert_error(world.env, LookupError)


async def test_a_completion_that_takes_too_long_offers_nothing_and_harms_nobody(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    salt = world.salt
    await log(salt.ann, salt.channel)
    slow_down(monkeypatch, world.bot.log, "complete_what")
    with error_records("bot", "discord") as records:
        assert await salt.ann.autocomplete(salt.channel, "log", "what", "") == []
        await wake(world)
    assert records == []


@pytest.mark.parametrize(
    ("status", "code"), [(502, 0), (400, 40060)], ids=["the receipt is lost", "it is there already"]
)
async def test_an_acknowledgement_without_a_receipt_counts(
    world: World, monkeypatch: pytest.MonkeyPatch, status: int, code: int
) -> None:
    salt = world.salt
    slow_down(monkeypatch, world.bot.log, "listed")
    with failing_after(world.env, "POST", "/interactions/*/callback", status=status, code=code) as hit:
        told = await salt.ann.slash(salt.channel, "tallies")
    assert hit
    with error_records("bot") as records:
        await wake(world)
    assert "Log a tally" in str(told.response.components)
    assert told.followups == records == []


async def test_an_acknowledgement_that_is_refused_is_logged_and_the_work_is_done(
    world: World, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    salt = world.salt
    slow_down(monkeypatch, world.bot.log, "undo")
    await log(salt.ann, salt.channel)
    world.env.inject_error("POST", "/interactions/*/callback", status=403, code=1, times=1)
    with caplog.at_level(logging.WARNING, "bot.client.sending"):
        await salt.ann.slash(salt.channel, "undo")
        await wake(world)
    assert "was not acknowledged" in caplog.text
    assert "had expired" in caplog.text  # by the time that the answer came
    assert tallies_of(world, salt.ann) == []
    record = max(world.env.backend.interactions.values(), key=lambda one: one.id)
    record.responded = True  # nobody could have answered it: not a fault of ours for the net


def asking(kind: discord.InteractionType = discord.InteractionType.application_command) -> Any:
    return SimpleNamespace(type=kind, extras={}, id=1)


async def never(_: object) -> None:
    raise AssertionError("nobody was slow")


@pytest.mark.parametrize(
    ("kind", "seconds"),
    [
        (discord.InteractionType.application_command, AFTER_SECONDS),
        (discord.InteractionType.component, AFTER_SECONDS),
        (discord.InteractionType.autocomplete, TYPING_SECONDS),
    ],
)
async def test_the_watch_leaves_time_to_be_heard(
    monkeypatch: pytest.MonkeyPatch, kind: discord.InteractionType, seconds: float
) -> None:
    monkeypatch.setattr("bot.client.prompt.AFTER_SECONDS", AFTER_SECONDS)
    monkeypatch.setattr("bot.client.prompt.TYPING_SECONDS", TYPING_SECONDS)
    interaction = asking(kind)
    before = asyncio.get_running_loop().time()
    watch(interaction, never)
    timer = receipt_of(interaction).timer
    assert timer is not None
    assert seconds <= timer.when() - before < LONG_ENOUGH_SECONDS
    timer.cancel()


async def test_the_watch_is_over_with_the_handler_that_it_is_for() -> None:
    interaction = asking()

    async def handler() -> None:
        watch(interaction, never)

    await asyncio.create_task(handler())
    await asyncio.sleep(0)
    timer = receipt_of(interaction).timer
    assert timer is not None
    assert timer.cancelled()


async def test_who_sends_waits_for_an_acknowledgement_that_is_on_its_way() -> None:
    interaction, arrived = asking(), asyncio.Event()

    async def acknowledge(_: object) -> None:
        await arrived.wait()
        receipt_of(interaction).known = Known.TAKEN

    watch(interaction, acknowledge)
    while receipt_of(interaction).task is None:
        await asyncio.sleep(0)
    sending = asyncio.create_task(settled(interaction))
    await asyncio.sleep(0)
    assert not sending.done()
    arrived.set()
    assert (await sending).known is Known.TAKEN


async def test_who_sends_first_is_not_acknowledged_any_more() -> None:
    interaction = asking()
    watch(interaction, never)
    assert (await settled(interaction)).known is Known.NOTHING
    timer = receipt_of(interaction).timer
    assert timer is not None
    assert timer.cancelled()
