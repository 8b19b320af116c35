"""A server that crashes in the middle of a transaction may give its number out again: what another process
stores under it is never taken for ours."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterator
from contextvars import Context

import pytest
from databases import Server
from pydantic import SecretStr
from sqlalchemy import text
from stored import NOW, WREN, tally

from bot.storage import postgresql, tallies
from bot.storage.address import address_of
from bot.storage.store import StorageError, Store

pytestmark = pytest.mark.postgresql

OURS, THEIRS = 7, 8
MOST = 100
"""Transactions of the other process until it is given a number."""
Two = tuple[Store, Store]


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    """One that keeps what it acknowledged, and writes down nothing ahead of that."""
    made = Server(fsync="on", full_page_writes="on", wal_writer_delay="10s", autovacuum="off")
    try:
        yield made
    finally:
        made.remove()


@pytest.fixture
async def two(server: Server) -> AsyncIterator[Two]:
    """Two processes."""
    server.run("CREATE DATABASE corner")
    one, other = (Store(address_of(SecretStr(server.url("corner")))) for _ in range(2))
    await one.open()
    await other.open()
    yield one, other
    await one.close()
    await other.close()
    server.run("DROP DATABASE corner WITH (FORCE)")


async def write_up_to(store: Store, number: int) -> None:
    """Write until the server gives this number to it."""
    for _ in range(MOST):
        async with store.write(THEIRS) as writing:
            given = postgresql.number_of(writing.connection)
        if given >= number:
            break
    assert given == number


async def crash(server: Server, store: Store, event_id: int | None, other: Store | None) -> StorageError:
    """Log; just before that is committed the server crashes, is there again, and the other writes."""

    async def log() -> None:
        async with store.write(event_id) as writing:
            await tallies.add(writing, WREN, tally(), OURS, NOW)
            number = postgresql.number_of(writing.connection)
            server.stop("immediate")
            server.start()
            if other is not None:
                await asyncio.create_task(write_up_to(other, number), context=Context())

    with pytest.raises(StorageError) as found:
        await asyncio.create_task(log(), context=Context())
    return found.value


async def tallied(store: Store) -> int:
    async with store.read() as reading:
        rows = await reading.connection.execute(text("SELECT count(*) FROM tally"))
        return int(rows.scalar_one())


async def test_what_another_stores_under_the_number_of_ours_is_not_taken_for_it(
    two: Two, server: Server
) -> None:
    one, other = two
    error = await crash(server, one, OURS, other)
    assert not error.unsure, "its event was looked for"
    assert await tallied(one) == 0
    async with one.write(OURS) as writing:
        assert not writing.repeated


async def test_what_stores_no_event_is_never_said_to_be_stored_after_an_error(
    two: Two, server: Server
) -> None:
    """Jobs do so, and are done again."""
    one, other = two
    assert (await crash(server, one, None, other)).unsure
    assert await tallied(one) == 0


async def test_a_number_that_was_not_given_out_again_yet_was_not_stored(two: Two, server: Server) -> None:
    one, _ = two
    assert not (await crash(server, one, OURS, None)).unsure
    assert await tallied(one) == 0
