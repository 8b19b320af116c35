"""A process that is killed while it logs, or whose database server is, loses nothing that it acknowledged and
stores nothing twice."""

from __future__ import annotations

import asyncio
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from databases import Server, address_named, database_at, name_of
from stored import opened
from surviving import check_log

from bot.storage.address import Address, address_of
from bot.storage.store import Store

ROOT = Path(__file__).parents[2]
KILLS = 50
CRASHES = 4
SEED = 20260101
EVENTS_A_ROUND = 1_000_000


def logging_to(address: Address) -> subprocess.Popen[str]:
    """The program that lets processes log and tells of them."""
    return subprocess.Popen(
        [sys.executable, str(ROOT / "tests" / "logs_until_killed.py"), name_of(address)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def begin(logger: subprocess.Popen[str], first_event_id: int) -> None:
    assert logger.stdin is not None
    logger.stdin.write(f"{first_event_id}\n")
    logger.stdin.flush()


def listen(logger: subprocess.Popen[str], lines: int) -> list[str]:
    assert logger.stdout is not None
    return [logger.stdout.readline().strip() for _ in range(lines)]


def kill(logger: subprocess.Popen[str], said: list[str]) -> set[int]:
    """Kills the process that was started; which events it acknowledged, what is on its way included."""
    assert logger.stdout is not None
    (process_id,) = (int(line.removeprefix("started ")) for line in said if line.startswith("started "))
    os.kill(process_id, signal.SIGKILL)
    said += iter(lambda: logger.stdout.readline().strip(), "dead")  # type: ignore[union-attr]
    return {int(line) for line in said if line.isdigit()}


def kill_once(logger: subprocess.Popen[str], first_event_id: int, chance: random.Random) -> set[int]:
    """Has a process log, kills it at some moment, and gives back which events it acknowledged."""
    begin(logger, first_event_id)
    said = listen(logger, 1 + chance.randint(1, 12))
    time.sleep(chance.uniform(0, 0.004))  # somewhere between two acknowledgements
    return kill(logger, said)


def test_fifty_kills_lose_no_acknowledged_tally_and_store_none_twice(tmp_path: Path) -> None:
    async def reopen() -> None:
        async with opened(tmp_path):
            pass

    chance = random.Random(SEED)
    address = address_of(database_at(tmp_path))
    acknowledged: set[int] = set()
    with logging_to(address) as logger, asyncio.Runner() as runner:
        for number in range(KILLS):
            acknowledged |= kill_once(logger, 1 + number * EVENTS_A_ROUND, chance)
            runner.run(reopen())
            check_log(address, acknowledged)
        assert logger.stdin is not None
        logger.stdin.close()
    assert len(acknowledged) > KILLS


@pytest.mark.postgresql
def test_a_server_that_crashes_while_a_bot_logs_loses_nothing_that_was_acknowledged() -> None:
    """The bot goes on by itself once the server is back. What it could not store the platform delivers again:
    each event has one effect, also where its commit and the crash came at the same moment."""

    async def make() -> None:
        store = Store(address)
        await store.open()
        await store.close()

    server, chance = Server(fsync="on", full_page_writes="on"), random.Random(SEED)
    try:
        address = address_named(server.url("postgres"))
        asyncio.run(make())
        with logging_to(address) as logger:
            begin(logger, 1)
            said = listen(logger, 20)
            for _ in range(CRASHES):
                server.stop("immediate")
                server.start()
                said += listen(logger, chance.randint(50, 200))  # more than was on its way
            acknowledged = kill(logger, said)
            assert logger.stdin is not None
            logger.stdin.close()
        check_log(address, acknowledged)
        assert len(acknowledged) > 100
    finally:
        server.remove()
