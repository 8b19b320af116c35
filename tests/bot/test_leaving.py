"""A server that was left is forgotten after a while: all of it, and nothing of another one."""

from __future__ import annotations

from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from inline import Bench, bench_at
from sqlalchemy import Boolean, Float, String, Table, insert, select

from bot.components.drill_post import post_key, recap_key
from bot.results.job import Job
from bot.results.place import DIRECT_MESSAGES, Place
from bot.results.tally import MemberSettings, ServerSettings
from bot.services.jobs import JobService
from bot.services.leaving import GRACE, JOB, LeavingService
from bot.storage.base import UtcDateTime
from bot.storage.leaving import POSTS_OF_DRILLS
from bot.storage.schema import event, metadata, post

NOW = datetime(2026, 1, 14, 20, tzinfo=UTC)
OLD = NOW - timedelta(days=31)
LEFT, OTHER = 5, 6
DAY = timedelta(days=1)
OF_NO_SERVER = {event.name, post.name}
"""Tables whose rows name no server; posts are put in beside the rows that they are about."""


def everywhere(_: int) -> bool:
    """A process that holds all servers."""
    return True


@pytest.fixture
async def bench(tmp_path: Path) -> AsyncIterator[Bench]:
    async with bench_at(tmp_path, NOW) as bench:
        yield bench


@pytest.fixture
def jobs(bench: Bench) -> JobService:
    return JobService(bench.store, bench.clock)


@pytest.fixture
def service(bench: Bench, jobs: JobService) -> LeavingService:
    return LeavingService(bench.store, jobs, bench.clock)


def row_of(table: Table, server_id: int) -> dict[str, Any]:
    """A row of this server, whose keys are the server's number."""
    values: dict[str, Any] = {}
    for column in table.columns:
        if column.foreign_keys or column.name == "server_id" or column.primary_key:
            words = isinstance(column.type, String)
            values[column.name] = f"of {server_id}" if words else server_id
        elif isinstance(column.type, UtcDateTime):
            values[column.name] = OLD
        elif isinstance(column.type, Boolean):
            values[column.name] = False
        elif isinstance(column.type, String):
            values[column.name] = f"of {server_id}"
        elif isinstance(column.type, Float):
            values[column.name] = 0.5
        else:
            values[column.name] = server_id
    return values


async def fill(bench: Bench, server_id: int, posts_at: datetime = OLD) -> None:
    """One row in each table there is, all of this server and of one member there."""
    keys = [
        post_key(server_id),
        recap_key(server_id),
        f"welcome:{server_id}:1",
        f"patch:{server_id}:1:2:3",
        f"notice:due-now:{server_id}:1",
    ]
    async with bench.store.write() as writing:
        for table in metadata.sorted_tables:
            if table.name not in OF_NO_SERVER:
                await writing.connection.execute(insert(table), row_of(table, server_id))
        for key in keys:
            values = {"key": key, "channel_id": server_id, "made_at": posts_at}
            await writing.connection.execute(insert(post), values)


