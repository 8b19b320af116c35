"""Copies made while the bot runs, and put back while it does not."""

from __future__ import annotations

import asyncio
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from databases import migrated, new_database
from stored import NOW, WREN, opened, tally

from bot.storage import tallies
from bot.storage.backup import backup, restore
from bot.storage.store import StorageError, Store

pytestmark = pytest.mark.sqlite  # files that take each other's place

ROOT = Path(__file__).parents[2]
HOLDS = """
import asyncio, sys
from pathlib import Path
from bot.storage.store import Store

async def main():
    store = Store(Path(sys.argv[1]))
    await store.open()
    print("open", flush=True)
    sys.stdin.readline()
    await store.close()

asyncio.run(main())
"""


async def log(store: Store, many: int) -> None:
    for _ in range(many):
        async with store.write() as writing:
            await tallies.add(writing, WREN, tally(), None, NOW)


async def made(folder: Path, many: int) -> Path:
    """A closed database with so many tallies."""
    folder.mkdir(exist_ok=True)
    async with opened(folder) as store:
        await log(store, many)
    return store.file


def count(file: Path) -> int:
    with closing(sqlite3.connect(file)) as raw:
        assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        return int(raw.execute("SELECT count(*) FROM tally").fetchone()[0])


def damage(file: Path) -> None:
    pages = bytearray(file.read_bytes())
    pages[4096 * 2 :] = b"\xff" * (len(pages) - 4096 * 2)
    file.write_bytes(pages)


def names(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.iterdir())


async def test_a_backup_is_made_while_the_bot_writes(tmp_path: Path) -> None:
    async with opened(tmp_path) as store:
        await log(store, 5)
        writing = asyncio.create_task(log(store, 60))
        await asyncio.to_thread(backup, store.file, tmp_path / "copy.db")
        await writing
        async with store.read() as reading:
            assert len(await tallies.marks(reading, WREN, 99)) == 65
    assert 5 <= count(tmp_path / "copy.db") <= 65
    assert names(tmp_path) == ["copy.db", "cornerman.db"]


async def test_a_backup_goes_over_no_file(tmp_path: Path) -> None:
    database = await made(tmp_path, 1)
    (tmp_path / "copy.db").write_text("mine")
    with pytest.raises(StorageError, match=r"copy\.db exists already; name a file that does not\."):
        backup(database, tmp_path / "copy.db")
    assert (tmp_path / "copy.db").read_text() == "mine"
    assert names(tmp_path) == ["copy.db", "cornerman.db"]


async def test_a_backup_of_nothing_or_to_nowhere_is_told(tmp_path: Path) -> None:
    with pytest.raises(StorageError, match=r"cornerman\.db does not exist"):
        backup(tmp_path / "cornerman.db", tmp_path / "copy.db")
    database = await made(tmp_path, 1)
    with pytest.raises(StorageError, match="its folder does not exist"):
        backup(database, tmp_path / "nowhere" / "copy.db")
    assert names(tmp_path) == ["cornerman.db"]


async def test_a_damaged_database_gives_no_backup(tmp_path: Path) -> None:
    database = await made(tmp_path, 300)
    damage(database)
    with pytest.raises(StorageError, match=r"cornerman\.db is damaged"):
        backup(database, tmp_path / "copy.db")
    assert names(tmp_path) == ["cornerman.db"]


async def test_a_restored_backup_replaces_the_database_and_nothing_is_lost(tmp_path: Path) -> None:
    database = await made(tmp_path, 3)
    backup(database, tmp_path / "copy.db")
    await made(tmp_path, 4)
    kept = restore(database, tmp_path / "copy.db")
    assert kept == tmp_path / "cornerman.replaced-1.db"
    assert (count(database), count(kept), count(tmp_path / "copy.db")) == (3, 7, 3)
    async with opened(tmp_path) as store:
        await log(store, 1)
    again = restore(database, kept)
    assert again == tmp_path / "cornerman.replaced-2.db"
    assert (count(database), count(again)) == (7, 4)
    assert names(tmp_path) == [
        "copy.db",
        "cornerman.db",
        "cornerman.replaced-1.db",
        "cornerman.replaced-2.db",
    ]


