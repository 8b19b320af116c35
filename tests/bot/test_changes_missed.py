"""What other processes change while this one cannot hear, or writes itself, or which is much at once."""

from __future__ import annotations

import asyncio
import json
import logging
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from databases import Server, new_on_server, server
from grouped import group_at, member
from inline import ODRUN, HandClock
from logged import LINK, logged
from processes import Process, process_on, tell
from pydantic import SecretStr
from stored import DRILL, NOW, opened

from bot.results.drills import DrillPlan, DrillStage
from bot.results.place import Owner, Place
from bot.results.tally import Controller, MemberSettings, ServerSettings, Setup
from bot.services.in_step import POST
from bot.services.notices import NoticeService
from bot.services.reminders import ReminderService
from bot.services.settings import SettingsBook
from bot.storage import drills, settings
from bot.storage.address import address_of
from bot.storage.errors import UnreachableError
from bot.storage.listening import Listening
from core.drills.drill import Scoring

ROOT = Path(__file__).parents[2]
HERE = 1
WREN = Owner(HERE, 70)
BOSS = Place(HERE, 10, 900)
MEMBERS, A_DRILL = 1_000, 77
CUT = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'"
"""Ends all connections to a database, those that a store uses as well: it makes them anew by itself."""
on_postgresql = pytest.mark.postgresql


