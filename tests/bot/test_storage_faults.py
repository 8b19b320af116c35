"""Real faults of a SQLite database while it is in use: each is told in one sentence, nothing is half written,
what was stored stays, and once the fault is over the same store works again."""

from __future__ import annotations

import asyncio
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Awaitable, Callable, Iterator
from contextlib import closing, contextmanager
from contextvars import Context
from pathlib import Path

import pytest
from databases import new_database
from stored import NOW, WREN, opened, tally

from bot.storage import sqlite, tallies
from bot.storage.backup import backup, restore
from bot.storage.checkup import check_up
from bot.storage.faults import EVERY_SECONDS, Faults
from bot.storage.store import StorageError, Store

ROOT = Path(__file__).parents[2]
UNPRIVILEGED = 65534
"""The user "nobody": root may write everywhere."""

pytestmark = pytest.mark.sqlite


async def log(store: Store, event_id: int) -> bool:
    """Whether the event was new."""
    async with store.write(event_id) as writing:
        if not writing.repeated:
            await tallies.add(writing, WREN, tally(note="x" * 200), event_id, NOW)
        return not writing.repeated


async def logged(store: Store) -> list[int]:
    async with store.read() as reading:
        return sorted(mark.id for mark in await tallies.marks(reading, WREN, 10_000))


async def refused(work: Awaitable[object]) -> StorageError:
    with pytest.raises(StorageError) as found:
        await work
    assert "\n" not in str(found.value)
    assert len(found.value.reference) == 6
    return found.value


async def refusal(work: Awaitable[object]) -> str:
    return str(await refused(work))


def events(file: Path) -> set[int]:
    """What the file itself says, beside any store."""
    with closing(sqlite3.connect(file)) as raw:
        assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        stored = {row[0] for row in raw.execute("SELECT event_id FROM tally")}
        assert stored == {row[0] for row in raw.execute("SELECT id FROM event")}
        return stored


async def until_refused(store: Store, first: int, most: int = 3_000) -> tuple[int, str]:
    """Logs until that fails: the event that failed, and what was said."""
    for event_id in range(first, first + most):
        try:
            assert await log(store, event_id)
        except StorageError as error:
            return event_id, str(error)
    raise AssertionError("the disk took everything")


