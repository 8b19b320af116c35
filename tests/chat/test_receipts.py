"""What the platform says late, twice or not at all: each way to answer is shown once, or said to be over."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable
from types import SimpleNamespace
from typing import Any

import discord
import pytest
import simcord
from chat.faults import failing_after, nonces_enforced, requests_wrapped
from chat.practice import LINK, form, log, open_form, tallies_of
from chat.world import World, answers_in, text_of
from net import error_records

from bot.client.once import Once
from bot.client.policy import NOT_ALLOWED
from bot.client.sending import PAUSES_SECONDS
from bot.client.work import FINISH_SECONDS
from bot.services.access import Standing

CALLBACK, ORIGINAL = ("POST", "/interactions/*/callback"), ("PATCH", "/webhooks/*/messages/@original")
QUESTION = "is Mirrel's 236HK safe?"


async def asks(world: World) -> Any:
    return await world.salt.ann.slash(world.salt.channel, "ask", question=QUESTION)


async def is_refused(world: World) -> Any:
    return await world.salt.ann.slash(world.salt.channel, "drill list")


async def opens_a_form(world: World) -> Any:
    card = await world.salt.ann.slash(world.salt.channel, "help")
    return lambda: world.salt.ann.click(card.response, label="Log a tally")


async def puts_back(world: World) -> Any:
    await log(world.salt.ann, world.salt.channel)
    undone = await world.salt.ann.slash(world.salt.channel, "undo")
    return lambda: world.salt.ann.click(undone.response, label="Put it back")


async def lands_again(world: World) -> Any:
    logged = await log(world.salt.ann, world.salt.channel)
    return lambda: world.salt.ann.click(logged.response, label="Landed it again")


async def sends_a_form(world: World) -> Any:
    shown = await open_form(world.salt.ann, world.salt.channel)
    return lambda: world.salt.ann.submit_modal(shown, form())


async def a_command(do: Callable[[World], Awaitable[Any]], world: World) -> Any:
    return lambda: do(world)


WAYS: dict[str, Callable[[World], Awaitable[Any]]] = {
    "reply": lambda world: a_command(asks, world),
    "tell": lambda world: a_command(is_refused, world),
    "show": opens_a_form,
    "replace": puts_back,
    "wait, then reply": sends_a_form,
    "wait in place, then replace": lands_again,
}


@pytest.mark.parametrize("way", WAYS)
async def test_what_the_library_sent_again_is_shown_once(world: World, way: str) -> None:
    """Design section 7: its second try at a callback that was applied gets 40060."""
    act = await WAYS[way](world)
    with error_records("bot") as records, failing_after(world.env, *CALLBACK, status=400, code=40060) as hit:
        told = await act()
    assert hit
    assert told.response is not None or told.modal is not None
    assert told.followups == records == []


@pytest.mark.parametrize("way", WAYS)
async def test_what_has_expired_is_logged_and_no_more(
    world: World, way: str, caplog: pytest.LogCaptureFixture
) -> None:
    act = await WAYS[way](world)
    tried: list[str] = []

    async def around(method: str, path: str, call: Any) -> Any:
        tried.append(f"{method} {path.rsplit('/', 1)[1]}")
        return await call()

    world.env.inject_error(*CALLBACK, status=404, code=10062, times=None)
    with (
        error_records("bot", "discord") as records,
        requests_wrapped(world.env, around),
        caplog.at_level(logging.WARNING, "bot.client.sending"),
    ):
        await act()
    assert "had expired" in caplog.text
    assert records == []
    assert set(tried) == {"POST callback"}
    record = max(world.env.backend.interactions.values(), key=lambda one: one.id)
    record.responded = True  # nobody could have answered it: not a fault of ours for the net


@pytest.mark.parametrize("code", [10015, 50027, 10008], ids=["15 minutes", "its token", "dismissed"])
async def test_an_answer_whose_place_is_gone_is_logged_and_the_work_is_done(
    world: World, code: int, caplog: pytest.LogCaptureFixture
) -> None:
    salt = world.salt
    world.env.inject_error(*ORIGINAL, status=404, code=code, times=None)
    with error_records("bot") as records, caplog.at_level(logging.WARNING, "bot.client.sending"):
        told = await log(salt.ann, salt.channel)
    assert "had expired" in caplog.text
    assert told.followups == records == []
    assert len(tallies_of(world, salt.ann)) == 1


@pytest.mark.parametrize(("status", "code"), [(404, 10062), (400, 40060)], ids=["expired", "offered already"])
async def test_a_completion_that_comes_too_late_is_no_error(world: World, status: int, code: int) -> None:
    salt = world.salt
    with (
        error_records("bot", "discord") as records,
        failing_after(world.env, *CALLBACK, status=status, code=code) as hit,
    ):
        await salt.ann.autocomplete(salt.channel, "move", "character", "od")
    assert hit
    assert records == []


@pytest.mark.parametrize(("code", "is_news"), [(10062, False), (40060, False), (50035, True)])
async def test_a_completion_that_fails_otherwise_is_still_an_error(
    world: World, code: int, is_news: bool
) -> None:
    assert world.bot.tree
    response: Any = SimpleNamespace(status=400, reason="no")
    error = discord.HTTPException(response, {"code": code, "message": "no"})
    name = "discord.app_commands.tree"
    record = logging.LogRecord(name, logging.ERROR, "", 0, "Ignoring", (), (type(error), error, None))
    assert bool(logging.getLogger(name).filter(record)) is is_news


async def test_a_refusal_whose_receipt_is_lost_is_not_told_twice(world: World) -> None:
    with failing_after(world.env, *CALLBACK, status=400, code=40060):
        told = await is_refused(world)
    assert text_of(told).strip() == NOT_ALLOWED
    assert told.followups == []


@pytest.mark.parametrize("direct", [False, True])
@pytest.mark.parametrize("status", [500, 503, 0], ids=["500", "503", "connection lost"])
async def test_an_answer_to_a_message_that_arrived_without_a_receipt_is_shown_once(
    world: World, monkeypatch: pytest.MonkeyPatch, status: int, direct: bool
) -> None:
    monkeypatch.setattr("bot.client.sending.PAUSES_SECONDS", (0.0, 0.0, 0.0))
    ann, channel = world.salt.ann, world.salt.channel
    with (
        error_records("bot") as records,
        nonces_enforced(world.env) as nonces,
        failing_after(world.env, "POST", "/channels/*/messages", status=status, times=2) as hit,
    ):
        if direct:
            channel = ann.user.dm_channel
            await ann.user.send_dm(QUESTION)
        else:
            await ann.send(channel, f"{world.mention} {QUESTION}")
    assert len(hit) == 2
    assert len(nonces) == 3
    assert len(set(nonces)) == 1
    assert ["236HK" in text_of(one) for one in answers_in(channel, world.bot)] == [True]
    assert records == []


async def test_an_answer_to_a_message_comes_once_the_platform_is_back(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In simulated time: it is tried again after a while, and then after a longer one."""
    monkeypatch.setattr("bot.client.sending.PAUSES_SECONDS", (100.0, 200.0, 400.0))
    salt, tries = world.salt, list[float]()

    async def around(method: str, path: str, call: Any) -> Any:
        if method == "POST" and path.endswith("/messages"):
            tries.append((world.env.now() - begin).total_seconds())
        return await call()

    begin = world.env.now()
    world.env.inject_error("POST", "/channels/*/messages", status=503, times=2)
    with requests_wrapped(world.env, around):
        await salt.ann.send(salt.channel, f"{world.mention} {QUESTION}")
        assert answers_in(salt.channel, world.bot) == []
        await world.env.advance_time(99)
        await world.env.advance_time(201)
    assert tries == pytest.approx([0, 100, 300], abs=1)
    assert ["236HK" in text_of(one) for one in answers_in(salt.channel, world.bot)] == [True]


