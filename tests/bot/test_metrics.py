"""The figures for whoever runs the bot: what is counted, how it is served, and what is not told."""

from __future__ import annotations

import logging
import math
import socket
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import aiohttp
import pytest
from prometheus_client.parser import text_string_to_metric_families
from scheduled import MINUTE, Bench, job
from scheduling import HandTime
from stored import opened

from bot.client.metrics import LOOPBACK, Metrics, Readings
from bot.client.run import RunError
from bot.client.work import Doing, Done, Outcome
from bot.results.job import Job
from bot.scheduler.scheduler import Ended
from bot.services.jobs import MOST_FAILURES

SERVER, MEMBER = 424242, 717171
ASKED = Done(Doing("command ask", SERVER, MEMBER), Outcome.DONE, 0.2)


async def jobs() -> tuple[int, int]:
    return 2, 5


READINGS = Readings(jobs, lambda: 31, lambda: 0.125, lambda: 3)


def figures(text: bytes) -> dict[str, float]:
    """Each sample by its name and labels, as the library's own parser reads them."""
    return {
        sample.name
        + "".join(f" {label}={value}" for label, value in sorted(sample.labels.items())): sample.value
        for family in text_string_to_metric_families(text.decode())
        for sample in family.samples
    }


@asynccontextmanager
async def served(metrics: Metrics) -> AsyncIterator[str]:
    """The address at which they are, for as long as they are served."""
    await metrics.open()
    try:
        yield f"http://{LOOPBACK}:{metrics.port}"
    finally:
        await metrics.close()


async def test_work_is_counted_by_what_was_done_and_how_it_came_out() -> None:
    metrics = Metrics(0, READINGS)
    for _ in range(3):
        metrics.work_ended(ASKED)
    metrics.work_ended(replace(ASKED, outcome=Outcome.FAILED))
    metrics.work_ended(Done(Doing("button again", None, MEMBER), Outcome.DONE, 0.01))
    told = figures(await metrics.text())
    assert told["cornerman_actions_total action=command ask outcome=done"] == 3
    assert told["cornerman_actions_total action=command ask outcome=failed"] == 1
    assert told["cornerman_actions_total action=button again outcome=done"] == 1


async def test_the_time_that_it_took_is_told_by_the_kind_of_work() -> None:
    metrics = Metrics(0, READINGS)
    for seconds in (0.2, 2.9, 3.1):
        metrics.work_ended(replace(ASKED, seconds=seconds))
    told = figures(await metrics.text())
    assert told["cornerman_action_seconds_bucket kind=command le=0.25"] == 1
    assert told["cornerman_action_seconds_bucket kind=command le=3.0"] == 2
    assert told["cornerman_action_seconds_count kind=command"] == 3
    assert told["cornerman_action_seconds_sum kind=command"] == pytest.approx(6.2)


async def test_what_is_looked_up_is_told_as_it_is_at_that_moment() -> None:
    writes = [1]
    metrics = Metrics(0, replace(READINGS, writes=lambda: writes[0]))
    assert figures(await metrics.text())["cornerman_database_writes_total"] == 1
    writes[0] = 9
    told = figures(await metrics.text())
    assert told["cornerman_database_writes_total"] == 9
    assert told["cornerman_jobs_waiting due=now"] == 2
    assert told["cornerman_jobs_waiting due=later"] == 5
    assert told["cornerman_gateway_latency_seconds"] == 0.125
    assert told["cornerman_servers"] == 3
    assert told["cornerman_uptime_seconds"] >= 0


async def test_a_latency_that_is_not_known_yet_is_no_number() -> None:
    told = figures(await Metrics(0, replace(READINGS, latency_seconds=lambda: math.nan)).text())
    assert math.isnan(told["cornerman_gateway_latency_seconds"])


async def test_what_cannot_be_looked_up_is_left_out_and_the_rest_is_told(
    caplog: pytest.LogCaptureFixture,
) -> None:
    broken = False

    async def sometimes() -> tuple[int, int]:
        if broken:
            raise OSError("the disk is gone")
        return 1, 1

    metrics = Metrics(0, replace(READINGS, jobs=sometimes))
    assert "cornerman_jobs_waiting due=now" in figures(await metrics.text())
    broken = True
    told = figures(await metrics.text())
    assert "cornerman_jobs_waiting due=now" not in told
    assert told["cornerman_servers"] == 3
    assert "the disk is gone" in caplog.text


async def test_it_names_no_member_and_no_server() -> None:
    metrics = Metrics(0, READINGS)
    metrics.work_ended(ASKED)
    metrics.job_ended("drill end", Ended.DONE)
    text = (await metrics.text()).decode()
    assert str(SERVER) not in text
    assert str(MEMBER) not in text


