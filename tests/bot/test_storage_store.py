"""Opening, transactions, events that come twice, and what a host reads when the file cannot be used."""

from __future__ import annotations

import asyncio
import itertools
import os
import sqlite3
import tempfile
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from databases import database_at, new_database, uses_postgresql
from sqlalchemy import event, text
from stored import NOW, WREN, opened, tally

from bot.storage import sqlite, tallies
from bot.storage import store as module
from bot.storage.address import address_of
from bot.storage.store import StorageError, Store

UNPRIVILEGED = 65534
"""The user "nobody": root may write everywhere."""


async def count(store: Store, table: str = "tally") -> int:
    async with store.read() as reading:
        return int((await reading.connection.execute(text(f"SELECT count(*) FROM {table}"))).scalar_one())


async def log(store: Store, event_id: int) -> bool:
    """Whether the event was new."""
    async with store.write(event_id) as writing:
        if not writing.repeated:
            await tallies.add(writing, WREN, tally(), event_id, NOW)
        return not writing.repeated


@pytest.mark.sqlite
async def test_every_connection_keeps_the_rules_of_durability(tmp_path: Path) -> None:
    async with opened(tmp_path) as store, store.read() as one, store.read() as another, store.write() as last:
        for each in (one, another, last):
            asked = ("journal_mode", "synchronous", "foreign_keys", "busy_timeout", "secure_delete")
            values = [(await each.connection.execute(text(f"PRAGMA {name}"))).scalar_one() for name in asked]
            assert values == ["wal", 2, 1, 5_000, 1]


