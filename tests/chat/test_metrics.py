"""What a host sees of what members do: one line in the log for each thing, and the figures."""

from __future__ import annotations

import asyncio
import logging
import os
import signal
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import aiohttp
import pytest
from chat.faults import delivered_twice
from chat.platform import Platform, command, serving
from chat.practice import form, log, open_form
from chat.world import EnvClock, World, labels_of, new_bot
from inline import InlineWorker

from bot.app import Cornerman, build
from bot.client.metrics import Metrics
from bot.client.run import RunError, run
from bot.client.shards import SINGLE
from bot.client.work import Done, Outcome
from bot.config import Settings
from bot.services.access import Standing

LINK = {"first": "5MP", "second": "2MP", "character": "Odrun"}
WORDS = "my own words about 5MP"
TOKEN = "aaaa.bbbb.cccc"


@pytest.fixture
def done(world: World) -> list[Done]:
    """What was worked on, from here on."""
    ended: list[Done] = []
    world.bot.work.listen(ended.append)
    return ended


@pytest.fixture
def lines(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[logging.LogRecord]]:
    """What the bot logs from here on, at all levels."""
    records: list[logging.LogRecord] = []
    keeping, logger = logging.Handler(), logging.getLogger("bot")
    monkeypatch.setattr(keeping, "emit", records.append)
    before = logger.level
    logger.setLevel(logging.DEBUG)
    logger.addHandler(keeping)
    yield records
    logger.removeHandler(keeping)
    logger.setLevel(before)


def of_work(records: list[logging.LogRecord]) -> list[dict[str, Any]]:
    """The fields of the lines about work."""
    names = ("levelname", "action", "server", "member", "outcome")
    return [
        {name: getattr(record, name) for name in names}
        for record in records
        if record.name == "bot.client.work"
    ]


def outcomes(done: list[Done]) -> list[tuple[str, Outcome]]:
    return [(one.doing.action, one.outcome) for one in done]


async def figure(bot: Cornerman, name: str, **labels: str) -> float | None:
    assert bot._metrics is not None
    await bot._metrics.text()
    return bot._metrics.registry.get_sample_value(name, labels)


async def test_a_command_leaves_one_line_with_who_where_how_long_and_how_it_came_out(
    world: World, lines: list[logging.LogRecord]
) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "link", **LINK)
    (told,) = of_work(lines)
    assert told == {
        "levelname": "INFO",
        "action": "command link",
        "server": salt.guild.id,
        "member": salt.ann.id,
        "outcome": "done",
    }
    (record,) = (one for one in lines if one.name == "bot.client.work")
    assert record.duration_ms >= 0  # type: ignore[attr-defined]
    assert record.getMessage().startswith("command link: done in ")
    assert record.getMessage().endswith(f" ms, for member {salt.ann.id} in server {salt.guild.id}")


async def test_in_direct_messages_there_is_no_server(world: World, lines: list[logging.LogRecord]) -> None:
    lines.clear()
    await log(world.salt.ann.user, None)
    (told,) = of_work(lines)
    assert (told["action"], told["server"]) == ("command log", None)


async def test_a_button_a_form_and_a_message_leave_one_each(world: World, done: list[Done]) -> None:
    salt = world.salt
    card = await salt.ann.slash(salt.channel, "link", **LINK)
    await salt.ann.click(card.response, label=labels_of(card)[0])
    await salt.ann.send(salt.channel, f"{world.mention} is Mirrel's 236HK safe?")
    shown = await open_form(salt.ann, salt.channel)
    await salt.ann.submit_modal(shown, form())
    assert outcomes(done) == [
        ("command link", Outcome.DONE),
        ("button question", Outcome.DONE),
        ("message mention", Outcome.DONE),
        ("command help", Outcome.DONE),
        ("button practice", Outcome.DONE),
        ("form log", Outcome.DONE),
    ]


async def test_what_is_completed_while_typing_is_counted_and_logged_for_those_who_look_for_it(
    world: World, done: list[Done], lines: list[logging.LogRecord]
) -> None:
    lines.clear()
    await world.salt.ann.autocomplete(world.salt.channel, "link", "first", "5")
    assert outcomes(done) == [("autocomplete link.first", Outcome.DONE)]
    assert [told["levelname"] for told in of_work(lines)] == ["DEBUG"]


async def test_who_may_not_and_who_comes_too_late_are_told_apart(world: World, done: list[Done]) -> None:
    salt = world.salt
    world.bot.access.allows = lambda *_, **__: False  # type: ignore[method-assign]
    await salt.ann.slash(salt.channel, "link", **LINK)
    await salt.ann.send(salt.channel, f"{world.mention} is Mirrel's 236HK safe?")
    await world.bot.work.drain()
    await salt.ann.slash(salt.channel, "link", **LINK)
    assert outcomes(done) == [
        ("command link", Outcome.REFUSED),
        ("message mention", Outcome.REFUSED),
        ("command link", Outcome.TURNED_AWAY),
    ]


