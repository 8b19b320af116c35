"""A post stands once, wherever the process dies between deciding on it and noting that it stands."""

from __future__ import annotations

import asyncio
import random
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from scheduling import Channels, HandTime
from stored import NOW, opened

from bot.results.job import Job
from bot.scheduler.scheduler import Scheduler
from bot.services.jobs import LEASE, JobService
from bot.services.posts import CLOCKS_DIFFER, PostService, marker_of
from bot.storage import jobs as rows
from bot.storage.address import Address
from bot.storage.store import Store, Writing

CHANNEL = 9
HOUR = timedelta(hours=1)
SEED = 20260101


class Died(BaseException):
    """The process is gone: no handler of exceptions sees this one."""


class Life:
    """Counts the steps to the world that a process takes, and ends it before or after one of them."""

    def __init__(self, dies_at: int | None = None) -> None:
        self.steps = 0
        self.dies_at = dies_at

    def step(self) -> None:
        if self.steps == self.dies_at:
            raise Died
        self.steps += 1


class MortalStore(Store):
    """May die before each transaction that writes, and after each."""

    life = Life()

    @asynccontextmanager
    async def write(self, event_id: int | None = None) -> AsyncIterator[Writing]:
        self.life.step()
        async with super().write(event_id) as writing:
            yield writing
        self.life.step()

    @asynccontextmanager
    async def write_beside(self) -> AsyncIterator[Writing]:
        self.life.step()
        async with super().write_beside() as writing:
            yield writing
        self.life.step()


class MortalChannels(Channels):
    """May die before and after each message that is sent, and before each look."""

    life = Life()

    async def post(self, channel_id: int, marker: str, content: str) -> int:
        self.life.step()
        number = await super().post(channel_id, marker, content)
        self.life.step()
        return number

    async def find(self, channel_id: int, marker: str, since: datetime) -> int | None:
        self.life.step()
        return await super().find(channel_id, marker, since)


async def live(address: Address, time: HandTime, channels: MortalChannels, life: Life) -> None:
    """A process does what is due: posts what each job says, and after the first adds one that follows it."""
    store = MortalStore(address)
    await store.open()
    store.life = channels.life = life
    jobs, posts = JobService(store, time), PostService(store, time, channels)

    async def post(job: Job, _late_by: timedelta) -> None:
        message_id = await posts.post_once(f"post of {job.key}", CHANNEL, job.key)
        assert channels.posted[message_id - 1][2] == job.key
        if job.kind == "first":
            async with store.write() as writing:
                await jobs.add(writing, Job(f"after {job.key}", "second", job.due_at + timedelta(seconds=1)))

    scheduler = Scheduler(jobs, time, {"first": post, "second": post}, time)
    try:
        scheduler.start()
        await time.pass_by(minutes=1)
        await scheduler.stop()
    except Died:
        pass
    finally:
        for timer in time.waiting:
            timer.cancel()
        store.life = Life()
        await store.close()


async def lives_until_all_is_done(folder: Path, deaths: list[int]) -> tuple[list[str], int]:
    """What is posted after lives that end at these steps, and a last one that nothing ends; its steps."""
    time, channels, life = HandTime(), MortalChannels(), Life()
    async with opened(folder) as store, store.write() as writing:
        await rows.add(writing, Job("a", "first", NOW - HOUR))
    for death in deaths:
        await live(store.address, time, channels, Life(death))
        await time.jump(seconds=LEASE.total_seconds())
    await live(store.address, time, channels, life)
    async with opened(folder) as store, store.read() as reading:
        assert await rows.earliest(reading) is None
    return channels.contents, life.steps


async def test_a_death_at_any_step_neither_loses_nor_doubles_a_post(tmp_path: Path) -> None:
    (tmp_path / "whole").mkdir()
    whole, steps = await lives_until_all_is_done(tmp_path / "whole", [])
    assert whole == ["a", "after a"]
    assert steps > 20
    for death in range(steps):
        folder = tmp_path / str(death)
        folder.mkdir()
        posted, _ = await lives_until_all_is_done(folder, [death])
        assert posted == whole, death


async def test_many_deaths_in_a_row_neither_lose_nor_double_a_post(tmp_path: Path) -> None:
    chance = random.Random(SEED)
    for number in range(25):
        deaths = [chance.randint(0, 14) for _ in range(4)]
        folder = tmp_path / str(number)
        folder.mkdir()
        posted, _ = await lives_until_all_is_done(folder, deaths)
        assert posted == ["a", "after a"], deaths


async def test_a_post_is_sent_once_and_its_message_remembered(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        channels = Channels([(1, "x", "another's")])
        posts = PostService(store, HandTime(), channels)
        assert await posts.noted("recap") is None
        assert await posts.post_once("recap", CHANNEL, "first") == 2
        assert await posts.post_once("recap", CHANNEL, "first, as it would be now") == 2
        noted = await posts.noted("recap")
        assert noted is not None
        assert noted.message_id == 2
        assert await posts.post_once("recap 2", CHANNEL, "second") == 3
    assert channels.contents == ["another's", "first", "second"]
    assert channels.looked_since == []  # nothing was in doubt


async def test_posts_with_one_key_at_once_are_one(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        channels = Channels()
        posts = PostService(store, HandTime(), channels)
        found = await asyncio.gather(*(posts.post_once("recap", CHANNEL, "it") for _ in range(5)))
    assert found == [1] * 5
    assert channels.contents == ["it"]


async def test_a_post_in_doubt_is_looked_for_since_it_was_first_reserved_where_it_was(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        time, channels = HandTime(), Channels()
        posts = PostService(store, time, channels)
        real, answers = channels.post, [False, True]

        async def loses_the_answer(channel_id: int, marker: str, content: str) -> int:
            arrived = answers.pop(0)
            if arrived:
                await real(channel_id, marker, content)
            raise ConnectionResetError

        for channel in (1, 2):  # the first was never sent, the second was, and we were not told
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(Channels, "post", lambda _self, *args: loses_the_answer(*args))
                with pytest.raises(ConnectionResetError):
                    await posts.post_once("recap", channel, "it")
            await time.jump(hours=1)
        assert await posts.post_once("recap", 3, "it") == 1
    assert channels.posted == [(2, marker_of("recap"), "it")]
    assert channels.looked_since == [NOW - CLOCKS_DIFFER] * 2


def test_a_marker_fits_the_platform_and_is_that_of_its_key() -> None:
    # reference/discord-openapi.json: the nonce of a new message has at most 25 characters
    markers = {marker_of(f"drill {number} recap") for number in range(1_000)}
    assert len(markers) == 1_000
    assert {len(marker) for marker in markers} == {20}
    assert marker_of("drill 1 recap") in markers
