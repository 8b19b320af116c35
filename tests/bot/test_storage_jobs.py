"""Jobs and posts as rows: added once, taken in order by one, done once; none of them names a member."""

from __future__ import annotations

import asyncio
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from databases import uses_postgresql
from hypothesis import settings as run_settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from raw import rows_in
from sqlalchemy import Connection, inspect, text
from stored import NOW, WREN, opened, tally

from bot.results.job import Claim, Job
from bot.storage import jobs, posts, privacy, tallies
from bot.storage.jobs import LONGEST_LEASE
from bot.storage.store import Store

LEASE = timedelta(minutes=3)
MINUTE = timedelta(minutes=1)


def job(key: str = "drill 1 end", minutes: int = 0, **others: Any) -> Job:
    """A job that is due so many minutes from now."""
    return Job(key, "drill end", NOW + minutes * MINUTE, **others)


async def add(store: Store, *added: Job) -> None:
    async with store.write() as writing:
        for each in added:
            await jobs.add(writing, each)


async def claim(store: Store, minutes: float = 0, most: int = 1, token: str = "a") -> list[Claim]:
    async with store.write() as writing:
        return list(await jobs.claim(writing, token, NOW + minutes * MINUTE, LEASE, most))


async def done(store: Store, claimed: Claim) -> bool:
    async with store.write() as writing:
        return await jobs.done(writing, claimed, NOW)


async def earliest(store: Store) -> datetime | None:
    async with store.read() as reading:
        return await jobs.earliest(reading)


async def keys(store: Store) -> list[str]:
    async with store.read() as reading:
        return list(await reading.connection.scalars(text("SELECT key FROM job ORDER BY key")))


async def test_a_job_comes_back_as_it_was_added(tmp_path: Path) -> None:
    added = job(payload={"drill": 7, "last": True, "why": "Wöche"}, server_id=5)
    async with opened(tmp_path) as store:
        await add(store, added)
        (claimed,) = await claim(store)
    assert (claimed.job, claimed.token, claimed.failures) == (added, "a", 0)


