"""A scheduler that is stopped, in trouble or dead leaves nothing undone and does nothing twice."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from scheduled import Bench, job, left
from scheduling import HandTime
from stored import NOW, opened

from bot.results.job import Claim, Job
from bot.scheduler.scheduler import Scheduler
from bot.services.jobs import KEPT_DONE, LEASE, JobService
from bot.storage.errors import StorageError


class Held:
    """A handler that waits to be let go."""

    def __init__(self) -> None:
        self.begun = asyncio.Event()
        self.may_end = asyncio.Event()
        self.ended = False

    async def __call__(self, _job: Job, _late_by: timedelta) -> None:
        self.begun.set()
        await self.may_end.wait()
        self.ended = True


async def test_stopping_lets_the_job_that_is_being_done_finish_and_begins_no_other(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench, held = Bench(store, HandTime()), Held()
        bench.handlers["held"] = held
        await bench.add(job("a", -1, kind="held"), job("b"))
        bench.scheduler.start()
        (timer,) = bench.time.waiting
        timer.callback()
        await held.begun.wait()
        stopping = asyncio.create_task(bench.scheduler.stop())
        await asyncio.sleep(0)
        assert not stopping.done()
        held.may_end.set()
        await stopping
        assert held.ended
        await bench.time.pass_by(days=1)
        assert bench.did == []
        assert await left(store) == NOW  # b waits, a is done

        await bench.start()
        assert bench.keys == ["b"]


async def test_a_job_that_does_not_finish_when_we_stop_is_done_by_whoever_comes_next(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench, held = Bench(store, HandTime()), Held()
        bench.handlers["held"] = held
        await bench.add(job("a", kind="held"))
        bench.scheduler.start()
        bench.time.waiting[0].callback()
        await held.begun.wait()
        await bench.scheduler.stop(0)
        assert not held.ended
        assert await left(store) == NOW + LEASE
        held.may_end.set()
        bench.scheduler.start()
        await bench.time.pass_by(seconds=LEASE.total_seconds())
        assert held.ended
        assert await left(store) is None


async def test_stopping_twice_or_before_the_start_does_nothing(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.scheduler.stop()
        await bench.start()
        await bench.scheduler.stop()
        await bench.scheduler.stop()
        assert bench.time.waiting == []


@pytest.mark.parametrize("name", ["claim", "done"])
async def test_a_database_that_cannot_be_written_for_a_while_stops_nothing_for_good(
    tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.add(job("a"), job("b", 1))

        async def locked(*_args: object) -> None:
            raise StorageError("it was locked for too long")

        with monkeypatch.context() as patch:
            patch.setattr(bench.jobs, name, locked)
            await bench.start()
        assert "the scheduler could not go on" in caplog.text
        await bench.time.pass_by(minutes=1)
        assert "b" in bench.keys
        await bench.time.pass_by(seconds=LEASE.total_seconds())
        assert set(bench.keys) == {"a", "b"}
        assert await left(store) is None


async def test_what_a_job_added_is_not_forgotten_when_trouble_follows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())

        async def adds(_job: Job, _late_by: timedelta) -> None:
            await bench.add(job("soon", 0.25))

        async def locked(*_args: object) -> None:
            raise StorageError("it was locked for too long")

        bench.handlers["adds"] = adds
        await bench.add(job("a", kind="adds"))
        with monkeypatch.context() as patch:
            patch.setattr(bench.jobs, "done", locked)
            await bench.start()
        await bench.time.pass_by(seconds=15)
        assert bench.did == [("soon", timedelta())]


async def test_jobs_that_were_done_are_forgotten_in_time(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        days = KEPT_DONE // timedelta(days=1)
        await bench.add(job("old"), job("newer", 60 * 24), job("now", 60 * 24 * (days + 1) - 1))
        await bench.start()
        await bench.time.pass_by(days=days + 1)
        assert bench.keys == ["old", "newer", "now"]
        await bench.add(job("old"), job("newer", 60 * 24))
        await bench.time.pass_by()
        assert bench.keys == ["old", "newer", "now", "old"]


async def test_the_event_loop_does_the_waiting_where_no_timers_are_given(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        time = HandTime()
        jobs, did = JobService(store, time), asyncio.Event()

        async def note(_job: Job, _late_by: timedelta) -> None:
            did.set()

        scheduler = Scheduler(jobs, time, {"note": note})
        scheduler.start()
        async with store.write() as writing:
            await jobs.add(writing, job("a"))
        await did.wait()
        await scheduler.stop()
        assert await left(store) is None


class Died(BaseException):
    """The process is gone: no handler of exceptions sees this one."""


@pytest.mark.parametrize("moment", ["claimed", "done", "noted"])
async def test_a_process_that_dies_between_two_steps_leaves_the_job_to_the_next(
    tmp_path: Path, moment: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    time, did = HandTime(), list[tuple[str, timedelta]]()

    async def dies(*_args: object) -> None:
        raise Died

    def dies_after(does: Callable[[Claim], object]) -> Callable[[Claim], object]:
        async def dying(claimed: Claim) -> None:
            await does(claimed)  # type: ignore[misc]
            raise Died

        return dying

    async with opened(tmp_path) as store:
        bench = Bench(store, time, did)
        await bench.add(job("a"), job("b", 1))
        with monkeypatch.context() as patch:
            if moment == "claimed":
                patch.setattr(bench.scheduler, "_do", dies)
            elif moment == "done":
                patch.setattr(bench.jobs, "done", dies)
            else:
                patch.setattr(bench.jobs, "done", dies_after(bench.jobs.done))
            with pytest.raises(Died):
                await bench.start()
        assert time.waiting == []
    async with opened(tmp_path) as store:
        bench = Bench(store, time, did)
        await bench.start()
        await time.pass_by(minutes=10)
        times_a = {"claimed": 1, "done": 2, "noted": 1}[moment]
        assert sorted(key for key, _ in did) == ["a"] * times_a + ["b"]
        assert await left(store) is None