async def test_it_is_served_at_one_path_and_on_this_machine_alone() -> None:
    metrics = Metrics(0, READINGS)
    metrics.work_ended(ASKED)
    async with served(metrics) as address, aiohttp.ClientSession() as session:
        assert metrics._runner is not None
        assert [host for host, _ in metrics._runner.addresses] == ["127.0.0.1"]
        async with session.get(f"{address}/metrics") as answer:
            assert answer.status == 200
            assert answer.headers["Content-Type"].startswith("text/plain; version=")
            assert (
                figures(await answer.read())["cornerman_actions_total action=command ask outcome=done"] == 1
            )
        async with session.get(address) as answer:
            assert answer.status == 404
        async with session.post(f"{address}/metrics") as answer:
            assert answer.status == 405
    assert metrics.port == 0


async def test_after_the_end_nothing_is_served_and_the_port_is_free() -> None:
    metrics = Metrics(0, READINGS)
    async with served(metrics):
        port = metrics.port
    await metrics.close()  # again: as it does where it never was open
    async with served(Metrics(port, READINGS)) as address:
        assert address.endswith(f":{port}")


async def test_a_port_that_is_taken_is_one_sentence_and_says_what_to_set() -> None:
    with socket.create_server((LOOPBACK, 0)) as taken:
        port = taken.getsockname()[1]
        metrics = Metrics(port, READINGS)
        with pytest.raises(
            RunError, match=f"^Port {port} for the metrics cannot be used .*metrics_port"
        ) as wrong:
            await metrics.open()
    assert "\n" not in str(wrong.value)
    await metrics.close()


async def test_errors_in_the_log_are_counted_by_who_wrote_them_while_it_is_served() -> None:
    metrics = Metrics(0, READINGS)
    async with served(metrics):
        logging.getLogger("bot.client.policy").error("broken")
        logging.getLogger("bot.client.policy").warning("not broken")
        logging.getLogger("aiohttp.client").critical("broken too")
    logging.getLogger("bot.client.policy").error("nobody counts any more")
    told = figures(await metrics.text())
    assert told["cornerman_errors_total logger=bot.client.policy"] == 1
    assert told["cornerman_errors_total logger=aiohttp.client"] == 1


async def test_two_bots_in_one_process_count_for_themselves() -> None:
    one, other = Metrics(0, READINGS), Metrics(0, READINGS)
    one.work_ended(ASKED)
    assert "cornerman_actions_total action=command ask outcome=done" not in figures(await other.text())


async def test_each_try_at_a_job_is_told_with_how_it_ended(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        metrics, ended = Metrics(0, READINGS), list[tuple[str, Ended]]()
        bench.scheduler.listen(metrics.job_ended)
        bench.scheduler.listen(lambda kind, how: ended.append((kind, how)))

        async def fails(_job: Job, _late_by: timedelta) -> None:
            raise ValueError("not today")

        bench.handlers["fails"] = fails
        await bench.add(job("a"), job("b", kind="fails"))
        await bench.start()
        await bench.time.pass_by(days=3)
        assert ended.count(("note", Ended.DONE)) == 1
        assert ended.count(("fails", Ended.FAILED)) == MOST_FAILURES - 1
        assert ended[-1] == ("fails", Ended.GIVEN_UP)
        told = figures(await metrics.text())
        assert told["cornerman_jobs_total kind=note outcome=done"] == 1
        assert told["cornerman_jobs_total kind=fails outcome=failed"] == MOST_FAILURES - 1
        assert told["cornerman_jobs_total kind=fails outcome=given up"] == 1
        await bench.scheduler.stop()


async def test_jobs_that_wait_are_those_due_and_those_to_come_and_none_that_is_done(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        bench = Bench(store, HandTime())
        assert await bench.jobs.waiting() == (0, 0)
        await bench.add(job("a"), job("b"), job("c", 10), job("d", 20), job("e", 30))
        assert await bench.jobs.waiting() == (2, 3)
        claimed, _ = await bench.jobs.claim()
        assert claimed is not None
        assert await bench.jobs.waiting() == (2, 3)  # one that somebody is at is not done
        await bench.jobs.done(claimed)
        assert await bench.jobs.waiting() == (1, 3)
        await bench.time.pass_by(seconds=(10 * MINUTE).total_seconds())
        assert await bench.jobs.waiting() == (2, 2)


async def test_the_store_tells_how_many_transactions_wrote(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        assert store.writes == 0
        async with store.write():
            pass
        async with store.read():
            pass
        with pytest.raises(ValueError, match="undone"):
            async with store.write():
                raise ValueError("undone")
        assert store.writes == 1
