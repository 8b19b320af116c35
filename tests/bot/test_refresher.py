"""A post that many log under is brought up to date: soon, seldom, and always after the last of them."""

from __future__ import annotations

import asyncio
import random
from itertools import pairwise

import pytest
from scheduling import HandTime, HandTimer

from bot.ports import StorageError
from bot.scheduler import refresher as module
from bot.scheduler.refresher import EVERY_SECONDS, FIRST_SECONDS, MOST_RETRIES, Refresher

SEED = 20260101
TURNS = 20


async def turns() -> None:
    """Let all go on that can."""
    for _ in range(TURNS):
        await asyncio.sleep(0)


class Time(HandTime):
    """Lets what a timer began go on before the next one rings."""

    async def _ring(self, timer: HandTimer) -> None:
        await super()._ring(timer)
        await turns()


class Post:
    """Keeps when each number was refreshed. The first `failing` refreshes fail with `error`; while it is
    `held`, a refresh that has begun does not end."""

    def __init__(self, failing: int = 0, error: type[Exception] = RuntimeError) -> None:
        self.time = Time()
        self.error = error
        self.failing = failing
        self.held: asyncio.Event | None = None
        self.begun: list[tuple[int, float]] = []
        self.ended = 0
        self.running: set[int] = set()
        self.refresher = Refresher(self.refresh, self.time)

    async def refresh(self, number: int) -> None:
        assert number not in self.running
        self.running.add(number)
        self.begun.append((number, self.time.passed))
        try:
            if self.held is not None:
                await self.held.wait()
            if len(self.begun) <= self.failing:
                raise self.error("the platform is away")
        finally:
            self.running.remove(number)
        self.ended += 1

    @property
    def moments(self) -> list[float]:
        return [moment for _, moment in self.begun]


async def test_one_change_is_shown_soon_and_once() -> None:
    post = Post()
    post.refresher.touch(7)
    await post.time.pass_by(seconds=FIRST_SECONDS - 0.1)
    assert post.begun == []
    await post.time.pass_by(seconds=60)
    assert post.begun == [(7, FIRST_SECONDS)]
    assert post.time.waiting == []


async def test_many_changes_at_once_are_shown_together() -> None:
    post = Post()
    for _ in range(50):
        post.refresher.touch(7)
        await post.time.pass_by(seconds=0.02)
    await post.time.pass_by(seconds=60)
    assert post.moments == [FIRST_SECONDS]


async def test_a_stream_of_changes_is_shown_every_so_often_and_to_the_last() -> None:
    post = Post()
    for _ in range(25):
        post.refresher.touch(7)
        await post.time.pass_by(seconds=1)
    await post.time.pass_by(seconds=60)
    assert post.moments == [FIRST_SECONDS + EVERY_SECONDS * each for each in range(4)]


async def test_after_a_rest_the_next_change_is_shown_soon_again() -> None:
    post = Post()
    post.refresher.touch(7)
    await post.time.pass_by(seconds=60)
    post.refresher.touch(7)
    await post.time.pass_by(seconds=60)
    assert post.moments == [FIRST_SECONDS, 60 + FIRST_SECONDS]


async def test_numbers_do_not_wait_for_each_other() -> None:
    post = Post()
    post.held = asyncio.Event()
    post.refresher.touch(7)
    post.refresher.touch(8)
    await post.time.pass_by(seconds=FIRST_SECONDS)
    assert post.begun == [(7, FIRST_SECONDS), (8, FIRST_SECONDS)]
    post.held.set()
    await post.refresher.stop()


async def test_a_change_while_it_is_being_shown_is_shown_after_it() -> None:
    post = Post()
    post.held = asyncio.Event()
    post.refresher.touch(7)
    await post.time.pass_by(seconds=3)
    post.refresher.touch(7)
    await post.time.pass_by(seconds=60)  # it takes longer than the rest between two
    assert len(post.begun) == 1
    post.held.set()
    await turns()
    assert post.moments == [FIRST_SECONDS, 63]
    await post.time.pass_by(seconds=60)
    assert len(post.begun) == 2
    assert post.time.waiting == []


