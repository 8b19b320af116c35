"""How fast tallies are logged and found on PostgreSQL, beside the same store on a SQLite file.

The server is begun for this on the same machine, as durable as it is by itself; the best of several rounds.
Without PostgreSQL's programs nothing is measured: `apt-get install postgresql`. TMPDIR says which disk is
measured.
"""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import Awaitable, Callable, Iterator
from itertools import count
from pathlib import Path

from benchmarks.figures import Figure, times_as_fast
from benchmarks.stopwatch import best_of
from benchmarks.storage import LOGGED, OWNER, ROUNDS, TOGETHER, log_together
from databases import Server, installed, new_database
from pydantic import SecretStr

from bot.storage import tallies
from bot.storage.address import address_of
from bot.storage.store import Store

DURABLE = {"fsync": "on", "full_page_writes": "on"}
READS = 50


async def asked(store: Store, query: Callable[..., Awaitable[object]], amount: int) -> None:
    """So much of one member's log."""
    async with store.read() as reading:
        await query(reading, OWNER, amount)


async def times_of(
    store: Store, events: Iterator[int], logged: int, rounds: int, reads: int
) -> dict[str, float]:
    """Milliseconds of each thing, by its words."""
    await store.open()
    await log_together(store, max(TOGETHER), events, max(TOGETHER))
    found = {}
    for members in TOGETHER:
        times = [await log_together(store, members, events, logged) for _ in range(rounds)]
        found[f"a durable tally, {members} at once"] = min(times)
    found["a page of the log"] = await best_of(lambda: asked(store, tallies.listed, 10), reads)
    found["marks of 1,000"] = await best_of(lambda: asked(store, tallies.marks, 1_000), reads)
    await store.close()
    return found


async def measure(server: Server, folder: Path, tiny: bool) -> tuple[Figure, ...]:
    """Both stores, one after the other."""
    sizes = (max(TOGETHER), 1, 1) if tiny else (LOGGED, ROUNDS, READS)
    stores = (Store(address_of(SecretStr(server.url("measured")))), Store(new_database(folder)))
    events = count(1)
    theirs, ours = [await times_of(store, events, *sizes) for store in stores]
    return tuple(
        times_as_fast(
            f"storage_postgresql.{'_'.join(what.replace(',', '').split())}",
            f"{what}, on PostgreSQL, beside SQLite",
            ms,
            ours[what],
        )
        for what, ms in theirs.items()
    )


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of the store on a real server; none where there is no PostgreSQL."""
    if not installed():
        return ()
    server = Server(**DURABLE)
    try:
        server.run("CREATE DATABASE measured")
        with tempfile.TemporaryDirectory() as name:
            return asyncio.run(measure(server, Path(name), tiny))
    finally:
        server.remove()
