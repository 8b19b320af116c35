"""Told to stop while it is busy: what is being done gets done, or is left for whoever comes next."""

from __future__ import annotations

import asyncio
import gc
import logging
import os
import signal
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import timedelta
from functools import partialmethod
from pathlib import Path
from typing import Any

import pytest
from chat.connecting import TOKEN, WORDS, Running, running, until
from chat.platform import Platform, command, serving
from inline import InlineWorker
from sqlalchemy import select

from bot.client.policy import RESTARTING
from bot.client.shards import SINGLE
from bot.results.job import Job
from bot.scheduler.scheduler import Scheduler
from bot.storage.schema import job as table

ROOT = Path(__file__).parents[2]


class Gate:
    """Somebody stands before it until it is opened."""

    def __init__(self) -> None:
        self.reached, self.open = asyncio.Event(), asyncio.Event()
        self.passed = False

    async def pass_through(self) -> None:
        self.reached.set()
        await self.open.wait()
        self.passed = True


async def due_job(found: Running, gate: Gate) -> None:
    """A job that is at it, before the gate."""

    async def do(_job: Job, _late_by: timedelta) -> None:
        await gate.pass_through()

    bot = found.bot
    bot.scheduler._handlers = {**bot.scheduler._handlers, "slow": do}
    async with bot.store.write() as writing:
        await bot.jobs.add(writing, Job("slow one", "slow", bot.jobs._clock.now()))
    await asyncio.wait_for(gate.reached.wait(), 10)


async def due_refresh(found: Running, gate: Gate) -> None:
    """A post that is being brought up to date, before the gate."""

    async def refresh(_number: int) -> None:
        await gate.pass_through()

    refresher = found.bot.refresher
    refresher._refresh = refresh  # type: ignore[method-assign]
    refresher.touch(5)
    await asyncio.wait_for(gate.reached.wait(), 10)


async def worked_on(found: Running, gate: Gate) -> None:
    """A question whose picture is being drawn, before the gate."""

    async def run(work: Callable[..., Any], *args: Any, **kwargs: Any) -> Any:
        await gate.pass_through()
        return await InlineWorker().run(work, *args, **kwargs)

    found.bot._worker.run = run  # type: ignore[method-assign]
    what = command(30, "route rhythm", what="Odrun: 5MP, 2MP")
    await found.platform.emit("INTERACTION_CREATE", what)
    await asyncio.wait_for(gate.reached.wait(), 10)


def errors(caplog: pytest.LogCaptureFixture) -> list[str]:
    return [record.getMessage() for record in caplog.records if record.levelno >= logging.ERROR]


@asynccontextmanager
async def told(
    busy: Any, monkeypatch: pytest.MonkeyPatch, folder: Path
) -> AsyncIterator[tuple[Running, Gate]]:
    """It runs, somebody is before the gate, and it has been told to stop."""
    monkeypatch.setattr("bot.scheduler.refresher.EVERY_SECONDS", 0.01)
    monkeypatch.setattr("bot.scheduler.refresher.FIRST_SECONDS", 0.01)
    async with running(Platform(), monkeypatch, folder) as found:
        await found.ready()
        await until(lambda: found.bot.scheduler._running)
        gate = Gate()
        await busy(found, gate)
        os.kill(os.getpid(), signal.SIGTERM)
        await until(lambda: found.bot.work.draining)
        yield found, gate
        await found.ends()
        assert found.bot.is_closed()


