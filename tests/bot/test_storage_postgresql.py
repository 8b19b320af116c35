"""A PostgreSQL database: its tables, what its connections keep to, and that it orders and finds as SQLite."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from databases import at_server, new_database, new_on_server, server
from raw import rows_in
from sqlalchemy import Connection, String, text
from stored import NOW, WREN, tally

from bot.results.job import Job
from bot.results.tally import SavedRoute
from bot.storage import jobs, routes, tallies
from bot.storage.revision import HEAD
from bot.storage.schema import metadata
from bot.storage.store import Store

pytestmark = pytest.mark.postgresql

LEASE = timedelta(minutes=3)
NAMES = (
    "Zeta",
    "alpha",
    "Alpha",
    "_x",
    "a-b",
    "ab",
    "a b",
    "éclair",
    "zeta",
    "10",
    "9",
    "Ä",
    "ß",
    "\U0001f94a",
)
KEYS = ("drill:1", "drill:10", "drill:2", "drill;1", "Drill:1", "drill", "drill 1", "dríll:1", "drill:")
LANGUAGES = (
    "LOCALE 'C.UTF-8'",
    "LOCALE_PROVIDER icu ICU_LOCALE 'en-US' LOCALE 'C.UTF-8'",
    "LOCALE_PROVIDER icu ICU_LOCALE 'de-u-co-phonebk' LOCALE 'C.UTF-8'",
)


@pytest.fixture
async def store() -> AsyncIterator[Store]:
    store = Store(new_on_server("mine"))
    await store.open()
    yield store
    await store.close()


def differences(connection: Connection) -> list[object]:
    options = {"compare_type": True, "compare_server_default": True}
    return list(compare_metadata(MigrationContext.configure(connection, opts=options), metadata))


async def test_the_tables_are_those_that_the_queries_are_written_for(store: Store) -> None:
    async with store.read() as reading:
        assert await reading.connection.run_sync(differences) == []
        version = text("SELECT version_num FROM alembic_version")
        assert (await reading.connection.execute(version)).scalars().all() == [HEAD]


async def test_a_table_that_is_not_as_it_should_be_would_be_seen(store: Store) -> None:
    async with store.write() as writing:
        await writing.connection.execute(text("ALTER TABLE tally ALTER COLUMN note TYPE integer USING 1"))
        await writing.connection.execute(text("DROP INDEX ix_event_seen_at"))
        assert len(await writing.connection.run_sync(differences)) == 2


async def test_all_text_is_compared_by_its_characters_numbers(store: Store) -> None:
    kept = rows_in(
        store.address,
        "SELECT table_name, column_name FROM information_schema.columns WHERE collation_name = 'C'"
        " AND table_schema = 'public'",
    )
    texts = {
        (table.name, column.name)
        for table in metadata.sorted_tables
        for column in table.columns
        if isinstance(column.type, String)
    }
    assert {tuple(row) for row in kept} == texts
    assert len(texts) > 60


async def test_every_connection_keeps_the_rules_of_durability(store: Store) -> None:
    async with store.read() as one, store.read() as another, store.write() as last:
        for each, isolation, read_only in (
            (one, "repeatable read", "on"),
            (another, "repeatable read", "on"),
            (last, "read committed", "off"),
        ):
            asked = (
                *("synchronous_commit", "transaction_isolation", "transaction_read_only"),
                *("lock_timeout", "statement_timeout", "TimeZone"),
            )
            values = [(await each.connection.execute(text(f"SHOW {name}"))).scalar_one() for name in asked]
            assert values == ["on", isolation, read_only, "5s", "1min", "UTC"]


async def test_nobody_who_takes_jobs_waits_for_another(store: Store) -> None:
    """The second claim comes to its end within the first; the third finds what the second gave back."""
    other = Store(store.address)
    await other.open()
    async with store.write() as writing:
        for number in range(3):
            await jobs.add(writing, Job(f"job {number}", "first", NOW + number * timedelta(seconds=1)))
    async with store.write_beside() as first:
        (mine,) = await jobs.claim(first, "a", NOW + LEASE, LEASE)
        async with other.write_beside() as second:
            (theirs,) = await jobs.claim(second, "b", NOW + LEASE, LEASE)
    async with other.write_beside() as third:
        (last,) = await jobs.claim(third, "c", NOW + LEASE, LEASE)
        assert await jobs.claim(third, "d", NOW + LEASE, LEASE) == ()
    await other.close()
    assert [each.job.key for each in (mine, theirs, last)] == ["job 0", "job 1", "job 2"]


async def test_a_job_is_taken_while_another_process_is_in_the_middle_of_a_use_case(store: Store) -> None:
    other = Store(store.address)
    await other.open()
    async with store.write() as writing:
        await jobs.add(writing, Job("job", "first", NOW))
    async with store.write() as writing:
        await tallies.add(writing, WREN, tally(), None, NOW)
        async with other.write_beside() as beside:
            assert len(await jobs.claim(beside, "a", NOW, LEASE)) == 1
    await other.close()


async def test_two_stores_that_open_an_empty_database_at_once_make_its_tables_once() -> None:
    server().run("DROP DATABASE IF EXISTS brand_new WITH (FORCE)", "CREATE DATABASE brand_new")
    stores = [Store(at_server("brand_new")) for _ in range(4)]
    try:
        await asyncio.gather(*(store.open() for store in stores))
        assert [tuple(row) for row in rows_in(stores[0].address, "SELECT * FROM alembic_version")] == [
            (HEAD,)
        ]
        async with stores[0].read() as reading:
            assert await reading.connection.run_sync(differences) == []
    finally:
        for store in stores:
            await store.close()
        server().run("DROP DATABASE brand_new WITH (FORCE)")


async def ordered_and_found(store: Store) -> tuple[list[str], set[str]]:
    """The names of a member's routes as they are listed, and the keys of jobs that begin with `drill:`."""
    async with store.write() as writing:
        route = SavedRoute(0, "Saltglass", "1", "Mirrel", "", "5A", NOW)
        for name in NAMES:
            await routes.save(writing, WREN, replace(route, name=name))
        for key in KEYS:
            await jobs.add(writing, Job(key, "first", NOW))
    async with store.read() as reading:
        listed = await routes.listed(reading, WREN, "Saltglass")
        return [each.name for each in listed], {job.key for job in await jobs.unfinished(reading, "drill:")}


@pytest.mark.parametrize("language", LANGUAGES)
async def test_it_orders_and_finds_as_sqlite_whatever_language_it_was_made_for(
    tmp_path: Path, language: str
) -> None:
    plain = Store(new_database(tmp_path))
    await plain.open()
    wanted = await ordered_and_found(plain)
    await plain.close()
    assert wanted == (sorted(NAMES), {"drill:", "drill:1", "drill:10", "drill:2"})
    server().run(
        "DROP DATABASE IF EXISTS foreign_words WITH (FORCE)",
        f"CREATE DATABASE foreign_words TEMPLATE template0 ENCODING 'UTF8' {language}",
    )
    store = Store(at_server("foreign_words"))
    try:
        await store.open()
        assert await ordered_and_found(store) == wanted
    finally:
        await store.close()
        server().run("DROP DATABASE foreign_words WITH (FORCE)")
