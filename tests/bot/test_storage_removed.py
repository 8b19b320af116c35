"""A SQLite database whose files are moved, removed or replaced: told in one sentence; nothing stored goes."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from databases import new_database
from faulted import events, log, logged, refusal
from stored import opened

from bot.storage.backup import backup, restore
from bot.storage.checkup import check_up
from bot.storage.store import StorageError, Store

pytestmark = pytest.mark.sqlite


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
