"""How fast tallies are logged, beside bare sqlite3 with the same durability.

The aim (step 4) is half as many tallies a second as a bare loop of the same statements. Each figure is the
best of several rounds, ours and the bare loop's in turn. TMPDIR says which disk is measured.
"""

from __future__ import annotations

import asyncio
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from itertools import count
from pathlib import Path
from typing import Any

from benchmarks.figures import Figure, ratio_at_least, times_as_fast
from benchmarks.stopwatch import best_of
from databases import new_database
from stored import LINK, NOW, tally

from bot.results.place import Owner
from bot.results.tally import Subject
from bot.storage import tallies
from bot.storage.rows import tally_values
from bot.storage.sqlite import PRAGMAS
from bot.storage.store import Store

LOGGED, ROUNDS, TOGETHER = 640, 5, (1, 8, 64)
HALF = ratio_at_least(0.5)
SUBJECTS = [Subject("Saltglass", "Mirrel", LINK.kind, f"5A > {number}B") for number in range(10)]
OWNER = Owner(1, 1)
MOMENT = "2026-01-01 12:00:00.000000"
EVENT = "INSERT INTO event (id, seen_at) VALUES (?, ?) ON CONFLICT (id) DO NOTHING"
FIND = """SELECT id, owner_id FROM subject WHERE owner_id = (SELECT id FROM member WHERE server_id = ? AND
    member_id = ?) AND game = ? AND character = ? AND kind = ? AND what = ?"""
TOTAL = """INSERT INTO total VALUES (?, ?, 1, ?, ?, 0, 0) ON CONFLICT (subject_id, context) DO UPDATE SET
    tallies = tallies + 1, tries = tries + excluded.tries, landed = landed + excluded.landed"""
TALLY_COLUMNS = ("owner_id", "subject_id", "event_id", "undone", "logged_at", *tally_values(tally()))
TALLY = f"""INSERT INTO tally ({", ".join(TALLY_COLUMNS)})
    VALUES ({", ".join("?" * len(TALLY_COLUMNS))})"""


def connected(file: Path) -> sqlite3.Connection:
    """A connection with the pragmas of the store's."""
    raw = sqlite3.connect(file, isolation_level=None)
    for pragma in ("journal_mode=WAL", *PRAGMAS):
        raw.execute(f"PRAGMA {pragma}")
    return raw


def tally_row(owner: int, subject: int, event: int | None, **others: Any) -> tuple[Any, ...]:
    """The columns of a tally as bare sqlite3 takes them."""
    values = tally_values(tally()) | {"made_at": MOMENT} | others
    return (owner, subject, event, False, MOMENT, *values.values())


async def log_together(store: Store, members: int, events: Iterator[int], logged: int) -> float:
    """Milliseconds of each of so many tallies, logged by so many members at once."""

    async def log(owner: Owner) -> None:
        for _ in range(logged // members):
            event = next(events)
            async with store.write(event) as writing:
                await tallies.add(writing, owner, tally(), event, NOW)

    started = time.perf_counter()
    await asyncio.gather(*(log(Owner(1, member)) for member in range(1, members + 1)))
    return (time.perf_counter() - started) * 1000 / logged


def log_bare(file: Path, events: Iterator[int], logged: int) -> float:
    """Milliseconds of each tally, by the same four statements, a transaction each."""
    with closing(connected(file)) as raw:
        started = time.perf_counter()
        for _ in range(logged):
            event = next(events)
            raw.execute("BEGIN IMMEDIATE")
            raw.execute(EVENT, (event, MOMENT))
            key = (1, 1, LINK.game, LINK.character, LINK.kind.value, LINK.what)
            subject, owner = raw.execute(FIND, key).fetchone()
            raw.execute(TALLY, tally_row(owner, subject, event))
            raw.execute(TOTAL, (subject, "training", 10, 7))
            raw.execute("COMMIT")
        return (time.perf_counter() - started) * 1000 / logged


def insert_bare(file: Path, events: Iterator[int], logged: int) -> float:
    """Milliseconds of each tally where nothing but a row is stored, a transaction each."""
    with closing(connected(file)) as raw:
        started = time.perf_counter()
        for _ in range(logged):
            raw.execute(TALLY, tally_row(1, 1, next(events)))
        return (time.perf_counter() - started) * 1000 / logged


async def logging(folder: Path, logged: int, rounds: int) -> list[Figure]:
    """Of a tally a transaction, by so many members at once."""
    store, events = Store(new_database(folder)), count(1)
    await store.open()
    await log_together(store, max(TOGETHER), events, max(TOGETHER))
    bare, row = [], []
    ours: dict[int, list[float]] = {members: [] for members in TOGETHER}
    for _ in range(rounds):
        bare.append(log_bare(store.file, events, logged))
        row.append(insert_bare(store.file, events, logged))
        for members, times in ours.items():
            times.append(await log_together(store, members, events, logged))
    await store.close()
    what = "a durable tally, {} at once, beside bare sqlite3 with the same statements"
    found = [
        times_as_fast(f"storage.log_{members}", what.format(members), min(times), min(bare), aim=HALF)
        for members, times in ours.items()
    ]
    insert = times_as_fast(
        "storage.bare", "bare sqlite3, one insert, beside the same statements", min(row), min(bare)
    )
    return [*found, insert]


async def bulk(folder: Path, repeats: int, rounds: int) -> Figure:
    """Of many tallies in one transaction, together, and one after another."""
    store = Store(new_database(folder))
    await store.open()
    made = [tally(subject=about) for about in SUBJECTS] * repeats

    async def one_by_one() -> None:
        async with store.write() as writing:
            for each in made:
                await tallies.add(writing, OWNER, each, None, NOW)

    async def together() -> None:
        async with store.write() as writing:
            await tallies.add_all(writing, OWNER, made, NOW)

    one, all_of_them = await best_of(one_by_one, rounds), await best_of(together, rounds)
    await store.close()
    what = f"{len(made)} tallies in one transaction, beside one by one"
    return times_as_fast("storage.add_all", what, all_of_them, one)


async def measure(folder: Path, tiny: bool) -> tuple[Figure, ...]:
    logged, repeats, rounds = (max(TOGETHER), 1, 1) if tiny else (LOGGED, 56, ROUNDS)
    return (*await logging(folder, logged, rounds), await bulk(folder, repeats, rounds))


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of logging."""
    with tempfile.TemporaryDirectory() as name:
        return asyncio.run(measure(Path(name), tiny))
