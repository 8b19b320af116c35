"""Jobs are done when they are due, in order and once, whatever happens to the clock, the process or a job."""

from __future__ import annotations

import asyncio
from contextvars import ContextVar
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from scheduled import MINUTE, Bench, job, left
from scheduling import HandTime, settled
from stored import NOW, opened

from bot.results.job import Job
from bot.scheduler import scheduler as module
from bot.scheduler.scheduler import LONGEST_SLEEP_SECONDS
from bot.services.jobs import LEASE, MOST_FAILURES, JobService
from core.learning.calendar import next_weekly


async def test_a_job_is_done_at_its_moment_and_not_before(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.add(job("a", 10))
        await bench.start()
        await bench.time.pass_by(seconds=599)
        assert bench.did == []
        await bench.time.pass_by(seconds=1)
        assert bench.did == [("a", timedelta())]
        await bench.time.pass_by(days=2)
        assert bench.keys == ["a"]
        assert await left(store) is None


async def test_a_job_that_is_added_is_done_in_time_whatever_the_timer_was_set_to(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.start()
        await bench.add(job("late", 30))
        await bench.add(job("soon", 10), job("at once"))
        await bench.time.pass_by()
        assert bench.keys == ["at once"]
        await bench.time.pass_by(minutes=10)
        assert bench.keys == ["at once", "soon"]
        await bench.time.pass_by(minutes=20)
        assert bench.did == [("at once", timedelta()), ("soon", timedelta()), ("late", timedelta())]


async def test_a_job_is_not_done_in_the_context_of_whoever_added_it(tmp_path: Path) -> None:
    asking: ContextVar[str] = ContextVar("asking", default="nobody")
    seen: list[str] = []

    async def see(_job: Job, _late_by: timedelta) -> None:
        seen.append(asking.get())

    async with opened(tmp_path) as store:
        time = HandTime()
        jobs = JobService(store, time)
        scheduler = module.Scheduler(jobs, time, {"x": see}, time)
        scheduler.start()
        await time.pass_by()
        asking.set("somebody")
        async with store.write() as writing:
            await jobs.add(writing, Job("a", "x", time.now() + MINUTE))
        await time.pass_by(minutes=1)
        await scheduler.stop()
    assert seen == ["nobody"]


async def test_there_is_one_timer_and_no_task_while_nothing_is_due(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.start()
        before = asyncio.all_tasks()
        for number in range(20):
            await bench.add(job(str(number), 5 + number % 7))
            assert len(bench.time.waiting) == 1
        assert bench.time.waiting[0].at == 300
        assert asyncio.all_tasks() == before
        await bench.time.pass_by(minutes=20)
        assert len(bench.did) == 20
        assert len(bench.time.waiting) == 1


async def test_no_timer_is_set_for_longer_than_one_can_be_trusted(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.add(job("in a month", 60 * 24 * 30))
        await bench.start()
        for _ in range(3):
            (timer,) = bench.time.waiting
            assert timer.at - bench.time.passed == LONGEST_SLEEP_SECONDS
            await bench.time.pass_by(seconds=LONGEST_SLEEP_SECONDS)
        assert bench.did == []
        await bench.time.pass_by(days=30)
        assert bench.did == [("in a month", timedelta())]


async def test_what_became_due_in_the_downtime_is_done_once_in_order_and_says_how_late_it_is(
    tmp_path: Path,
) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.add(job("c", 30), job("a", 10), job("b", 20), job("ahead", 90))
        await bench.time.jump(hours=1)
        await bench.start()
        assert bench.did == [("a", 50 * MINUTE), ("b", 40 * MINUTE), ("c", 30 * MINUTE)]


async def test_a_long_jump_of_the_clock_does_each_job_once_in_order(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.start()
        await bench.add(*(job(str(day), 60 * 24 * day) for day in range(1, 29)))
        await bench.time.jump(days=28)
        assert bench.keys == [str(day) for day in range(1, 29)]
        assert bench.did[0] == ("1", timedelta(days=27))


async def test_a_clock_that_is_set_back_does_nothing_too_early_or_twice(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.add(job("a", 0), job("b", 60))
        await bench.start()
        bench.time.set_by = -timedelta(hours=3)
        await bench.time.pass_by(hours=3, minutes=59)
        assert bench.keys == ["a"]
        await bench.time.pass_by(minutes=1)
        assert bench.did == [("a", timedelta()), ("b", timedelta())]


async def test_a_clock_that_is_set_far_back_does_not_make_us_sleep_for_as_long(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.add(job("a", 60))
        await bench.start()
        bench.time.set_by = -timedelta(days=30)
        await bench.add(job("b", 90))
        (timer,) = bench.time.waiting
        assert timer.at - bench.time.passed == LONGEST_SLEEP_SECONDS
        bench.time.set_by = timedelta()
        await bench.time.pass_by(seconds=LONGEST_SLEEP_SECONDS)
        assert bench.keys == ["a", "b"]


async def test_a_clock_that_is_set_on_is_seen_when_a_job_is_added_or_the_timer_rings(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.add(job("a", 60))
        await bench.start()
        bench.time.set_by = timedelta(hours=2)
        await bench.add(job("b", 180))
        await bench.time.pass_by()
        assert bench.did == [("a", 60 * MINUTE)]
        bench.time.set_by = timedelta(days=2)
        await bench.time.pass_by(seconds=LONGEST_SLEEP_SECONDS)
        assert bench.keys == ["a", "b"]


async def test_a_job_that_was_held_by_a_clock_far_ahead_is_done_when_it_is_due(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.add(job("a", 60))
        bench.time.set_by = timedelta(days=900)
        assert (await bench.jobs.claim())[0] is not None  # and then the process died, and the clock was set
        bench.time.set_by = timedelta()
        await bench.start()
        await bench.time.pass_by(minutes=59)
        assert bench.did == []
        await bench.time.pass_by(minutes=1)
        assert bench.did == [("a", timedelta())]


async def test_two_schedulers_on_one_database_do_no_job_twice(tmp_path: Path) -> None:
    async with opened(tmp_path) as store, opened(tmp_path) as other:
        time, did = HandTime(), list[tuple[str, timedelta]]()
        benches = [Bench(each, time, did) for each in (store, other)]
        await benches[0].add(*(job(str(number), number) for number in range(40)))
        for bench in benches:
            bench.scheduler.start()
        await time.jump(minutes=10)
        for timer in time.waiting:  # both at once
            timer.cancel()
            timer.callback()
        await settled()
        await time.pass_by(minutes=30)
        assert sorted(key for key, _ in did) == sorted(str(number) for number in range(40))


async def test_a_job_of_a_scheduler_that_died_is_done_by_another_when_its_lease_is_over(
    tmp_path: Path,
) -> None:
    async with opened(tmp_path) as store, opened(tmp_path) as other:
        bench = Bench(other, HandTime())
        await bench.add(job("a"), job("b", 1))
        dead = JobService(store, bench.time)
        assert (await dead.claim())[0] is not None
        await bench.start()
        await bench.time.pass_by(minutes=1)
        assert bench.keys == ["b"]
        await bench.time.pass_by(seconds=LEASE.total_seconds() - 60)
        assert bench.did == [("b", timedelta()), ("a", LEASE)]


async def test_a_job_that_fails_is_tried_again_ever_later_while_others_go_on(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        tried: list[float] = []

        async def fails(_job: Job, late_by: timedelta) -> None:
            tried.append(late_by / MINUTE)
            if len(tried) < 9:
                raise OSError("the platform is away")

        bench.handlers["fails"] = fails
        await bench.add(job("bad", kind="fails"), job("good"))
        await bench.start()
        assert bench.keys == ["good"]
        await bench.time.pass_by(days=1)
        assert tried == [0, 1, 3, 7, 15, 31, 63, 123, 183]
        assert "job bad failed, to be tried again at" in caplog.text
        assert "the platform is away" in caplog.text
        assert await left(store) is None


async def test_a_job_that_always_fails_is_given_up_with_a_line_in_the_log(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.add(job("nobody's", kind="unknown"))
        await bench.start()
        await bench.time.pass_by(days=1)
        assert await left(store) is not None
        await bench.time.pass_by(days=1)
        assert await left(store) is None
        given_up = [record.message for record in caplog.records if "given up" in record.message]
        assert given_up == [f"job nobody's is given up: it failed {MOST_FAILURES} times"]
        assert "nobody does jobs of the kind unknown" in caplog.text


async def test_a_handler_that_hangs_is_ended_and_holds_nobody_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(module, "HANDLER_SECONDS", 0.0)
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())

        async def hangs(_job: Job, _late_by: timedelta) -> None:
            await asyncio.get_running_loop().create_future()

        bench.handlers["hangs"] = hangs
        await bench.add(job("bad", kind="hangs"), job("good", 0.1))
        await bench.start()
        await bench.time.pass_by(seconds=6)
        assert bench.keys == ["good"]
        assert "its handler was ended" in caplog.text
        assert await left(store) == NOW + MINUTE


async def test_a_series_in_which_each_job_adds_the_next_keeps_its_hour_over_a_clock_change(
    tmp_path: Path,
) -> None:
    berlin = ZoneInfo("Europe/Berlin")
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        done_at: list[datetime] = []

        def following(after: datetime) -> Job:
            due_at = next_weekly(after, 1, datetime.min.time().replace(hour=18), berlin)
            return Job(f"week of {due_at:%Y-%m-%d}", "week", due_at)

        async def week(done: Job, late_by: timedelta) -> None:
            assert late_by == timedelta()
            done_at.append(bench.time.now().astimezone(berlin))
            await bench.add(following(done.due_at))

        bench.handlers["week"] = week
        await bench.add(following(NOW))
        await bench.start()
        await bench.time.pass_by(weeks=15)
    assert len(done_at) == 15
    assert {moment.hour for moment in done_at} == {18}
    assert {moment.utcoffset() for moment in done_at} == {timedelta(hours=1), timedelta(hours=2)}


async def test_a_job_is_done_only_when_the_transaction_that_adds_it_is_over(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.start()
        async with store.write() as writing:
            await bench.jobs.add(writing, job("a"))
            (timer,) = bench.time.waiting
            timer.cancel()
            timer.callback()
            for _ in range(20):
                await asyncio.sleep(0)
            assert bench.did == []
        await settled()
        assert bench.keys == ["a"]


async def test_a_transaction_that_is_undone_leaves_nothing_to_do(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.start()

        async def undone() -> None:
            async with store.write() as writing:
                await bench.jobs.add(writing, job("a"))
                raise ZeroDivisionError

        with pytest.raises(ZeroDivisionError):
            await undone()
        await bench.time.pass_by(days=1)
        assert bench.did == []


async def test_a_job_that_is_moved_or_cancelled_is_not_done_at_its_old_time(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        await bench.add(job("moved", 10), job("drill 1 end", 10), job("drill 1 recap", 10), job("gone", 10))
        await bench.start()
        await bench.add(job("moved", 20))
        async with store.write() as writing:
            assert await bench.jobs.cancel(writing, "gone")
            assert await bench.jobs.cancel_all(writing, "drill 1 ") == 2
        await bench.time.pass_by(minutes=19)
        assert bench.did == []
        await bench.time.pass_by(hours=1)
        assert bench.did == [("moved", timedelta())]