async def test_a_backup_is_restored_where_there_is_no_database(tmp_path: Path) -> None:
    source = await made(tmp_path / "old", 2)
    (tmp_path / "new").mkdir()
    assert restore(tmp_path / "new" / "cornerman.db", source) is None
    assert count(tmp_path / "new" / "cornerman.db") == 2
    assert names(tmp_path / "new") == ["cornerman.db"]


@pytest.mark.parametrize("broken", [b"no database" * 1000, None])
async def test_a_backup_is_restored_over_a_file_that_is_no_good(tmp_path: Path, broken: bytes | None) -> None:
    source = await made(tmp_path / "old", 2)
    database = await made(tmp_path / "new", 300)
    if broken is None:
        damage(database)
    else:
        database.write_bytes(broken)
    bad = database.read_bytes()
    kept = restore(database, source)
    assert kept is not None
    assert kept.read_bytes() == bad
    assert count(database) == 2
    assert names(tmp_path / "new") == ["cornerman.db", "cornerman.replaced-1.db"]


@pytest.mark.parametrize("killed", [False, True])
async def test_nothing_is_restored_while_a_bot_has_the_database_open(tmp_path: Path, killed: bool) -> None:
    source = await made(tmp_path / "old", 2)
    database = await made(tmp_path / "new", 3)
    bot = subprocess.Popen(
        [sys.executable, "-c", HOLDS, str(database)],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with bot:
        assert bot.stdout is not None
        assert bot.stdout.readline() == "open\n"
        with pytest.raises(StorageError, match=r"cornerman\.db is in use; stop the bot before restoring\."):
            restore(database, source)
        assert count(database) == 3
        if killed:
            bot.kill()
        else:
            bot.communicate("\n")
    restore(database, source)
    assert count(database) == 2


async def test_a_store_in_the_same_process_keeps_its_database(tmp_path: Path) -> None:
    source = await made(tmp_path / "old", 2)
    async with opened(tmp_path) as store:
        await log(store, 1)
        with pytest.raises(StorageError, match="stop the bot"):
            restore(store.file, source)
        await log(store, 1)
    assert count(store.file) == 2


async def test_only_an_intact_backup_of_this_program_and_no_newer_one_is_restored(tmp_path: Path) -> None:
    database = await made(tmp_path, 3)
    before = database.read_bytes()
    source = tmp_path / "source.db"

    def refusal() -> str:
        with pytest.raises(StorageError) as refused:
            restore(database, source)
        assert database.read_bytes() == before
        return str(refused.value)

    assert refusal() == f"{source} does not exist; name the file of a backup."
    source.write_bytes(b"text" * 999)
    assert refusal() == f"{source} is not a database; name another file, or restore a backup."
    source.write_bytes(before)
    damage(source)
    assert refusal().startswith(f"{source} is damaged")
    source.unlink()
    with closing(sqlite3.connect(source)) as raw:
        raw.execute("CREATE TABLE recipe (id INTEGER)")
    assert refusal() == f"{source} is no backup of Cornerman's; name one that it made."
    source.write_bytes(migrated())
    with closing(sqlite3.connect(source)) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '9999'")
        raw.commit()
    assert refusal().startswith(f"{source} was written by a newer version of Cornerman")
    with pytest.raises(StorageError, match="is the database itself"):
        restore(database, database)
    assert names(tmp_path) == ["cornerman.db", "source.db"]


async def test_an_interrupted_restore_leaves_the_database_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = await made(tmp_path / "old", 2)
    database = await made(tmp_path / "new", 3)

    def fail(*_: object) -> None:
        raise OSError("no room")

    monkeypatch.setattr("bot.storage.backup.publish", fail)
    with pytest.raises(OSError, match="no room"):
        restore(database, source)
    assert count(database) == 3
    assert names(tmp_path / "new") == ["cornerman.db"]


def test_a_new_database_has_no_rows(tmp_path: Path) -> None:
    assert count(new_database(tmp_path)) == 0