@pytest.mark.parametrize("way", ["command", "button", "message", "autocomplete"])
async def test_what_breaks_has_failed_and_its_error_is_logged_beside_it(
    way: str, world: World, done: list[Done], lines: list[logging.LogRecord], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ValueError

    salt = world.salt
    card = await salt.ann.slash(salt.channel, "link", **LINK)
    for name in ("ask", "about", "again", "complete_move"):
        monkeypatch.setattr(world.bot.desk, name, broken)
    done.clear()
    lines.clear()
    match way:
        case "command":
            await salt.ann.slash(salt.channel, "link", **LINK)
        case "button":
            await salt.ann.click(card.response, label=labels_of(card)[0])
        case "message":
            await salt.ann.send(salt.channel, f"{world.mention} {WORDS}?")
        case "autocomplete":
            await salt.ann.autocomplete(salt.channel, "link", "first", "5")
    assert [(kind.split()[0], outcome) for kind, outcome in outcomes(done)] == [(way, Outcome.FAILED)]
    (error,) = (one for one in lines if one.levelname == "ERROR")
    assert len(error.reference) == 6  # type: ignore[attr-defined]
    assert error.action.startswith(way)  # type: ignore[attr-defined]
    _ = world.env.errors  # simcord notes them although they were handled: reading acknowledges it


async def test_what_is_delivered_twice_is_one_piece_of_work(world: World, done: list[Done]) -> None:
    with delivered_twice(world.env, "INTERACTION_CREATE"):
        await world.salt.ann.slash(world.salt.channel, "link", **LINK)
    assert outcomes(done) == [("command link", Outcome.DONE)]


async def test_what_members_write_stands_in_no_line(world: World, lines: list[logging.LogRecord]) -> None:
    salt = world.salt
    await salt.ann.slash(salt.channel, "ask", question=WORDS)
    await salt.ann.send(salt.channel, f"{world.mention} {WORDS}")
    await log(salt.ann, salt.channel, note=WORDS)
    assert of_work(lines)
    assert WORDS not in "\n".join(
        f"{one.getMessage()} {vars(one)}" for one in lines if one.name.startswith("bot")
    )


async def test_the_figures_follow_what_members_do(world: World) -> None:
    bot, salt = world.bot, world.salt
    bot.measure(Metrics(0, bot.readings()))
    writes = await figure(bot, "cornerman_database_writes_total")
    await salt.ann.slash(salt.channel, "link", **LINK)
    await log(salt.ann, salt.channel)
    assert await figure(bot, "cornerman_actions_total", action="command link", outcome="done") == 1
    assert await figure(bot, "cornerman_action_seconds_count", kind="command") == 2
    assert writes is not None
    assert (await figure(bot, "cornerman_database_writes_total") or 0) > writes
    assert await figure(bot, "cornerman_servers") == len(world.servers)
    assert await figure(bot, "cornerman_jobs_waiting", due="now") == 0


async def test_a_job_that_was_done_is_counted(world: World) -> None:
    bot, metrics = world.bot, Metrics(0, world.bot.readings())
    bot.measure(metrics)
    bot.scheduler.listen(metrics.job_ended)
    salt = world.salt
    coach = salt.by_standing[Standing.COACH]
    drill = {"what": "Odrun: 5MP, 2MP", "scoring": "best-tally", "days": 1, "channel": salt.other_channel}
    await coach.slash(salt.channel, "drill open", **drill)
    await world.env.settle()
    await world.env.advance_time(2 * 86400)
    told = await figure(bot, "cornerman_jobs_total", kind="drill-close", outcome="done")
    assert told == 1


def test_nothing_is_counted_where_it_is_switched_off(tmp_path: Path) -> None:
    bot = new_bot(EnvClock(), tmp_path)
    assert bot._metrics is None
    assert bot.work._listeners == []
    assert bot.scheduler._listeners == []


async def test_a_host_reads_the_figures_while_the_bot_runs_and_not_after(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    platform = Platform()
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    new_bot(EnvClock(), tmp_path)
    settings = Settings.model_construct(database=tmp_path / "cornerman.db", metrics_port=port)
    address = f"http://127.0.0.1:{port}/metrics"
    async with serving(platform, monkeypatch), aiohttp.ClientSession() as session:
        bot = build(settings, EnvClock(), InlineWorker(), SINGLE)
        with caplog.at_level(logging.DEBUG):
            staying = asyncio.create_task(run(lambda: bot, TOKEN))
            await asyncio.wait_for(platform.ready.wait(), 10)
            await platform.emit("INTERACTION_CREATE", command(21, "ask", question=WORDS))
            await asyncio.wait_for(platform.asking.wait(), 10)
            await bot.work.drain()
            async with session.get(address) as answer:
                text = await answer.text()
            os.kill(os.getpid(), signal.SIGTERM)
            await asyncio.wait_for(staying, 10)
        assert 'cornerman_actions_total{action="command ask",outcome="done"} 1.0' in text
        assert "cornerman_servers 0.0" in text
        with pytest.raises(aiohttp.ClientConnectionError):
            await session.get(address)
    assert sum(record.name == "bot.client.work" for record in caplog.records) == 1
    assert TOKEN not in caplog.text


async def test_a_port_that_is_taken_stops_the_bot_with_one_sentence(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        new_bot(EnvClock(), tmp_path)
        settings = Settings.model_construct(database=tmp_path / "cornerman.db", metrics_port=port)
        async with serving(Platform(), monkeypatch):
            bot = build(settings, EnvClock(), InlineWorker(), SINGLE)
            with pytest.raises(RunError, match=f"Port {port} .* set metrics_port to another"):
                await asyncio.wait_for(run(lambda: bot, TOKEN), 20)
