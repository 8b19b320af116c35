"""How fast tallies are logged and found, beside bare sqlite3 in the same run, and in a database that grows.

Run by hand: `python tests/benchmarks/storage.py [FOLDER]`; FOLDER lies on the disk that is measured. Each
figure is the best of several rounds, ours and the bare loop's in turn.
"""

from __future__ import annotations

import asyncio
import os
import sqlite3
import sys
import tempfile
import time
from collections.abc import Awaitable, Callable, Iterator
from contextlib import closing
from datetime import timedelta
from itertools import count, product
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from stored import LINK, NOW, new_database, tally  # noqa: E402

from bot.results.place import Owner  # noqa: E402
from bot.results.tally import Subject  # noqa: E402
from bot.storage import tallies  # noqa: E402
from bot.storage.rows import tally_values  # noqa: E402
from bot.storage.store import PRAGMAS, Store  # noqa: E402
from core.learning.tally import Context  # noqa: E402

LOGGED, ROUNDS, TOGETHER = 640, 5, (1, 8, 64)
SIZES = (10_000, 100_000, 1_000_000)
MEMBERS_TALLIES = 1_000
SUBJECTS = [Subject("Saltglass", "Mirrel", LINK.kind, f"5A > {number}B") for number in range(10)]
CONTEXTS = (Context.TRAINING, Context.TRAINING, Context.RANKED)
ASKED = Owner(1, 1)
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