async def test_a_disk_that_fills_up_keeps_what_was_stored_and_takes_the_same_event_once_there_is_room(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = new_database(tmp_path)
    with closing(sqlite3.connect(file)) as raw:
        pages = raw.execute("PRAGMA page_count").fetchone()[0]
    monkeypatch.setattr(sqlite, "PRAGMAS", (*sqlite.PRAGMAS, f"max_page_count={pages + 12}"))
    async with opened(tmp_path) as store:
        failed, said = await until_refused(store, 1)
        assert said == f"The disk that holds {file} is full; make room on it."
        assert failed > 2
        assert len(await logged(store)) == failed - 1
        for _ in range(3):
            assert "is full" in await refusal(log(store, failed))
    monkeypatch.undo()
    async with opened(tmp_path) as store:
        assert await log(store, failed)
        assert not await log(store, failed)
        assert not await log(store, 1)
    assert events(file) == set(range(1, failed + 1))


FILLING = """
import asyncio, resource, signal, sys
from pathlib import Path
from test_storage_faults import log, logged
from bot.storage.store import StorageError, Store

async def main(file):
    store = Store(file)
    await store.open()
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    most = resource.getrlimit(resource.RLIMIT_FSIZE)[1]
    size = file.stat().st_size + 200_000
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, most))
    done = 0
    for _ in range(3):  # filled up, and made room in, again and again
        while True:
            try:
                await log(store, done + 1)
            except StorageError as error:
                print("refused", error)
                break
            done += 1
            print("stored", done)
        size += 200_000
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, most))
        assert await log(store, done + 1), "the event that failed was not stored"
        done += 1
        print("stored", done)
    assert len(await logged(store)) == done
    await store.close()

asyncio.run(main(Path(sys.argv[1])))
"""


def test_a_file_that_may_grow_no_more_is_told_and_the_running_bot_goes_on_once_it_may(tmp_path: Path) -> None:
    """The system refuses the writes themselves, as on a disk that is full."""
    file = new_database(tmp_path)
    paths = os.pathsep.join(map(str, (ROOT, ROOT / "tests", ROOT / "tests" / "bot")))
    done = subprocess.run(
        [sys.executable, "-c", FILLING, str(file)],
        env={**os.environ, "PYTHONPATH": paths},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    refused = {line.removeprefix("refused ") for line in lines if line.startswith("refused")}
    disk = f"The disk that holds {file} is full; make room on it."
    assert refused <= {disk, f"{file} could not be read or written; check the disk that holds it."}
    assert len([line for line in lines if line.startswith("refused")]) == 3
    stored = {int(line.split()[1]) for line in lines if line.startswith("stored")}
    assert events(file) == stored


async def test_a_lock_that_another_process_holds_for_long_is_told_and_stops_no_reader(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite, "PRAGMAS", ("busy_timeout=20", *sqlite.PRAGMAS[1:]))
    async with opened(tmp_path) as store:
        assert await log(store, 1)
        holder = subprocess.Popen(
            [sys.executable, "-c", LOCKING, str(store.file)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        with holder:
            assert holder.stdin is not None
            assert holder.stdout is not None
            assert holder.stdout.readline() == "locked\n"
            for _ in range(3):
                assert "was locked for too long" in await refusal(log(store, 2))
                assert len(await logged(store)) == 1
            holder.stdin.close()
        assert await log(store, 2)
    assert events(tmp_path / "cornerman.db") == {1, 2}


LOCKING = """
import sqlite3, sys
raw = sqlite3.connect(sys.argv[1], isolation_level=None)
raw.execute("BEGIN IMMEDIATE")
print("locked", flush=True)
sys.stdin.read()
"""


async def test_pages_that_are_damaged_while_it_runs_are_told_and_what_is_whole_can_still_be_read(
    tmp_path: Path,
) -> None:
    async with opened(tmp_path) as store:
        assert await log(store, 1)
    with closing(sqlite3.connect(tmp_path / "cornerman.db")) as raw:
        size = raw.execute("PRAGMA page_size").fetchone()[0]
        (page,) = raw.execute("SELECT rootpage FROM sqlite_master WHERE name = 'event'").fetchone()
    async with opened(tmp_path) as store:
        with store.file.open("r+b") as file:
            file.seek((page - 1) * size)
            file.write(b"\xff" * size)
        said = await refusal(log(store, 2))
        assert said == f"{store.file} is damaged; restore a backup of it."
        assert len(await logged(store)) == 1, "its page is whole"


async def same_after_removal(
    tmp_path: Path, remove: Callable[[Path], object], put_back: Callable[[Path], object]
) -> None:
    file = tmp_path / "cornerman.db"
    async with opened(tmp_path) as store:
        assert await log(store, 1)
        remove(file)
        for _ in range(2):
            said = await refusal(log(store, 2))
            assert said.startswith(f"{file} was removed or replaced while the bot ran; stop the bot")
            assert await refusal(logged(store)) == said
        put_back(file)
        assert await log(store, 2)
    assert events(file) == {1, 2}


async def test_a_file_that_is_moved_away_is_told_and_taken_up_again_once_it_is_back(tmp_path: Path) -> None:
    """What is written to a file that nobody finds any more would be lost."""
    aside = tmp_path / "aside.db"
    await same_after_removal(tmp_path, lambda file: file.rename(aside), lambda file: aside.rename(file))


async def test_a_folder_that_is_moved_away_is_told_and_taken_up_again_once_it_is_back(tmp_path: Path) -> None:
    folder, aside = tmp_path / "data", tmp_path / "aside"
    folder.mkdir()
    await same_after_removal(folder, lambda _: folder.rename(aside), lambda _: aside.rename(folder))


async def test_no_new_file_is_made_in_the_place_of_one_that_is_gone(tmp_path: Path) -> None:
    """Closing the new one would take away the write-ahead log of the old one."""
    async with opened(tmp_path) as store:
        assert await log(store, 1)
        async with store.read():  # so that the next transaction needs a connection of its own
            aside = store.file.rename(tmp_path / "aside.db")
            assert "was removed or replaced" in await refusal(log(store, 2))
            assert not store.file.exists()
            aside.rename(store.file)
        assert await log(store, 2)
    assert events(tmp_path / "cornerman.db") == {1, 2}


async def test_a_file_that_is_replaced_is_not_written_to(tmp_path: Path) -> None:
    """Connections to the old file and new ones to the new file would mix the two."""
    other = tmp_path / "other"
    other.mkdir()
    async with opened(other) as store:
        assert await log(store, 50)
    async with opened(tmp_path) as store:
        assert await log(store, 1)
        store.file.rename(tmp_path / "aside.db")
        shutil.copy(other / "cornerman.db", store.file)
        assert "was removed or replaced" in await refusal(log(store, 2))
        assert "was removed or replaced" in await refusal(logged(store))
    assert events(other / "cornerman.db") == {50}
    alone = tmp_path / "alone"
    alone.mkdir()
    assert events(Path(shutil.copy(tmp_path / "cornerman.db", alone))) == {50}, "its log is the other's"


async def test_a_write_ahead_log_that_is_removed_is_told_and_a_stop_saves_what_was_in_it(
    tmp_path: Path,
) -> None:
    async with opened(tmp_path) as store:
        for event_id in range(1, 6):
            assert await log(store, event_id)
        (tmp_path / "cornerman.db-wal").unlink()
        said = await refusal(log(store, 6))
        assert said.startswith(f"{store.file}-wal was removed while the bot ran; stop the bot")
    assert events(tmp_path / "cornerman.db") == {1, 2, 3, 4, 5}
    async with opened(tmp_path) as store:
        assert await log(store, 6)


@contextmanager
def as_nobody() -> Iterator[None]:
    """As a user who is not root, who may write everywhere; files opened before stay open."""
    os.seteuid(UNPRIVILEGED)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become another user")
async def test_what_becomes_read_only_is_told_once_it_is_opened_anew_and_works_again_after() -> None:
    """The system asks for rights when a file is opened, and never again: the first connection goes on."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        file = new_database(folder)
        for path in (folder, file):
            shutil.chown(path, UNPRIVILEGED, UNPRIVILEGED)
        with as_nobody():
            async with opened(folder) as store:
                assert await log(store, 1)
                forbid(folder)
                assert await log(store, 2)
                async with store.read():  # so that the next transaction needs a connection of its own
                    for _ in range(3):
                        said = await refusal(log(store, 3))
                        assert said.startswith(f"{file} cannot be ")
                        assert said.endswith("let the bot's user write to it and to its folder.")
                allow(folder)
                assert await log(store, 3)
                async with store.read(), store.read():
                    assert await log(store, 4)
        assert events(file) == {1, 2, 3, 4}


def forbid(folder: Path) -> None:
    for path in folder.iterdir():
        path.chmod(0o444)
    folder.chmod(0o555)


def allow(folder: Path) -> None:
    folder.chmod(0o755)
    for path in folder.iterdir():
        path.chmod(0o644)


async def test_a_backup_comes_back_where_the_file_was_removed_and_only_its_log_was_left(
    tmp_path: Path,
) -> None:
    """The log would else be read into the backup."""
    file, copy = new_database(tmp_path), tmp_path / "copy.db"
    async with opened(tmp_path) as store:
        assert await log(store, 1)
        backup(file, copy)
        for event_id in range(2, 40):
            assert await log(store, event_id)
        file.unlink()
        assert "was removed" in await refusal(log(store, 40))
    assert file.with_name("cornerman.db-wal").exists()
    assert restore(file, copy) is None
    assert events(file) == {1}
    assert (tmp_path / "cornerman.replaced-1.db-wal").stat().st_size > 0


async def test_a_fault_is_logged_at_once_then_once_a_minute_with_how_often_and_once_it_is_over(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    clock = [100.0]
    async with opened(tmp_path) as store:
        store._faults = Faults(lambda: clock[0])
        aside = store.file.rename(tmp_path / "aside.db")
        said = [await refused(log(store, 1)) for _ in range(20)]
        assert len(caplog.records) == 1
        assert len({error.reference for error in said}) == 1, "the number that stands in the log"
        assert said[0].reference in caplog.text
        clock[0] += EVERY_SECONDS
        said += [await refused(log(store, 1)) for _ in range(3)]
        assert len(caplog.records) == 2
        assert "19 times since it was last logged" in caplog.text
        assert said[-1].reference in caplog.records[1].getMessage()
        assert all(record.exc_info is None for record in caplog.records)
        aside.rename(store.file)
        assert await log(store, 1)
        assert await log(store, 2)
    assert len(caplog.records) == 3
    assert caplog.records[2].getMessage() == (
        f"reference {said[-1].reference} is over: writing works again, after 3 that failed"
    )


async def test_only_what_may_have_been_stored_in_part_is_said_to_be_unsure(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        aside = tmp_path / "aside.db"

        async def asked(stores_first: bool, *, again: bool = False) -> StorageError:
            """What a member asks for in a task of its own."""
            if stores_first or again:
                assert await log(store, 7) is not again
            store.file.rename(aside)
            try:
                return await refused(log(store, 8))
            finally:
                aside.rename(store.file)

        tasks = [asked(False), asked(True), asked(False, again=True), asked(False)]
        errors = [await asyncio.create_task(each, context=Context()) for each in tasks]
        assert [error.unsure for error in errors] == [False, True, False, False]


async def test_where_only_the_log_of_a_removed_database_lies_none_is_begun_which_would_take_it_away(
    tmp_path: Path,
) -> None:
    file = new_database(tmp_path)
    kept, wal = tmp_path / "kept", tmp_path / f"{file.name}-wal"
    store = Store(file)
    await store.open()
    assert await log(store, 1)
    for each in (file, wal):
        shutil.copy(each, tmp_path / f"copy of {each.name}")
    await store.close()
    shutil.copy(tmp_path / f"copy of {wal.name}", wal)
    file.rename(kept)

    with pytest.raises(StorageError, match="is gone, but its log") as found:
        await Store(file).open()
    assert "\n" not in str(found.value)
    with pytest.raises(StorageError, match="is gone, but its log"):
        check_up(file)
    with pytest.raises(StorageError, match="is gone, but its log"):
        backup(file, tmp_path / "backup.db")
    assert not file.exists()

    shutil.copy(tmp_path / f"copy of {file.name}", file)
    again = Store(file)
    await again.open()
    try:
        assert len(await logged(again)) == 1
    finally:
        await again.close()