@pytest.mark.parametrize("busy", [due_job, due_refresh, worked_on])
async def test_what_is_being_done_is_finished_before_it_ends(
    busy: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    async with told(busy, monkeypatch, tmp_path) as (found, gate):
        await found.platform.emit("INTERACTION_CREATE", command(31, "ask", question=WORDS))
        await until(lambda: found.platform.answered[-1:] and RESTARTING in str(found.platform.answered[-1]))
        assert not gate.passed
        gate.open.set()
    assert gate.passed
    assert errors(caplog) == []
    if busy is worked_on:
        assert any("/webhooks/" in one and one.startswith("PATCH") for one in found.platform.asked)


async def test_a_job_that_is_done_while_it_ends_is_done_once(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    async with told(due_job, monkeypatch, tmp_path) as (found, gate):
        gate.open.set()
    await found.bot.store.open()
    assert await left(found) == []
    await found.bot.store.close()


async def test_a_job_that_takes_too_long_is_left_for_whoever_comes_next(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(Scheduler, "stop", partialmethod(Scheduler.stop, 0.1))
    async with told(due_job, monkeypatch, tmp_path) as (found, gate):
        pass
    assert not gate.passed
    await found.bot.store.open()
    assert await left(found) == ["slow one"]
    await found.bot.store.close()
    assert errors(caplog) == []


@pytest.mark.parametrize("busy", [due_job, due_refresh, worked_on])
async def test_nothing_new_is_begun_when_it_has_been_told(
    busy: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Neither a job that is due, nor a refresh, nor what a shard that becomes ready would begin."""
    begun: list[object] = []

    async def do(job: Job, _late_by: timedelta) -> None:
        begun.append(job.key)

    async with told(busy, monkeypatch, tmp_path) as (found, gate):
        bot = found.bot
        bot.scheduler._handlers = {**bot.scheduler._handlers, "other": do}
        async with bot.store.write() as writing:
            await bot.jobs.add(writing, Job("second", "other", bot.jobs._clock.now()))
        bot.refresher.touch(6)
        await bot.on_shard_ready(0)
        for _ in range(20):  # time enough to begin it
            await left(found)
        gate.reached.clear()
        gate.open.set()
    assert begun == []
    assert not gate.reached.is_set()
    await found.bot.store.open()
    assert await left(found) == ["second"]
    await found.bot.store.close()
    assert errors(caplog) == []


@pytest.mark.parametrize("gone", [False, True])
async def test_an_event_that_fails_is_an_error_unless_the_bot_has_gone(
    gone: bool, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    bot = Running(Platform(), tmp_path, SINGLE).make_bot()
    monkeypatch.setattr(bot, "is_closed", lambda: gone)
    monkeypatch.setattr("bot.client.bot.uncaught", logging.getLogger("of this test"))
    try:
        raise LookupError("the store is closed")
    except LookupError:
        await bot.on_error("guild_join")
    assert len(errors(caplog)) == (0 if gone else 1)


async def test_what_no_task_caught_comes_to_our_own_log(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr("bot.client.run.uncaught", logging.getLogger("of this test"))

    async def fails() -> None:
        raise LookupError("nobody asked")

    before = asyncio.get_running_loop().get_exception_handler()
    async with running(Platform(), monkeypatch, tmp_path) as found:
        await found.ready()
        lost = asyncio.create_task(fails())
        await asyncio.wait((lost,))
        del lost
        gc.collect()
    told = [record for record in caplog.records if record.levelno >= logging.ERROR]
    assert [record.name for record in told] == ["of this test"]
    assert "nobody asked" in caplog.text
    assert asyncio.get_running_loop().get_exception_handler() is before


async def left(found: Running) -> list[str]:
    """The jobs of this test that are still to be done."""
    async with found.bot.store.read() as reading:
        keys = set(await reading.connection.scalars(select(table.c.key).where(table.c.done_at.is_(None))))
    return sorted(keys & {"slow one", "second"})


@asynccontextmanager
async def process(platform: Platform, patch: pytest.MonkeyPatch, folder: Path) -> AsyncIterator[Any]:
    """A process that runs, connected; afterwards it and those that it began are gone."""
    async with serving(platform, patch) as port:
        found = await asyncio.create_subprocess_exec(
            sys.executable,
            "-W",
            "error::ResourceWarning",
            str(ROOT / "tests" / "run_until_told.py"),
            str(port),
            str(folder),
            env={**os.environ, "PYTHONPATH": f"{ROOT}:{ROOT / 'tests'}"},
            cwd=folder,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.PIPE,
        )
        try:
            await asyncio.wait_for(platform.ready.wait(), 60)
            children = Path(f"/proc/{found.pid}/task/{found.pid}/children")
            begun = await workers(found.pid)
            assert begun or not children.exists()
            yield found
            await until(lambda: not [pid for pid in begun if _lives(pid)])
        finally:
            if found.returncode is None:
                found.kill()
                await found.wait()


async def workers(pid: int) -> list[int]:
    """The processes that this one has begun, where the system tells."""
    begun: list[int] = []

    def some() -> bool:
        begun[:] = [
            int(child)
            for file in Path(f"/proc/{pid}/task").glob("*/children")
            for child in file.read_text("ascii").split()
        ]
        return bool(begun)

    if Path(f"/proc/{pid}/task/{pid}/children").exists():
        await until(some)
    return begun


def _lives(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text("ascii").rpartition(")")[2].split()[0] not in "ZX"
    except OSError:
        return False


async def test_a_process_that_is_told_to_stop_ends_with_all_that_it_began(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    platform = Platform(callback_seconds=0.2)
    async with process(platform, monkeypatch, tmp_path) as found:
        await platform.emit("INTERACTION_CREATE", command(21, "ask", question=WORDS))
        await asyncio.wait_for(platform.asking.wait(), 30)
        found.send_signal(signal.SIGTERM)
        out, said = await asyncio.wait_for(found.communicate(), 60)
    assert (found.returncode, out) == (0, b"ended\n")
    assert "5MP" in str(platform.answered)
    assert b" ERROR " not in said
    assert b"Traceback" not in said
    assert TOKEN.encode() not in said


async def test_told_a_second_time_it_ends_at_once(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """It waits for an answer, which it would for ten seconds and then end by itself."""
    platform = Platform(callback_seconds=30)
    async with process(platform, monkeypatch, tmp_path) as found:
        await platform.emit("INTERACTION_CREATE", command(21, "ask", question=WORDS))
        await asyncio.wait_for(platform.asking.wait(), 30)
        found.send_signal(signal.SIGTERM)
        while b"told to stop" not in await asyncio.wait_for(found.stderr.readline(), 30):
            pass
        found.send_signal(signal.SIGTERM)
        await asyncio.wait_for(found.wait(), 60)
    assert found.returncode == -signal.SIGTERM
    assert platform.answered == []
