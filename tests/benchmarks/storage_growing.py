"""How fast one member's log is found in a database that grows to a year of a large community's practice.

The aim (step 4) is that questions about one member cost the same within 2 times. Filling takes some minutes.
TMPDIR says which disk is measured.
"""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import Awaitable, Callable
from contextlib import closing
from datetime import timedelta
from itertools import product
from pathlib import Path
from typing import Any

from benchmarks.figures import Figure, beside, ratio_at_most
from benchmarks.stopwatch import best_of
from benchmarks.storage import OWNER, SUBJECTS, TALLY, connected, tally_row
from databases import new_database
from stored import LINK, NOW

from bot.storage import tallies
from bot.storage.store import Store
from core.learning.tally import Context

SIZES = (10_000, 100_000, 1_000_000)
EACH, ROUNDS = 1_000, 15
"""Tallies of each member."""
CONTEXTS = (Context.TRAINING, Context.TRAINING, Context.RANKED)
FLAT = ratio_at_most(2)


def fill(file: Path, size: int, each: int) -> None:
    """Puts so many tallies into a new database, so many of each member, those of its members in turn, with
    their sums."""
    members = size // each
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
        raw.executemany(TALLY, (_nth_tally(number, members, each) for number in range(size)))
        raw.execute("""INSERT INTO total SELECT subject_id, context, count(*), sum(tries), sum(landed),
            sum(early), sum(late) FROM tally GROUP BY 1, 2""")
        raw.execute("COMMIT")
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _nth_tally(number: int, members: int, each: int) -> tuple[Any, ...]:
    bout, owner = number // members, number % members + 1
    subject = (owner - 1) * len(SUBJECTS) + bout % len(SUBJECTS) + 1
    made_at = (NOW - timedelta(hours=each - bout)).strftime("%Y-%m-%d %H:%M:%S.%f")
    context = CONTEXTS[bout % len(CONTEXTS)].value
    return tally_row(owner, subject, number + 1, made_at=made_at, context=context)


async def queries(file: Path, size: int, each: int, rounds: int) -> dict[str, float]:
    """Milliseconds of each question about one member, and of a start."""
    store = Store(file)

    async def start() -> None:
        await store.open()
        await store.close()

    def ask(query: Callable[..., Awaitable[object]], *args: Any) -> Callable[[], Awaitable[object]]:
        async def asked() -> None:
            async with store.read() as reading:
                await query(reading, OWNER, *args)

        return asked

    measured = {"start of a store": await best_of(start, rounds)}
    await store.open()
    for name, query, args in (
        ("a page of the log", tallies.listed, (10,)),
        ("a page from its middle", tallies.listed, (10, size // 2)),
        ("marks of 1,000", tallies.marks, (each,)),
        ("totals of a game", tallies.totals, (LINK.game,)),
        ("the 100 tallies of a link", tallies.of_subject, (1, 200)),
        ("200 tallies of links", tallies.of_links, (LINK.game, 200)),
        ("1,000 tallies of links", tallies.of_links, (LINK.game, each)),
        ("tries since a day ago", tallies.tries_since, (NOW - timedelta(days=1),)),
        ("tries since a year ago", tallies.tries_since, (NOW - timedelta(days=365),)),
    ):
        measured[name] = await best_of(ask(query, *args), rounds)
    await store.close()
    return measured


async def measure(folder: Path, sizes: tuple[int, ...], each: int, rounds: int) -> tuple[Figure, ...]:
    found, bytes_each = [], []
    for size in sizes:
        place = folder / str(size)
        place.mkdir()
        file = new_database(place)
        fill(file, size, each)
        found.append(await queries(file, size, each, rounds))
        bytes_each.append(file.stat().st_size / size)
    made = []
    for size, times in list(zip(sizes, found, strict=True))[1:]:
        for name, ms in times.items():
            what = f"{name}, {size:,} tallies in all, beside {sizes[0]:,}"
            key = f"storage_growing.{'_'.join(name.replace(',', '').split())}_{size}"
            made.append(beside(key, what, ms, found[0][name], aim=FLAT))
    what = f"file of {sizes[-1]:,} tallies, each, beside {sizes[0]:,}"
    return (*made, beside("storage_growing.file", what, bytes_each[-1], bytes_each[0], "bytes"))


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of each question, in a database of each size beside the smallest."""
    with tempfile.TemporaryDirectory() as name:
        sizes, each, rounds = ((20, 40), 10, 1) if tiny else (SIZES, EACH, ROUNDS)
        return asyncio.run(measure(Path(name), sizes, each, rounds))
