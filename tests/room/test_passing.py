"""Time goes by in the room, and what is due on the way is done at its own time."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import discord
import pytest
import simcord
from stored import opened

from bot.client.bot import INTENTS
from bot.results.job import Job
from bot.room import world
from bot.room.passing import SHORTLY_AFTER, Passing
from bot.room.world import BEGIN, RoomClock
from bot.scheduler.scheduler import Scheduler
from bot.services.jobs import FIRST_REST, JobService
from bot.services.retention import JOB as RETENTION
from bot.storage.store import Store

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)


class Bot(discord.Client):
    """Adds the jobs that are wanted when somebody speaks, and keeps what was done and when."""

    def __init__(self, store: Store, clock: RoomClock) -> None:
        super().__init__(intents=INTENTS)
        self.clock = clock
        self.store = store
        self.jobs = JobService(store, clock)
        self.scheduler = Scheduler(self.jobs, clock, {"once": self.do, "daily": self.do, RETENTION: self.do})
        self.wanted: tuple[Job, ...] = ()
        self.done: list[tuple[str, datetime]] = []
        self.refused = 0

    async def on_ready(self) -> None:
        self.scheduler.start()

    async def on_message(self, _: discord.Message) -> None:
        await self.add(*self.wanted)

    async def add(self, *jobs: Job) -> None:
        async with self.store.write() as writing:
            for job in jobs:
                await self.jobs.add(writing, job)

    async def do(self, job: Job, _late_by: timedelta) -> None:
        if self.refused:
            self.refused -= 1
            raise RuntimeError("not yet")
        self.done.append((job.key, self.clock.now()))
        if job.kind == "daily":
            await self.add(Job(f"{job.key}'", "daily", job.due_at + DAY))


@dataclass(frozen=True, slots=True)
class Room:
    """The room, and a member in it."""

    passing: Passing
    bot: Bot
    member: simcord.MemberActor
    channel: simcord.ChannelHandle

    async def add(self, *jobs: Job) -> None:
        self.bot.wanted = jobs
        await self.member.send(self.channel, "let there be jobs")

    @property
    def done(self) -> list[tuple[str, datetime]]:
        return self.bot.done

    @property
    def keys(self) -> list[str]:
        return [key for key, _ in self.done]


@pytest.fixture
async def store(tmp_path: Path) -> AsyncIterator[Store]:
    async with opened(tmp_path) as found:
        yield found


@pytest.fixture
def simcord_bot(store: Store) -> Bot:
    return Bot(store, RoomClock())


@pytest.fixture
async def room(simcord_env: simcord.Env, simcord_bot: Bot) -> Room:
    simcord_bot.clock.env = simcord_env
    guild = simcord_env.create_guild("Pier")
    channel = guild.create_text_channel("drills")
    member = guild.add_member(simcord_env.create_user("ann"))
    await simcord_env.settle()
    return Room(Passing(simcord_env, simcord_bot.clock, simcord_bot.jobs), simcord_bot, member, channel)


def assert_done_in_time(room: Room, moments: list[datetime]) -> None:
    assert len(room.done) == len(moments)
    for (key, done_at), due_at in zip(room.done, moments, strict=True):
        assert due_at <= done_at < due_at + MINUTE, key


async def test_the_next_thing_happens_and_no_other(room: Room) -> None:
    await room.add(Job("later", "once", BEGIN + 5 * HOUR), Job("first", "once", BEGIN + 2 * HOUR))
    assert await room.passing.to_next()
    assert room.keys == ["first"]
    assert BEGIN + 2 * HOUR < room.passing.clock.now() < BEGIN + 3 * HOUR
    assert await room.passing.to_next()
    assert_done_in_time(room, [BEGIN + 2 * HOUR, BEGIN + 5 * HOUR])


async def test_housekeeping_on_the_way_is_done_and_does_not_count_as_something(room: Room) -> None:
    moments = [BEGIN + HOUR, BEGIN + 2 * HOUR]
    await room.add(Job("unseen", RETENTION, moments[0]), Job("first", "once", moments[1]))
    assert await room.passing.to_next()
    assert room.keys == ["unseen", "first"]
    assert_done_in_time(room, moments)
    await room.add(Job("unseen again", RETENTION, BEGIN + DAY))
    assert not await room.passing.to_next()


async def test_where_nothing_waits_no_time_goes_by(room: Room) -> None:
    before = room.passing.env.now()
    assert not await room.passing.to_next()
    assert room.passing.env.now() == before


async def test_what_is_due_while_a_week_goes_by_is_done_at_its_own_time(room: Room) -> None:
    moments = [BEGIN + HOUR, BEGIN + 50 * HOUR, BEGIN + 51 * HOUR, BEGIN + 6 * DAY]
    await room.add(*(Job(f"{due_at}", "once", due_at) for due_at in moments))
    await room.add(Job("after it", "once", BEGIN + 8 * DAY))
    await room.passing.by(7 * DAY)
    assert_done_in_time(room, moments)
    assert BEGIN + 7 * DAY <= room.passing.clock.now() < BEGIN + 7 * DAY + HOUR


async def test_each_has_a_leap_of_its_own(room: Room, monkeypatch: pytest.MonkeyPatch) -> None:
    """For the simulator allows only so long for all that one sets going."""
    leap, landed = room.passing.env.advance_time, list[datetime]()

    async def advance_time(seconds: float) -> None:
        await leap(seconds)
        landed.append(room.passing.env.now())

    monkeypatch.setattr(room.passing.env, "advance_time", advance_time)
    moments = [BEGIN + HOUR, BEGIN + 50 * HOUR]
    await room.add(*(Job(f"{due_at}", "once", due_at) for due_at in moments))
    await room.passing.by(7 * DAY)
    assert len(landed) == 3
    for landing, due_at in zip(landed, moments, strict=False):
        assert abs(landing - due_at - SHORTLY_AFTER) < MINUTE


async def test_what_leads_to_the_next_is_followed(room: Room) -> None:
    await room.add(Job("day", "daily", BEGIN + HOUR))
    await room.passing.by(7 * DAY)
    assert_done_in_time(room, [BEGIN + HOUR + each * DAY for each in range(7)])


async def test_what_was_done_is_done_in_time_however_long_the_room_stood_open(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    began = world._real_seconds()
    await room.add(Job("day", "daily", BEGIN + 2 * HOUR))
    await room.passing.env.settle()
    monkeypatch.setattr(world, "_real_seconds", lambda: began + 3000)  # somebody looked around
    await room.passing.to_next()
    assert_done_in_time(room, [BEGIN + 2 * HOUR])
    monkeypatch.setattr(world, "_real_seconds", lambda: began + 6000)
    await room.passing.by(2 * DAY)
    assert_done_in_time(room, [BEGIN + 2 * HOUR + each * DAY for each in range(3)])


async def test_what_fails_is_tried_again_and_holds_nothing_up(room: Room) -> None:
    room.bot.refused = 1
    await room.add(Job("first", "once", BEGIN + HOUR), Job("second", "once", BEGIN + 2 * HOUR))
    await room.passing.by(DAY)
    assert room.keys == ["first", "second"]
    assert room.done[0][1] < BEGIN + HOUR + 2 * FIRST_REST


async def test_what_nobody_does_holds_nothing_up(room: Room) -> None:
    await room.add(Job("x", "unheard of", BEGIN + HOUR))
    await room.passing.by(DAY)
    assert room.passing.env.now() >= BEGIN + DAY