async def test_what_failed_is_tried_again_after_the_rest(caplog: pytest.LogCaptureFixture) -> None:
    post = Post(failing=2)
    post.refresher.touch(7)
    await post.time.pass_by(minutes=5)
    assert post.moments == [FIRST_SECONDS + EVERY_SECONDS * each for each in range(3)]
    assert post.ended == 1
    assert caplog.text.count("the platform is away") == 2


async def test_what_fails_always_is_given_up_until_it_changes_again(
    caplog: pytest.LogCaptureFixture,
) -> None:
    post = Post(failing=1 + MOST_RETRIES)
    post.refresher.touch(7)
    await post.time.pass_by(minutes=5)
    assert len(post.begun) == 1 + MOST_RETRIES
    assert [record.levelname for record in caplog.records] == ["WARNING"] * MOST_RETRIES + ["ERROR"]
    assert post.time.waiting == []
    post.refresher.touch(7)
    await post.time.pass_by(minutes=5)
    assert post.ended == 1


async def test_what_fails_for_the_database_is_tried_for_as_long_as_that_does(
    caplog: pytest.LogCaptureFixture,
) -> None:
    post = Post(failing=100, error=StorageError)
    post.refresher.touch(7)
    await post.time.pass_by(seconds=99 * EVERY_SECONDS + FIRST_SECONDS)
    assert post.ended == 0
    await post.time.pass_by(seconds=2 * EVERY_SECONDS)
    assert (len(post.begun), post.ended) == (101, 1)
    assert caplog.records == [], "the database's trouble is in the log already, once"


async def test_what_is_to_be_at_once_is_so_or_as_soon_as_the_database_works() -> None:
    post = Post(failing=2, error=StorageError)
    await post.refresher.now(7)
    assert post.moments == [0]
    await post.time.pass_by(seconds=60)
    assert post.moments == [0, FIRST_SECONDS, FIRST_SECONDS + EVERY_SECONDS]
    await post.refresher.now(8)
    assert post.begun[-1] == (8, 60)
    await post.refresher.stop()
    await post.refresher.now(9)
    assert post.begun[-1] == (8, 60)


async def test_one_that_fails_leaves_the_others_alone() -> None:
    post = Post(failing=1)
    post.refresher.touch(7)
    await post.time.pass_by(seconds=0.1)
    post.refresher.touch(8)
    await post.time.pass_by(seconds=2)
    assert [number for number, _ in post.begun] == [7, 8]
    assert post.ended == 1
    await post.refresher.stop()


async def test_it_ends_with_what_is_being_shown_and_begins_nothing_more() -> None:
    post = Post()
    post.held = asyncio.Event()
    post.refresher.touch(7)
    await post.time.pass_by(seconds=2)
    post.refresher.touch(7)
    post.refresher.touch(8)
    stopping = asyncio.create_task(post.refresher.stop())
    await turns()
    assert not stopping.done()
    assert post.time.waiting == []
    post.held.set()
    await stopping
    assert post.ended == 1
    post.refresher.touch(9)
    await post.time.pass_by(minutes=1)
    assert post.begun == [(7, FIRST_SECONDS)]


async def test_what_does_not_end_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "FINISH_SECONDS", 0.0)
    post = Post()
    post.held = asyncio.Event()
    post.refresher.touch(7)
    await post.time.pass_by(seconds=2)
    await post.refresher.stop()
    assert (post.ended, post.running) == (0, set())


async def test_however_changes_come_the_last_is_shown_and_none_too_often() -> None:
    chance = random.Random(SEED)
    for _ in range(50):
        post = Post(failing=chance.choice([0, 0, 1, 2]))
        last: dict[int, float] = {}
        for _ in range(30):
            number = chance.randint(1, 3)
            post.refresher.touch(number)
            last[number] = post.time.passed
            await post.time.pass_by(seconds=chance.choice([0.0, 0.3, 2.0, 9.9, 10.0, 25.0]))
        await post.time.pass_by(minutes=2)
        for number, touched in last.items():
            moments = [moment for one, moment in post.begun if one == number]
            assert touched < moments[-1] <= touched + EVERY_SECONDS * (1 + MOST_RETRIES)
            between = [later - moment for moment, later in pairwise(moments)]
            assert all(seconds >= EVERY_SECONDS - 1e-6 for seconds in between)
        assert post.time.waiting == []
