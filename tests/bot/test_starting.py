"""A bot that begins on a SQLite file: alone there, and with files that nobody else may read."""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from pydantic import SecretStr
from stored import NOW, WREN, opened, tally

from bot.ports import StorageError
from bot.storage import tallies
from bot.storage.backup import backup, restore
from bot.storage.starting import only_bot_on
from bot.storage.store import Store

pytestmark = [
    pytest.mark.sqlite,
    pytest.mark.skipif(
        os.name != "posix", reason="files have no such modes, and processes no such end, here"
    ),
]
HOLDS = """
import sys, time
from pathlib import Path
from bot.storage.starting import only_bot_on
with only_bot_on(Path(sys.argv[1])):
    print("runs", flush=True)
    time.sleep(60)
"""


def test_a_second_bot_does_not_begin_on_the_same_file_whatever_its_name(tmp_path: Path) -> None:
    other = tmp_path / "other.db"
    other.symlink_to(tmp_path / "cornerman.db")
    with (
        only_bot_on(tmp_path / "cornerman.db"),
        pytest.raises(StorageError, match="already"),
        only_bot_on(other),
    ):
        pass


def test_each_file_has_a_bot_of_its_own_and_a_server_may_have_several(tmp_path: Path) -> None:
    server = SecretStr("postgresql://bot@127.0.0.1/any")
    with (
        only_bot_on(tmp_path / "a.db"),
        only_bot_on(tmp_path / "b.db"),
        only_bot_on(server),
        only_bot_on(server),
    ):
        assert not (tmp_path / "a.db").exists()


def test_after_a_bot_that_was_killed_the_next_one_begins(tmp_path: Path) -> None:
    file = tmp_path / "cornerman.db"
    argv = [sys.executable, "-c", HOLDS, str(file)]
    with subprocess.Popen(argv, stdout=subprocess.PIPE, text=True, cwd=Path(__file__).parents[2]) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == "runs\n"
        with pytest.raises(StorageError, match="already"), only_bot_on(file):
            pass
        first.kill()
    with only_bot_on(file):
        pass


def test_where_no_lock_can_be_made_it_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "cornerman.db.lock").mkdir()
    with (
        pytest.raises(StorageError, match=r"cannot be written to; let .*\.$"),
        only_bot_on(tmp_path / "cornerman.db"),
    ):
        pass
    with (
        pytest.raises(StorageError, match="create the folder"),
        only_bot_on(tmp_path / "none" / "cornerman.db"),
    ):
        pass


def test_nobody_else_may_read_a_database_or_a_copy_of_one(tmp_path: Path) -> None:
    file, copy, again = tmp_path / "cornerman.db", tmp_path / "copy.db", tmp_path / "again.db"

    async def logged() -> set[str]:
        store = Store(file)
        await store.open()
        async with store.write() as writing:
            await tallies.add(writing, WREN, tally(), None, NOW)
        beside = readable(tmp_path)
        await store.close()
        return beside

    with usual_modes():
        assert asyncio.run(logged()) == set()
        backup(file, copy)
        restore(again, copy)
        restore(again, copy)
        assert again.with_name("again.replaced-1.db").exists()
        with only_bot_on(file):
            assert readable(tmp_path) == set()


async def test_a_file_that_its_host_opened_to_others_stays_so(tmp_path: Path) -> None:
    file = tmp_path / "cornerman.db"
    file.touch()
    file.chmod(0o640)
    async with opened(tmp_path):
        pass
    assert file.stat().st_mode & 0o777 == 0o640


@contextmanager
def usual_modes() -> Iterator[None]:
    """Within, files are made as on most machines: others may read them, unless whoever makes them says no."""
    before = os.umask(0o022)
    try:
        yield
    finally:
        os.umask(before)


def readable(folder: Path) -> set[str]:
    """The names of the files in this folder that others may read."""
    return {path.name for path in folder.iterdir() if path.stat().st_mode & 0o077}