@pytest.fixture(autouse=True)
def _short_rests(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bot.storage.changes.FIRST_REST_SECONDS", 0.01)


async def open_a_drill(process: Process) -> int:
    """A drill of this server, of which the others hear: when they have missed something they refresh it."""
    async with process.store.write() as writing:
        plan = DrillPlan(DRILL, Scoring.TOTAL_CLEAN, 10, 300)
        week = timedelta(days=7)
        drill = await drills.add(writing, HERE, plan, 20, NOW, NOW + week, weekly=False, opened_by=900)
        await drills.set_stage(writing, drill.id, DrillStage.OPEN)
    return drill.id


@on_postgresql
@pytest.mark.parametrize("steady", [False, True], ids=["a new connection", "one that was tried"])
async def test_what_is_changed_while_the_connection_is_cut_is_taken_up_when_it_is_made_again(
    monkeypatch: pytest.MonkeyPatch, steady: bool
) -> None:
    beat, tried, both_tried = Listening.beat, set[Listening](), asyncio.Event()

    async def noted(listening: Listening) -> None:
        await beat(listening)
        tried.add(listening)
        if len(tried) == 2:
            monkeypatch.setattr("bot.storage.changes.BEAT_SECONDS", 3_600.0)  # not while it is cut
            both_tried.set()

    monkeypatch.setattr(Listening, "beat", noted)
    monkeypatch.setattr("bot.storage.changes.BEAT_SECONDS", 0.01 if steady else 3_600.0)
    address = new_on_server("cut")
    async with process_on(address) as one, process_on(address) as other:
        drill_id = await open_a_drill(one)
        if steady:
            await both_tried.wait()
        await other.heard()
        may_listen, listen = asyncio.Event(), other.store.listen

        async def later() -> Listening:
            await may_listen.wait()
            return await listen()

        monkeypatch.setattr(other.store, "listen", later)
        await one.in_step.close()
        server().run(CUT.format(name="cut"))
        await one.book.set_zone(BOSS, "Asia/Tokyo")
        await one.book.set_member(WREN, MemberSettings(goal=0.7))
        assert other.book.server(HERE).zone is None
        may_listen.set()
        await other.touched(drill_id)
        assert other.book.server(HERE).zone == "Asia/Tokyo"
        assert other.book.member(WREN).goal == 0.7
        assert len(other.rung) == 1, "it looks for jobs that were added meanwhile"
        await one.book.set_zone(BOSS, "Asia/Seoul")
        await other.heard()
        assert other.book.server(HERE).zone == "Asia/Seoul"


@on_postgresql
async def test_a_database_that_was_away_is_heard_again_and_its_absence_is_one_line_in_the_log(
    caplog: pytest.LogCaptureFixture,
) -> None:
    own = Server()
    try:
        own.run("CREATE DATABASE away")
        address = address_of(SecretStr(own.url("away")))
        async with process_on(address) as one:
            drill_id = await open_a_drill(one)
            await one.heard()
            tries, listen = asyncio.Semaphore(0), one.store.listen

            async def counted() -> Listening:
                tries.release()
                return await listen()

            one.store.listen = counted  # type: ignore[method-assign]
            own.stop()
            for _ in range(4):
                await tries.acquire()
            own.start()
            own.run(f"UPDATE server SET zone = 'Asia/Tokyo' WHERE id = {HERE}", database="away")
            await one.touched(drill_id)
            assert one.book.server(HERE).zone == "Asia/Tokyo"
            await one.heard()
        lines = [record for record in caplog.records if record.name == "bot.storage.changes"]
        assert [record.levelno for record in lines if record.levelno >= logging.WARNING] == [logging.WARNING]
        assert "unneeded" not in caplog.text, "the password"
    finally:
        own.remove()


@on_postgresql
async def test_a_connection_that_died_without_a_word_is_noticed_and_made_anew(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    beat, beats = Listening.beat, [True]

    async def dead_once(listening: Listening) -> None:
        if beats:
            beats.clear()
            raise UnreachableError("no answer")
        await beat(listening)

    monkeypatch.setattr(Listening, "beat", dead_once)
    monkeypatch.setattr("bot.storage.changes.BEAT_SECONDS", 0.01)
    address = new_on_server("silent")
    async with process_on(address) as one:
        drill_id = await open_a_drill(one)
        await one.touched(drill_id)
        await one.heard()
        assert not beats


@on_postgresql
async def test_a_thousand_members_changed_at_once_are_read_anew_in_a_few_pieces(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    address = new_on_server("storm")
    async with process_on(address) as one, process_on(address) as other:
        asked: list[int] = []
        reread = other.book.reread_members

        async def counted(owners: Any) -> Any:
            asked.append(len(owners))
            return await reread(owners)

        monkeypatch.setattr(other.book, "reread_members", counted)
        owners = [Owner(HERE, number) for number in range(1, MEMBERS + 1)]
        async with one.store.write() as writing:
            for owner in owners:
                await settings.set_member(writing, owner, MemberSettings(goal=0.6))
        await other.heard()
        assert all(other.book.member(owner).goal == 0.6 for owner in owners)
        assert sum(asked) >= MEMBERS
        assert len(asked) <= MEMBERS // 20, asked


@on_postgresql
async def test_what_a_process_wrote_and_could_not_take_up_it_hears_of_itself() -> None:
    async with process_on(new_on_server("itself")) as one:
        async with one.store.write() as writing:
            await settings.set_server(writing, HERE, ServerSettings(zone="Asia/Tokyo"))
        await one.heard()  # as after a commit of which it was never learnt how it ended
        assert one.book.server(HERE).zone == "Asia/Tokyo"


@on_postgresql
async def test_what_nobody_understands_does_no_harm() -> None:
    address = new_on_server("strange")
    async with process_on(address) as one:
        url = server().url("strange")
        for said in ("", "member", "member 1", "server x", "server 1 2 3", "unheard of", "later 5"):
            tell(url, said)
        await one.book.set_zone(BOSS, "Asia/Tokyo")
        async with process_on(address) as other:
            tell(url, "member 1")
            await one.book.set_zone(BOSS, "Asia/Seoul")
            tell(url, f"{POST} {HERE} {A_DRILL}")
            await other.touched(A_DRILL)
            assert other.book.server(HERE).zone == "Asia/Seoul"


async def test_what_is_read_anew_waits_for_what_this_process_is_writing(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        book = SettingsBook(store, HandClock(NOW))
        await book.set_member(WREN, MemberSettings(goal=0.5))
        async with store.write() as writing:
            rereading = asyncio.ensure_future(book.reread_members([WREN]))
            await settings.set_member(writing, WREN, MemberSettings(goal=0.7))
            for _ in range(20):  # meanwhile whoever does not wait has read what stood there before
                async with store.read() as reading:
                    await settings.of_member(reading, WREN)
            assert not rereading.done()
        book.hold(WREN, MemberSettings(goal=0.7))
        await rereading
        assert book.member(WREN).goal == 0.7


async def test_two_processes_that_change_different_settings_of_a_server_keep_both(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        one, deaf = SettingsBook(store, HandClock(NOW)), SettingsBook(store, HandClock(NOW))
        await deaf.load()
        await one.change_server(BOSS, {"coach_role": 7})
        chosen = await deaf.change_server(BOSS, {"zone": "Asia/Tokyo"})
        assert chosen == deaf.server(HERE) == ServerSettings(zone="Asia/Tokyo", coach_role=7)
        async with store.read() as reading:
            assert await settings.all_servers(reading) == {HERE: chosen}


async def test_two_processes_that_change_different_settings_of_a_member_keep_both(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        one, deaf = SettingsBook(store, HandClock(NOW)), SettingsBook(store, HandClock(NOW))
        await deaf.load()
        await one.set_member(WREN, MemberSettings(goal=0.7))
        await deaf.change_member(WREN, lambda chosen: replace(chosen, muted=True))
        assert deaf.member(WREN) == MemberSettings(goal=0.7, muted=True)
        async with store.read() as reading:
            assert await settings.of_member(reading, WREN) == deaf.member(WREN)


async def test_what_a_member_does_does_not_undo_what_they_chose_in_another_process(tmp_path: Path) -> None:
    async with group_at(tmp_path) as group:
        place, jobs, book = member(70), group.jobs, group.bench.book
        elsewhere = SettingsBook(group.bench.store, group.bench.clock)
        drill = await group.open()
        await elsewhere.change_member(place.owner, lambda chosen: replace(chosen, goal=0.7))
        await group.part.list_me(place, drill.id, True, group.event())
        await elsewhere.change_member(place.owner, lambda chosen: replace(chosen, zone="Asia/Tokyo"))
        entry = replace(LINK, what="Odrun: 5MP, 2MP", controller=Controller.STICK)
        logged(await group.log.log(place, entry, group.event()))
        await elsewhere.change_member(place.owner, lambda chosen: replace(chosen, character=ODRUN))
        notices = NoticeService(jobs, book, group.bench.clock)
        reminders = ReminderService(group.bench.store, book, group.bench.clock, notices)
        await reminders.mute(place, True, group.event())
        setup = Setup(controller=Controller.STICK)
        wanted = MemberSettings(ODRUN, 0.7, setup, "Asia/Tokyo", listed=True, muted=True)
        async with group.bench.store.read() as reading:
            assert await settings.of_member(reading, place.owner) == wanted
        assert book.member(place.owner) == wanted


async def test_where_a_file_has_one_process_nothing_listens_and_nothing_is_told(tmp_path: Path) -> None:
    database = address_of(tmp_path / "cornerman.db")
    async with process_on(database, lambda server_id: server_id != HERE) as one:
        one.watch.touch(HERE, [5])
        assert asyncio.all_tasks() == {asyncio.current_task()}
        assert one.posts == []


@pytest.fixture
def living() -> Iterator[Any]:
    """Begins processes, which end with the test."""
    begun: list[subprocess.Popen[str]] = []

    def begin(url: str, shards: str) -> subprocess.Popen[str]:
        script = ROOT / "tests" / "processes.py"
        path = os.pathsep.join((str(ROOT), str(ROOT / "tests")))
        pipes: dict[str, Any] = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
        arguments = [sys.executable, str(script), url, shards]
        begun.append(subprocess.Popen(arguments, env={**os.environ, "PYTHONPATH": path}, **pipes))
        return begun[-1]

    yield begin
    for process in begun:
        process.kill()
        process.communicate()


def said(process: subprocess.Popen[str]) -> dict[str, Any]:
    assert process.stdout is not None
    answer: dict[str, Any] = json.loads(process.stdout.readline())
    return answer


def ask(process: subprocess.Popen[str], line: str) -> None:
    assert process.stdin is not None
    process.stdin.write(f"{line}\n")
    process.stdin.flush()
    assert said(process) == {"did": line}


@on_postgresql
def test_real_processes_hear_of_each_other_and_the_rest_go_on_when_one_is_killed(living: Any) -> None:
    new_on_server("real")
    url = server().url("real")
    one, other, third = (living(url, shards) for shards in ("0/3", "1/3", "2/3"))
    own = {process: said(process)["holds"] for process in (one, other, third)}
    ask(one, f"zone {own[other]} Asia/Tokyo")
    ask(one, f"goal {own[other]} 2 0.7")
    tell(url, f"{POST} {own[other]} 5")
    seen = said(other)
    assert (seen["zones"][str(own[other])], seen["goals"]["2"]) == ("Asia/Tokyo", 0.7)
    one.kill()
    one.wait()
    ask(other, f"zone {own[third]} Asia/Seoul")
    tell(url, f"{POST} {own[third]} 6")
    seen = said(third)
    assert seen["zones"][str(own[third])] == "Asia/Seoul"
    assert seen["zones"][str(own[other])] == "Asia/Tokyo"