async def log_together(store: Store, members: int, events: Iterator[int]) -> float:
    """Tallies a second of so many members at once."""

    async def log(owner: Owner) -> None:
        for _ in range(LOGGED // members):
            event = next(events)
            async with store.write(event) as writing:
                await tallies.add(writing, owner, tally(), event, NOW)

    started = time.perf_counter()
    await asyncio.gather(*(log(Owner(1, member)) for member in range(1, members + 1)))
    return LOGGED / (time.perf_counter() - started)


def log_bare(file: Path, events: Iterator[int]) -> float:
    """Tallies a second of the same four statements, a transaction each."""
    with closing(connected(file)) as raw:
        started = time.perf_counter()
        for _ in range(LOGGED):
            event = next(events)
            raw.execute("BEGIN IMMEDIATE")
            raw.execute(EVENT, (event, MOMENT))
            key = (1, 1, LINK.game, LINK.character, LINK.kind.value, LINK.what)
            subject, owner = raw.execute(FIND, key).fetchone()
            raw.execute(TALLY, tally_row(owner, subject, event))
            raw.execute(TOTAL, (subject, "training", 10, 7))
            raw.execute("COMMIT")
        return LOGGED / (time.perf_counter() - started)


def insert_bare(file: Path, events: Iterator[int]) -> float:
    """Tallies a second where nothing but a row is stored, a transaction each."""
    with closing(connected(file)) as raw:
        started = time.perf_counter()
        for _ in range(LOGGED):
            raw.execute(TALLY, tally_row(1, 1, next(events)))
        return LOGGED / (time.perf_counter() - started)


async def logging(folder: Path) -> None:
    store, events = Store(new_database(folder)), count(1)
    await store.open()
    await log_together(store, 64, events)
    rates: dict[str, list[float]] = {}
    for _ in range(ROUNDS):
        rates.setdefault("bare sqlite3, same statements", []).append(log_bare(store.file, events))
        rates.setdefault("bare sqlite3, one insert", []).append(insert_bare(store.file, events))
        for members in TOGETHER:
            rate = await log_together(store, members, events)
            rates.setdefault(f"through the store, {members} at once", []).append(rate)
    await store.close()
    reference = max(rates["bare sqlite3, same statements"])
    print(f"{'durable tallies':36}{'a second':>10}{'ratio':>8}")
    for name, measured in rates.items():
        print(f"{name:36}{max(measured):>10.0f}{max(measured) / reference:>8.2f}")


async def bulk(folder: Path) -> None:
    """Many tallies in one transaction, one after another and together."""
    store = Store(new_database(folder))
    await store.open()
    made = [tally(subject=about) for about in SUBJECTS] * 56

    async def one_by_one() -> None:
        async with store.write() as writing:
            for each in made:
                await tallies.add(writing, ASKED, each, None, NOW)

    async def together() -> None:
        async with store.write() as writing:
            await tallies.add_all(writing, ASKED, made, NOW)

    for name, job in (("add", one_by_one), ("add_all", together)):
        print(f"{len(made)} tallies in one transaction, {name}: {await best_of(job, ROUNDS):.0f} ms")
    await store.close()


def fill(file: Path, size: int) -> None:
    """Puts so many tallies into a new database, those of its members in turn, with their sums."""
    members = size // MEMBERS_TALLIES
    with closing(connected(file)) as raw:
        raw.execute("PRAGMA cache_size=-1000000")  # all of it in memory while the indexes are filled
        raw.execute("BEGIN")
        raw.execute("INSERT INTO server (id) VALUES (1)")
        own = [(member, 1, member) for member in range(1, members + 1)]
        raw.executemany("INSERT INTO member (id, server_id, member_id) VALUES (?, ?, ?)", own)
        about = [
            (owner, one.game, one.character, one.kind.value, one.what)
            for (owner, _, _), one in product(own, SUBJECTS)
        ]
        raw.executemany(
            "INSERT INTO subject (owner_id, game, character, kind, what) VALUES (?, ?, ?, ?, ?)", about
        )
        raw.executemany(TALLY, (_nth_tally(number, members) for number in range(size)))
        raw.execute("""INSERT INTO total SELECT subject_id, context, count(*), sum(tries), sum(landed),
            sum(early), sum(late) FROM tally GROUP BY 1, 2""")
        raw.execute("COMMIT")
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _nth_tally(number: int, members: int) -> tuple[Any, ...]:
    bout, owner = number // members, number % members + 1
    subject = (owner - 1) * len(SUBJECTS) + bout % len(SUBJECTS) + 1
    made_at = (NOW - timedelta(hours=MEMBERS_TALLIES - bout)).strftime("%Y-%m-%d %H:%M:%S.%f")
    context = CONTEXTS[bout % len(CONTEXTS)].value
    return tally_row(owner, subject, number + 1, made_at=made_at, context=context)


async def best_of(job: Callable[[], Awaitable[object]], rounds: int = 15) -> float:
    """Milliseconds of the best round."""
    best = float("inf")
    for _ in range(rounds):
        started = time.perf_counter()
        await job()
        best = min(best, (time.perf_counter() - started) * 1000)
    return best


async def queries(file: Path, size: int) -> dict[str, float]:
    """Milliseconds of each question about one member, and of a start."""
    store = Store(file)

    async def start() -> None:
        await store.open()
        await store.close()

    def ask(query: Callable[..., Awaitable[object]], *args: Any) -> Callable[[], Awaitable[object]]:
        async def asked() -> None:
            async with store.read() as reading:
                await query(reading, ASKED, *args)

        return asked

    measured = {"start of a store": await best_of(start)}
    await store.open()
    for name, query, args in (
        ("a page of the log", tallies.listed, (10,)),
        ("a page from its middle", tallies.listed, (10, size // 2)),
        ("marks of 1,000", tallies.marks, (MEMBERS_TALLIES,)),
        ("totals of a game", tallies.totals, (LINK.game,)),
        ("the 100 tallies of a link", tallies.of_subject, (1, 200)),
        ("200 tallies of links", tallies.of_links, (LINK.game, 200)),
        ("1,000 tallies of links", tallies.of_links, (LINK.game, MEMBERS_TALLIES)),
        ("tries since a day ago", tallies.tries_since, (NOW - timedelta(days=1),)),
        ("tries since a year ago", tallies.tries_since, (NOW - timedelta(days=365),)),
    ):
        measured[name] = await best_of(ask(query, *args))
    await store.close()
    return measured


async def growing(folder: Path) -> None:
    found, bytes_each = [], []
    for size in SIZES:
        place = folder / str(size)
        place.mkdir()
        file = new_database(place)
        fill(file, size)
        found.append(await queries(file, size))
        bytes_each.append(file.stat().st_size / size)
    print(
        f"\n{'one member of many, tallies in all':36}"
        + "".join(f"{size:>12,}" for size in SIZES)
        + "  last/first"
    )
    for name in found[0]:
        times = [each[name] for each in found]
        print(
            f"{name + ', ms':36}" + "".join(f"{ms:>12.2f}" for ms in times) + f"{times[-1] / times[0]:>12.2f}"
        )
    print(f"{'file, bytes a tally':36}" + "".join(f"{each:>12.0f}" for each in bytes_each))


async def main() -> None:
    print(f"load {os.getloadavg()[0]:.2f}\n")
    with tempfile.TemporaryDirectory(dir=sys.argv[1] if len(sys.argv) > 1 else None) as name:
        await logging(Path(name))
        await bulk(Path(name))
        await growing(Path(name))
    print(f"\nload {os.getloadavg()[0]:.2f}")


if __name__ == "__main__":
    asyncio.run(main())