def test_the_pauses_grow_and_are_over_before_a_restart_is() -> None:
    assert sorted(set(PAUSES_SECONDS)) == list(PAUSES_SECONDS)
    assert sum(PAUSES_SECONDS) < FINISH_SECONDS


async def test_an_answer_that_the_platform_refuses_is_not_tried_again(world: World) -> None:
    salt, tries = world.salt, list[str]()

    async def around(method: str, path: str, call: Any) -> Any:
        tries.append(f"{method} {path.rsplit('/', 1)[1]}")
        return await call()

    world.env.inject_error("POST", "/channels/*/messages", status=403, code=50013, times=None)
    with error_records("bot.client.policy"), requests_wrapped(world.env, around):
        await salt.ann.send(salt.channel, f"{world.mention} {QUESTION}")
    assert tries == ["POST messages"]


async def test_what_stands_beside_an_answer_goes_through_the_one_that_sends_once(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The simulator has no sockets: tests/chat/test_once.py shows what it is good for."""
    adapter, sessions = world.env._webhook_adapter, list[Any]()
    original = adapter.request

    async def request(route: Any, session: Any, **kwargs: Any) -> Any:
        if route.method == "POST" and route.path.startswith("/webhooks"):
            sessions.append(session)
        return await original(route, session, **kwargs)

    monkeypatch.setattr(adapter, "request", request)
    with error_records("bot"), failing_after(world.env, *CALLBACK) as hit:
        told = await asks(world)
    assert hit
    assert [type(one) for one in sessions] == [Once]
    assert ["reference" in one.content for one in told.followups] == [True]
    simcord.assert_error(world.env, discord.DiscordServerError)


async def test_the_platform_holding_us_back_for_long_is_told_kindly_and_is_no_error_of_ours(
    world: World, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    async def held_back(*_: object) -> None:
        raise discord.RateLimited(125)

    monkeypatch.setattr(world.bot.log, "listed", held_back)
    with error_records("bot") as records, caplog.at_level(logging.WARNING, "bot.client.policy"):
        told = await world.salt.ann.slash(world.salt.channel, "tallies")
    assert text_of(told).strip().endswith("please try again in 3 minutes.")
    assert told.ephemeral
    assert records == []
    assert "holds us back for 125 s: command tallies" in caplog.text
    simcord.assert_error(world.env, discord.RateLimited)


async def test_a_message_that_cannot_be_answered_for_long_is_given_up_at_once(world: World) -> None:
    salt = world.salt

    async def around(method: str, path: str, call: Any) -> Any:
        if method == "POST" and path.endswith("/messages"):
            raise discord.RateLimited(3600)
        return await call()

    with error_records("bot", "asyncio") as records, requests_wrapped(world.env, around):
        await salt.ann.send(salt.channel, f"{world.mention} {QUESTION}")
    assert records == []
    assert answers_in(salt.channel, world.bot) == []
    assert not [task for task in asyncio.all_tasks() if "on_message" in repr(task)]


async def test_a_job_that_the_platform_holds_back_rests_and_is_done_later_and_once(world: World) -> None:
    salt, tries = world.salt, list[str]()

    async def around(method: str, path: str, call: Any) -> Any:
        if method == "POST" and path.endswith("/messages"):
            tries.append(path)
            if len(tries) <= 3:
                raise discord.RateLimited(3600)
        return await call()

    coach = salt.by_standing[Standing.COACH]
    with error_records("bot") as records, requests_wrapped(world.env, around):
        await coach.slash(salt.channel, "drill open", what=LINK, scoring="best-tally", days=7)
        await world.env.settle()
        assert answers_in(salt.channel, world.bot) == []
        await world.env.advance_time(3600)
    assert len(tries) == 4
    assert len(answers_in(salt.channel, world.bot)) == 1
    assert records == []