async def test_an_event_that_comes_twice_is_stored_once_also_after_reopening(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        assert await log(store, 77)
        assert not await log(store, 77)
        assert await log(store, 78)
    async with opened(tmp_path) as store:
        assert not await log(store, 77)
        assert await count(store) == 2


async def test_two_writes_at_once_with_one_event_log_once(tmp_path: Path) -> None:
    async with opened(tmp_path) as store, opened(tmp_path) as other:
        new = await asyncio.gather(*(log(each, 5) for each in (store, store, other, other)))
        assert sorted(new) == [False, False, False, True]
        assert await count(store) == 1


async def test_an_exception_leaves_nothing_and_its_event_may_come_again(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:

        async def fails() -> None:
            async with store.write(4) as writing:
                await tallies.add(writing, WREN, tally(), 4, NOW)
                raise ZeroDivisionError

        with pytest.raises(ZeroDivisionError):
            await fails()
        for table in ("tally", "event", "subject", "total", "member", "server"):
            assert await count(store, table) == 0, table
        assert await log(store, 4)


async def test_a_cancelled_write_leaves_nothing_and_the_next_goes_on(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        stored = asyncio.Event()

        async def never_ends() -> None:
            async with store.write(4) as writing:
                await tallies.add(writing, WREN, tally(), 4, NOW)
                stored.set()
                await asyncio.Event().wait()

        task = asyncio.create_task(never_ends())
        await stored.wait()
        task.cancel()
        with pytest.raises(asyncio.CancelledError):
            await task
        assert await count(store) == 0
        assert await log(store, 4)


async def test_a_write_cancelled_at_any_moment_is_stored_whole_or_not_at_all(tmp_path: Path) -> None:
    whole = 0
    async with opened(tmp_path) as store:
        for moment in itertools.count():  # later and later, until one is done before it is cancelled
            task = asyncio.create_task(log(store, moment + 1))
            for _ in range(moment * moment // 4):
                await asyncio.sleep(0)
            task.cancel()
            with suppress(asyncio.CancelledError):
                await task
            stored = await count(store)
            assert await count(store, "event") == stored
            assert stored == whole + 1 or (task.cancelled() and stored == whole)
            whole = stored
            if not task.cancelled():
                break
        assert await log(store, 1_000_000)
        async with store.read() as reading:
            tallied = sum(total.tallies for total in await tallies.totals(reading, WREN, "Saltglass"))
            assert tallied == len(await tallies.marks(reading, WREN, 100)) == whole + 1


@pytest.mark.sqlite
async def test_a_write_cancelled_within_a_statement_keeps_no_lock(tmp_path: Path) -> None:
    """Its error knows the statement, and is itself still known while the next one writes."""
    async with opened(tmp_path) as store:
        loop, begun, release = asyncio.get_running_loop(), asyncio.Event(), threading.Event()

        def held() -> int:
            loop.call_soon_threadsafe(begun.set)
            release.wait()
            return 1

        async def never_ends() -> None:
            async with store.write(4) as writing:
                raw: Any = (await writing.connection.get_raw_connection()).driver_connection
                await raw.create_function("held", 0, held)
                insert = text("INSERT INTO event (id, seen_at) VALUES (5, '2026-01-01') RETURNING held()")
                await writing.connection.execute(insert)

        task = asyncio.create_task(never_ends())
        await begun.wait()
        task.cancel()
        release.set()
        with pytest.raises(asyncio.CancelledError) as ended:
            await task
        assert await log(store, 4)
        assert await count(store, "event") == 1
        del ended


async def test_a_reader_sees_one_moment_while_others_write(tmp_path: Path) -> None:
    async with opened(tmp_path) as store, store.read() as reading:
        assert await tallies.latest(reading, WREN) is None
        await log(store, 1)
        assert await tallies.latest(reading, WREN) is None
        assert await count(store) == 1


async def test_events_are_forgotten_after_two_days_a_few_at_a_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    moment = NOW
    async with opened(tmp_path, now=lambda: moment) as store:
        for event_id in (1, 2, 3):
            await log(store, event_id)
        moment = NOW + timedelta(days=1)
        await log(store, 4)
        monkeypatch.setattr(module, "PRUNED_AT_ONCE", 2)
        monkeypatch.setattr(module, "WRITES_TO_PRUNING", 1)
        moment = NOW + timedelta(days=2, seconds=1)
        await log(store, 5)
        assert await count(store, "event") == 3
        await log(store, 6)
        assert await count(store, "event") == 3
        assert not await log(store, 4)
        assert await count(store) == 6
    async with opened(tmp_path, now=lambda: NOW + timedelta(days=9)) as store:
        assert await count(store, "event") == 1


async def test_foreign_keys_are_on(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        with pytest.raises(Exception, match=r"(?i)foreign key"):
            async with store.write() as writing:
                await writing.connection.execute(
                    text("INSERT INTO total VALUES (9, 'training', 1, 1, 1, 0, 0)")
                )


async def test_closing_twice_and_opening_twice_do_no_harm_and_a_closed_store_says_so(tmp_path: Path) -> None:
    store = Store(address_of(database_at(tmp_path)))
    await store.close()
    await store.open()
    await store.open()
    await log(store, 1)
    await store.close()
    await store.close()
    if not uses_postgresql():
        assert sorted(file.name for file in tmp_path.iterdir()) == ["cornerman.db"]
    with pytest.raises(RuntimeError, match="not open"):
        async with store.read():
            pass
    await store.open()
    assert await count(store) == 1
    await store.close()


async def refusal(file: Path) -> str:
    with pytest.raises(StorageError) as refused:
        await Store(file).open()
    assert str(refused.value).count("\n") == 0
    return str(refused.value)


@pytest.mark.sqlite
async def test_a_place_where_no_database_can_lie_is_told(tmp_path: Path) -> None:
    missing = tmp_path / "nowhere" / "cornerman.db"
    assert await refusal(missing) == (
        f"{missing} cannot be opened: its folder does not exist; create the folder."
    )
    assert await refusal(tmp_path) == f"{tmp_path} cannot be opened: it is a folder; name a file in it."


@pytest.mark.sqlite
async def test_a_file_that_is_no_database_is_told(tmp_path: Path) -> None:
    file = tmp_path / "notes.txt"
    file.write_bytes(b"no database at all\n" * 100)
    assert await refusal(file) == f"{file} is not a database; name another file, or restore a backup."
    assert file.read_bytes() == b"no database at all\n" * 100


@pytest.mark.sqlite
async def test_a_damaged_database_is_told(tmp_path: Path) -> None:
    file = new_database(tmp_path)
    pages = bytearray(file.read_bytes())
    pages[4096:] = b"\xff" * (len(pages) - 4096)
    file.write_bytes(pages)
    assert await refusal(file) == f"{file} is damaged; restore a backup of it."


@pytest.mark.sqlite
async def test_a_database_of_another_program_is_told_and_left_alone(tmp_path: Path) -> None:
    file = tmp_path / "other.db"
    with closing(sqlite3.connect(file)) as raw:
        raw.execute("CREATE TABLE recipe (id INTEGER)")
    assert await refusal(file) == f"{file} is another program's database; name another one."
    with closing(sqlite3.connect(file)) as raw:
        assert raw.execute("SELECT name FROM sqlite_master").fetchall() == [("recipe",)]


@contextmanager
def unprivileged() -> Iterator[Path]:
    """A folder that may be entered and not written to, as a user who is not root."""
    root = os.geteuid() == 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        new_database(folder).chmod(0o444)
        folder.chmod(0o555)
        if root:
            os.seteuid(UNPRIVILEGED)
        try:
            yield folder
        finally:
            if root:
                os.seteuid(0)
            folder.chmod(0o755)


@pytest.mark.sqlite
async def test_a_file_or_folder_that_may_not_be_written_is_told() -> None:
    with unprivileged() as folder:
        file = folder / "cornerman.db"
        right = "let the bot's user write to it and to its folder."
        assert await refusal(file) in (
            f"{file} cannot be written to; {right}",
            f"{file} cannot be opened; {right}",
        )
        new = folder / "new.db"
        assert await refusal(new) == f"{new} cannot be opened; {right}"


@pytest.mark.sqlite
async def test_a_file_that_another_keeps_locked_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite, "PRAGMAS", ("busy_timeout=20", *sqlite.PRAGMAS[1:]))
    async with opened(tmp_path) as store:
        with closing(sqlite3.connect(store.file, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            with pytest.raises(StorageError, match=r"cornerman\.db was locked for too long"):
                await log(store, 1)
        assert await log(store, 1)


@pytest.mark.sqlite
async def test_what_is_stored_is_not_told_as_failed_where_only_the_log_cannot_be_emptied(
    tmp_path: Path,
) -> None:
    async with opened(tmp_path) as store:

        @event.listens_for(store._opened.plain.sync_engine, "before_cursor_execute")
        def fail(_: object, __: object, statement: str, *___: object) -> None:
            if broken and "wal_checkpoint" in statement:
                raise sqlite3.OperationalError("database or disk is full")

        broken = True
        async with store.write() as writing:
            await tallies.add(writing, WREN, tally(), None, NOW)
            writing.erases = True
        assert await count(store) == 1
        assert (tmp_path / f"{store.file.name}-wal").stat().st_size > 0
        broken = False
        assert await log(store, 1)
        assert (tmp_path / f"{store.file.name}-wal").stat().st_size == 0, "as soon as it can be"


@pytest.mark.sqlite
async def test_a_full_disk_is_told_and_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite, "PRAGMAS", (*sqlite.PRAGMAS, "max_page_count=1"))  # no more than there are
    async with opened(tmp_path) as store:

        async def log_much() -> None:
            async with store.write() as writing:
                for _ in range(300):
                    await tallies.add(writing, WREN, tally(note="x" * 200), None, NOW)

        with pytest.raises(StorageError, match=r"The disk that holds .*cornerman\.db is full"):
            await log_much()
        assert await count(store) == 0