async def test_jobs_are_taken_when_they_are_due_in_the_order_in_which_they_are(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await add(store, job("c", 3), job("a", 1), job("b", 2), job("same", 2), job("later", 9))
        assert await earliest(store) == NOW + MINUTE
        assert await claim(store, 0.99) == []
        assert [each.job.key for each in await claim(store, 3, most=9)] == ["a", "b", "same", "c"]
        assert await claim(store, 3) == []


async def test_a_job_with_the_same_key_takes_the_place_of_the_one_before(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await add(store, job(minutes=5), job(minutes=60, payload={"drill": 8}))
        assert await claim(store, 59) == []
        (claimed,) = await claim(store, 60)
        assert claimed.job.payload == {"drill": 8}


async def test_the_very_same_job_again_changes_nothing_also_when_it_was_done(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await add(store, job())
        (claimed,) = await claim(store)
        await add(store, job())
        assert await claim(store, token="b") == []
        assert await done(store, claimed)
        await add(store, job())
        assert await claim(store, 600) == []
        await add(store, job(minutes=1))
        assert len(await claim(store, 600)) == 1


async def test_a_job_that_is_moved_while_it_is_done_is_done_again_at_its_new_time(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await add(store, job())
        (claimed,) = await claim(store)
        await add(store, job(minutes=10))
        assert not await done(store, claimed)
        assert await earliest(store) == NOW + 10 * MINUTE
        assert len(await claim(store, 10)) == 1


async def test_who_takes_a_job_holds_it_for_the_lease_and_no_longer(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await add(store, job())
        (first,) = await claim(store)
        assert await earliest(store) == NOW + LEASE
        assert await claim(store, 2.99, token="b") == []
        (second,) = await claim(store, 3, token="b")
        assert not await done(store, first)
        assert await done(store, second)
        assert not await done(store, second)
        assert await earliest(store) is None


async def test_of_two_stores_that_claim_at_once_each_gets_other_jobs(tmp_path: Path) -> None:
    async with opened(tmp_path) as store, opened(tmp_path) as other:
        await add(store, *(job(str(number), -number) for number in range(12)))
        taken = await asyncio.gather(
            *(claim(each, token=str(n)) for n, each in enumerate([store, other] * 8))
        )
    found = [each.job.key for claims in taken for each in claims]
    assert sorted(found, key=int) == [str(number) for number in range(12)]


async def test_a_job_that_failed_rests_and_keeps_its_place_in_the_order(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await add(store, job("first"), job("second", 1))
        (claimed,) = await claim(store)
        async with store.write() as writing:
            assert await jobs.failed(writing, claimed, NOW + 2 * MINUTE)
            assert not await jobs.failed(writing, claimed, NOW + 9 * MINUTE)
        assert [each.job.key for each in await claim(store, 1.5, most=9)] == ["second"]
        (again,) = await claim(store, 2)
        assert (again.job, again.failures) == (job("first"), 1)
        async with store.write() as writing:
            assert await jobs.given_up(writing, again, NOW)
        assert [each.job.key for each in await claim(store, 600, most=9)] == ["second"]


async def test_after_downtime_a_job_that_failed_comes_before_one_that_was_due_after_it(
    tmp_path: Path,
) -> None:
    async with opened(tmp_path) as store:
        await add(store, job("first"), job("second", 1))
        (claimed,) = await claim(store)
        async with store.write() as writing:
            await jobs.failed(writing, claimed, NOW + 5 * MINUTE)
        assert [each.job.key for each in await claim(store, 600, most=9)] == ["first", "second"]


async def test_a_lease_from_a_clock_that_was_set_back_holds_nobody_up(tmp_path: Path) -> None:
    ahead = 60 * 24 * 365
    async with opened(tmp_path) as store:
        await add(store, job(minutes=1), job("due next year", ahead))
        assert len(await claim(store, ahead, most=9)) == 2
        (claimed,) = await claim(store, 1, most=9, token="b")
        assert claimed.job.key == "drill 1 end"
        assert await claim(store, 1) == []
        assert await done(store, claimed)
        assert await earliest(store) == NOW + ahead * MINUTE


async def test_the_longest_lease_that_is_given_is_not_taken_for_one_of_a_wrong_clock(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await add(store, job())
        async with store.write() as writing:
            await jobs.claim(writing, "a", NOW, LONGEST_LEASE)
        assert await claim(store, 0, token="b") == []


async def test_jobs_are_cancelled_by_key_and_by_the_beginning_of_their_keys(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await add(store, *map(job, ("drill 1 end", "drill 1 open", "drill 11 end", "drill 1", "Drill 1 x")))
        async with store.write() as writing:
            assert await jobs.cancel(writing, "drill 1")
            assert not await jobs.cancel(writing, "drill 1")
            assert not await jobs.cancel(writing, "drill")
            assert await jobs.cancel_all(writing, "drill 1 ") == 2
            assert await jobs.cancel_all(writing, "%") == 0
        assert await keys(store) == ["Drill 1 x", "drill 11 end"]


async def test_a_job_that_is_cancelled_while_it_is_done_is_gone(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await add(store, job())
        (claimed,) = await claim(store)
        async with store.write() as writing:
            assert await jobs.cancel(writing, claimed.job.key)
            assert not await jobs.failed(writing, claimed, NOW)
        assert await earliest(store) is None


async def test_only_jobs_that_were_done_long_ago_are_forgotten(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await add(store, job("done", -9), job("waits", -8), job("held", -7))
        (first,) = await claim(store)
        assert await done(store, first)
        await claim(store)
        async with store.write() as writing:
            await jobs.prune(writing, NOW)
        assert await keys(store) == ["done", "held", "waits"]
        async with store.write() as writing:
            await jobs.prune(writing, NOW + MINUTE)
        assert await keys(store) == ["held", "waits"]


async def test_a_transaction_that_fails_leaves_no_job(tmp_path: Path) -> None:
    async def fails(store: Store) -> None:
        async with store.write() as writing:
            await jobs.add(writing, job())
            raise ZeroDivisionError

    async with opened(tmp_path) as store:
        with pytest.raises(ZeroDivisionError):
            await fails(store)
        assert await earliest(store) is None


async def test_a_post_keeps_the_moment_since_when_it_may_stand_and_its_message(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        async with store.write() as writing:
            await posts.reserve(writing, "recap", 9, NOW)
            await posts.reserve(writing, "recap", 10, NOW + MINUTE)
            found = await posts.find(writing, "recap")
            assert found is not None
            assert (found.channel_id, found.made_at, found.message_id) == (10, NOW, None)
            await posts.note_sent(writing, "recap", 99, NOW + MINUTE)
        async with store.read() as reading:
            sent = await posts.find(reading, "recap")
            assert sent is not None
            assert (sent.message_id, sent.sent_at) == (99, NOW + MINUTE)
            assert await posts.find(reading, "rec") is None


def points_at_nothing(connection: Connection) -> bool:
    return not any(inspect(connection).get_foreign_keys(table) for table in ("job", "post"))


async def test_a_member_is_erased_whatever_is_due_or_posted(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        async with store.write() as writing:
            await tallies.add(writing, WREN, tally(), 1, NOW)
            await jobs.add(writing, job(server_id=WREN.server_id))
            await posts.reserve(writing, "recap", 9, NOW)
            assert await privacy.erase(writing, WREN) == 1
        assert await keys(store) == ["drill 1 end"]
        async with store.read() as reading:
            assert await reading.connection.run_sync(points_at_nothing)
    if not uses_postgresql():  # which lets no row point to nothing
        assert rows_in(store.address, "PRAGMA foreign_key_check") == []


class Model:
    """What a job should be, in plain words."""

    def __init__(self, added: Job) -> None:
        self.job = added
        self.done = False
        self.free_at = added.due_at
        self.holder: str | None = None
        self.failures = 0


class Machine(RuleBasedStateMachine):
    """Several claimers, whose process may die, against a plain dictionary."""

    places = count()
    folder: Path

    def __init__(self) -> None:
        super().__init__()
        self.runner = asyncio.Runner()
        place = self.folder / str(next(self.places))
        place.mkdir()
        self.opened = opened(place)
        self.store = self.runner.run(self.opened.__aenter__())
        self.now = NOW
        self.models: dict[str, Model] = {}
        self.claims: list[Claim] = []
        self.tokens = count()

    def teardown(self) -> None:
        self.runner.run(self.opened.__aexit__(None, None, None))
        self.runner.close()

    @rule(key=st.sampled_from("abcd"), minutes=st.integers(-5, 30), drill=st.integers(1, 2))
    def add(self, key: str, minutes: int, drill: int) -> None:
        added = Job(key, "drill end", NOW + minutes * MINUTE, {"drill": drill})
        self.runner.run(add(self.store, added))
        if key not in self.models or self.models[key].job != added:
            self.models[key] = Model(added)

    @rule(minutes=st.integers(1, 8))
    def wait(self, minutes: int) -> None:
        self.now += minutes * MINUTE

    @rule(most=st.integers(1, 3))
    def claim(self, most: int) -> None:
        token = str(next(self.tokens))
        passed = (self.now - NOW) / MINUTE
        taken = self.runner.run(claim(self.store, passed, most, token))
        free = [each for each in self.models.values() if not each.done and each.free_at <= self.now]
        assert len(taken) == min(most, len(free))
        for each in taken:
            model = self.models[each.job.key]
            assert model in free
            assert (each.job, each.failures) == (model.job, model.failures)
            model.holder, model.free_at = token, self.now + LEASE
        assert [each.job.due_at for each in taken] == sorted(each.job.due_at for each in taken)
        self.claims += taken

    def settled(self, claimed: Claim) -> Model | None:
        """The job's model, where the claim still holds it."""
        model = self.models.get(claimed.job.key)
        return model if model is not None and model.holder == claimed.token and not model.done else None

    @precondition(lambda self: self.claims)
    @rule(data=st.data())
    def finish(self, data: st.DataObject) -> None:
        claimed = data.draw(st.sampled_from(self.claims))
        model = self.settled(claimed)
        assert self.runner.run(done(self.store, claimed)) is (model is not None)
        if model is not None:
            model.done, model.holder = True, None

    @precondition(lambda self: self.claims)
    @rule(data=st.data(), minutes=st.integers(1, 10))
    def fail(self, data: st.DataObject, minutes: int) -> None:
        claimed = data.draw(st.sampled_from(self.claims))
        model = self.settled(claimed)
        retry_at = self.now + minutes * MINUTE

        async def failed() -> bool:
            async with self.store.write() as writing:
                return await jobs.failed(writing, claimed, retry_at)

        assert self.runner.run(failed()) is (model is not None)
        if model is not None:
            model.holder, model.free_at, model.failures = None, retry_at, model.failures + 1

    @rule(key=st.sampled_from("abcd"))
    def cancel(self, key: str) -> None:
        async def cancelled() -> bool:
            async with self.store.write() as writing:
                return await jobs.cancel(writing, key)

        assert self.runner.run(cancelled()) is (self.models.pop(key, None) is not None)

    @rule()
    def die(self) -> None:
        self.claims.clear()

    @invariant()
    def we_look_again_when_the_first_is_free(self) -> None:
        free = [each.free_at for each in self.models.values() if not each.done]
        assert self.runner.run(earliest(self.store)) == min(free, default=None)


def test_claims_agree_with_a_plain_dictionary(tmp_path: Path) -> None:
    Machine.folder = tmp_path
    limits = run_settings(max_examples=30, stateful_step_count=40, deadline=None)
    run_state_machine_as_test(Machine, settings=limits)
