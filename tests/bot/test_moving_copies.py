"""Backups of a PostgreSQL database: made while the bot runs, and put back into an empty one."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from databases import at_server, in_thread, new_on_server
from moved import BrokenOffError, after, contents, empty, filled, filled_file, silent, store_at
from stored import NOW, WREN, tally

from bot.storage import tallies
from bot.storage.address import Address, address_of
from bot.storage.backup import backup, restore
from bot.storage.connections import connect
from bot.storage.copying import Part, Step
from bot.storage.moving import copy_out, move, put_back
from bot.storage.sqlite import keep_log
from bot.storage.store import StorageError, Store
from bot.storage.upgrade import MIGRATIONS, upgrade

pytestmark = [pytest.mark.postgresql, pytest.mark.usefixtures("small_pages")]


async def log(address: Address) -> None:
    async with store_at(address) as store, store.write() as writing:
        await tallies.add(writing, WREN, tally(), None, NOW)


def names(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.iterdir())


async def test_a_backup_is_of_one_moment_while_the_bot_goes_on_writing(tmp_path: Path) -> None:
    database, copy = await filled("server", tmp_path), tmp_path / "copy.db"
    before = contents(database)
    written: list[Step] = []

    def tell(step: Step) -> None:
        """Between two pages of the members, which the tallies point to."""
        if step.table == "member" and step.part is Part.COPIED:
            in_thread(log(database))
            written.append(step)

    await copy_out(database, copy, tell)
    assert len(written) > 1
    assert contents(address_of(copy)) == before
    assert len(contents(database)["tally"]) == len(before["tally"]) + len(written)
    assert names(tmp_path) == ["copy.db", "filled"]


async def test_a_bot_runs_on_a_copy_that_is_restored_as_a_file(tmp_path: Path) -> None:
    database, copy = await filled("server", tmp_path), tmp_path / "copy.db"
    await copy_out(database, copy, silent)
    assert restore(tmp_path / "cornerman.db", copy) is None
    assert contents(address_of(tmp_path / "cornerman.db")) == contents(database)
    await log(address_of(tmp_path / "cornerman.db"))


async def test_a_backup_goes_over_no_file_and_one_that_fails_leaves_none(tmp_path: Path) -> None:
    database, copy = await filled("server", tmp_path), tmp_path / "copy.db"
    copy.write_text("mine")
    with pytest.raises(StorageError, match=r"copy\.db exists already"):
        await copy_out(database, copy, silent)
    assert copy.read_text() == "mine"
    copy.unlink()
    with pytest.raises(BrokenOffError):
        await copy_out(database, copy, after(9))
    with pytest.raises(StorageError, match="its folder does not exist"):
        await copy_out(database, tmp_path / "nowhere" / "copy.db", silent)
    with pytest.raises(StorageError, match="is empty, so there is nothing to copy"):
        await copy_out(empty("server", tmp_path, "nothing"), copy, silent)
    assert names(tmp_path) == ["filled"]


@pytest.mark.parametrize("made_of", ["file", "server"])
async def test_a_backup_of_either_kind_is_put_into_an_empty_database(made_of: str, tmp_path: Path) -> None:
    database, copy = await filled(made_of, tmp_path), tmp_path / "copy.db"
    if database.file is not None:
        backup(database.file, copy)
    else:
        await copy_out(database, copy, silent)
    before, bytes_before = contents(database), copy.read_bytes()
    target = empty("server", tmp_path)
    await put_back(copy, target, silent)
    assert contents(target) == before
    assert copy.read_bytes() == bytes_before
    await log(target)


async def test_a_backup_is_not_put_over_what_is_there(tmp_path: Path) -> None:
    copy = await filled_file(tmp_path / "old")
    target = new_on_server("target")
    await log(target)
    before = contents(target)
    with pytest.raises(StorageError, match="holds data already; name an empty database"):
        await put_back(copy, target, silent)
    assert contents(target) == before


async def test_a_restore_that_was_broken_off_is_done_again_and_not_used_before(tmp_path: Path) -> None:
    copy, target = await filled_file(tmp_path / "old"), empty("server", tmp_path)
    with pytest.raises(BrokenOffError):
        await put_back(copy, target, after(30))
    with pytest.raises(StorageError, match="still being moved into"):
        await Store(target).open()
    await put_back(copy, target, silent)
    assert contents(target) == contents(address_of(copy))


async def test_a_backup_of_older_tables_is_brought_up_to_date_on_the_way(tmp_path: Path) -> None:
    copy, target = address_of(tmp_path / "copy.db"), empty("server", tmp_path)
    older = shutil.copytree(MIGRATIONS, tmp_path / "older", ignore=shutil.ignore_patterns("*.pyc", "0005*"))
    connections = connect(copy)
    await keep_log(connections.plain)
    await upgrade(connections, copy, older)
    await connections.close()
    assert copy.file is not None
    with closing(sqlite3.connect(copy.file, isolation_level=None)) as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchone() == ("0004",)
        raw.execute("INSERT INTO server (id) VALUES (7)")
    before = copy.file.read_bytes()
    await put_back(copy.file, target, silent)
    assert contents(target)["server"]
    assert copy.file.read_bytes() == before
    await log(target)


async def test_only_a_whole_backup_is_put_back(tmp_path: Path) -> None:
    target = empty("server", tmp_path)
    bad = tmp_path / "bad.db"
    with pytest.raises(StorageError, match=r"bad\.db does not exist"):
        await put_back(bad, target, silent)
    bad.write_bytes(b"no database" * 1_000)
    with pytest.raises(StorageError, match=r"bad\.db is not a database"):
        await put_back(bad, target, silent)
    bad.unlink()
    with pytest.raises(BrokenOffError):
        await move(address_of(await filled_file(tmp_path / "old")), address_of(bad), after(20))
    with pytest.raises(StorageError, match=r"bad\.db is still being moved into"):
        await put_back(bad, target, silent)
    with pytest.raises(StorageError, match=r"bad\.db is still being moved into"):
        backup(bad, tmp_path / "copy.db")
    assert names(tmp_path) == ["bad.db", "old"]
    async with store_at(target):  # nothing was begun there
        assert not any(contents(at_server("target")).values())