async def dump(bench: Bench) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table."""
    async with bench.store.read() as reading:
        return {
            table.name: [
                tuple(row)
                for row in await reading.connection.execute(select(table).order_by(*table.primary_key))
            ]
            for table in metadata.sorted_tables
        }


async def due(jobs: JobService) -> list[Job]:
    """What is due, taken one after the other."""
    found = []
    while (claimed := (await jobs.claim())[0]) is not None:
        found.append(claimed.job)
    return found


async def test_all_of_the_server_goes_from_every_table_and_all_of_another_stays_as_it_is(
    bench: Bench, service: LeavingService
) -> None:
    await fill(bench, OTHER, posts_at=NOW)
    before = await dump(bench)
    await fill(bench, LEFT)
    filled = await dump(bench)
    assert all(len(rows) > len(before[name]) for name, rows in filled.items() if name != event.name), (
        "of each"
    )
    await service.forget(LEFT)
    assert await dump(bench) == before


async def test_forgetting_twice_is_as_forgetting_once(bench: Bench, service: LeavingService) -> None:
    await fill(bench, OTHER, posts_at=NOW)
    before = await dump(bench)
    await fill(bench, LEFT)
    await service.forget(LEFT)
    await service.forget(LEFT)
    assert await dump(bench) == before


async def test_many_tallies_go_in_pieces(
    bench: Bench, service: LeavingService, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.services.retention.AT_ONCE", 2)
    before = await dump(bench)
    await fill(bench, LEFT)
    async with bench.store.write() as writing:
        tally = metadata.tables["tally"]
        for number in range(100, 105):
            row = row_of(tally, LEFT) | {"id": number, "event_id": number}
            await writing.connection.execute(insert(tally), row)
    await service.forget(LEFT)
    assert await dump(bench) == before


async def test_a_server_that_was_left_is_due_to_be_forgotten_thirty_days_later(
    bench: Bench, service: LeavingService, jobs: JobService
) -> None:
    await bench.book.set_server(LEFT, ServerSettings(zone="UTC"))
    await service.left(LEFT)
    bench.clock.time += GRACE - DAY
    await service.left(LEFT)  # told again, as after each start
    assert await due(jobs) == []
    bench.clock.time += DAY
    (job,) = await due(jobs)
    assert (job.kind, job.payload) == (JOB, {"server": LEFT})


async def test_nothing_is_planned_for_a_server_of_which_nothing_is_kept(
    bench: Bench, service: LeavingService, jobs: JobService
) -> None:
    await service.left(LEFT)
    bench.clock.time += GRACE
    assert await due(jobs) == []


async def test_a_server_that_takes_the_bot_back_is_not_forgotten(
    bench: Bench, service: LeavingService, jobs: JobService
) -> None:
    await bench.book.set_server(LEFT, ServerSettings(zone="UTC"))
    await service.left(LEFT)
    await service.back(LEFT)
    bench.clock.time += GRACE
    assert await due(jobs) == []
    await service.left(LEFT)  # and when it leaves once more it has all the time again
    assert await due(jobs) == []
    bench.clock.time += GRACE
    assert len(await due(jobs)) == 1


async def test_what_happened_while_the_bot_was_away_is_taken_up(
    bench: Bench, service: LeavingService, jobs: JobService
) -> None:
    for server_id in (LEFT, OTHER):
        await bench.book.set_server(server_id, ServerSettings(zone="UTC"))
    await bench.book.set_member(Place(None, 1, 9).owner, MemberSettings(goal=0.7))
    await service.left(OTHER)  # and it came back while nobody saw
    await service.compare([OTHER, 7], everywhere)
    await service.compare([OTHER, 7], everywhere)
    bench.clock.time += GRACE
    assert [job.payload["server"] for job in await due(jobs)] == [LEFT]


async def test_a_process_draws_no_conclusions_on_servers_that_another_one_holds(
    bench: Bench, service: LeavingService, jobs: JobService
) -> None:
    for server_id in (LEFT, OTHER):
        await bench.book.set_server(server_id, ServerSettings(zone="UTC"))
    await service.compare([], lambda server_id: server_id == LEFT)
    bench.clock.time += GRACE
    assert [job.payload["server"] for job in await due(jobs)] == [LEFT]


async def test_what_is_kept_of_direct_messages_is_of_no_server(bench: Bench, service: LeavingService) -> None:
    await bench.book.set_member(Place(None, 1, 9).owner, MemberSettings(goal=0.7))
    before = await dump(bench)
    await service.compare([], everywhere)
    assert await dump(bench) == before
    assert any(row[0] == DIRECT_MESSAGES for row in before["server"])


async def test_whoever_holds_the_server_in_memory_is_told(bench: Bench, service: LeavingService) -> None:
    await bench.book.set_server(LEFT, ServerSettings(zone="Asia/Tokyo"))
    await bench.book.set_member(Place(LEFT, 1, 9).owner, MemberSettings(goal=0.7))
    service.forget_with(bench.book.drop_server)
    await service.forget(LEFT)
    assert bench.book.server(LEFT) == ServerSettings()
    assert bench.book.member(Place(LEFT, 1, 9).owner) == MemberSettings()
    assert bench.book.home(Place(None, 1, 9)).owner == Place(None, 1, 9).owner


def test_the_keys_of_posts_of_drills_are_those_that_chat_gives_them() -> None:
    assert tuple(f"{begin}7" for begin in POSTS_OF_DRILLS) == (post_key(7), recap_key(7))
