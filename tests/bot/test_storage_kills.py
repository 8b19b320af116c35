"""A process that is killed while it logs loses nothing that it acknowledged and stores nothing twice."""

from __future__ import annotations

import asyncio
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

from stored import new_database, opened

ROOT = Path(__file__).parents[2]
KILLS = 50
SEED = 20260101
EVENTS_A_ROUND = 1_000_000
SUMS = "count(*), sum(tries), sum(landed), sum(early), sum(late)"


def kill_once(logger: subprocess.Popen[str], first_event_id: int, chance: random.Random) -> set[int]:
    """Has a process log, kills it at some moment, and gives back which events it acknowledged."""
    assert logger.stdin is not None
    assert logger.stdout is not None
    logger.stdin.write(f"{first_event_id}\n")
    logger.stdin.flush()
    said = [logger.stdout.readline().strip() for _ in range(1 + chance.randint(1, 12))]
    (process_id,) = (int(line.removeprefix("started ")) for line in said if line.startswith("started "))
    time.sleep(chance.uniform(0, 0.004))  # somewhere between two acknowledgements
    os.kill(process_id, signal.SIGKILL)
    said += iter(lambda: logger.stdout.readline().strip(), "dead")  # type: ignore[union-attr]
    return {int(line) for line in said if line.isdigit()}


def test_fifty_kills_lose_no_acknowledged_tally_and_store_none_twice(tmp_path: Path) -> None:
    async def reopen() -> None:
        async with opened(tmp_path):
            pass

    chance = random.Random(SEED)
    file = new_database(tmp_path)
    acknowledged: set[int] = set()
    logger = subprocess.Popen(
        [sys.executable, str(ROOT / "tests" / "logs_until_killed.py"), str(file)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with logger, asyncio.Runner() as runner:
        for kill in range(KILLS):
            acknowledged |= kill_once(logger, 1 + kill * EVENTS_A_ROUND, chance)
            runner.run(reopen())
            with closing(sqlite3.connect(file)) as raw:
                assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
                assert raw.execute("PRAGMA foreign_key_check").fetchall() == []
                stored = [event_id for (event_id,) in raw.execute("SELECT event_id FROM tally")]
                events = {event_id for (event_id,) in raw.execute("SELECT id FROM event")}
                totals = raw.execute(
                    "SELECT subject_id, context, tallies, tries, landed, early, late FROM total ORDER BY 1, 2"
                ).fetchall()
                summed = raw.execute(
                    f"SELECT subject_id, context, {SUMS} FROM tally GROUP BY 1, 2 ORDER BY 1, 2"
                ).fetchall()
            assert len(stored) == len(set(stored))
            assert acknowledged <= set(stored)
            assert events == set(stored)
            assert totals == summed
        assert logger.stdin is not None
        logger.stdin.close()
    assert len(acknowledged) > KILLS
