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
from collections.abc import Iterator
from contextlib import closing, contextmanager
from contextvars import Context
from pathlib import Path

import pytest
from databases import new_database
from faulted import events, log, logged, refusal, refused
from stored import opened

from bot.storage import sqlite
from bot.storage.faults import EVERY_SECONDS, Faults
from bot.storage.store import StorageError, Store

ROOT = Path(__file__).parents[2]
UNPRIVILEGED = 65534
"""The user "nobody": root may write everywhere."""

pytestmark = pytest.mark.sqlite


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
