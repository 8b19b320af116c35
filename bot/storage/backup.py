"""Copies of the database: made while the bot runs, and put back while it does not."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from bot.storage.errors import StorageError, check_not_lost, check_place, primary_code, told
from bot.storage.revision import MOVING, OURS, UNFINISHED
from bot.storage.sqlite import BUSY_TIMEOUT_MS, make_private

_NOT_READABLE = (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT)


def backup(database: Path, to: Path) -> None:
    """Writes a copy of the database, as it is at this moment, to a file that does not exist yet. The bot may
    go on writing. Raises StorageError; then there is no such file."""
    check_not_lost(database)
    if not database.is_file():
        raise StorageError(
            f"{database} does not exist; run this where the settings are, or name them with --config."
        )
    check_place(to)
    if to.exists():
        raise StorageError(f"{to} exists already; name a file that does not.")
    with part_beside(to) as new:
        _copy(database, new)
        publish(new, to)


def restore(database: Path, source: Path) -> Path | None:
    """Puts a backup in the place of the database; the bot must be stopped. What it replaces is kept beside
    it, under the path that is given back; None where there was nothing. Raises StorageError; then the
    database is what it was, also after a crash."""
    _check_exists(source)
    check_place(database)
    if database.exists() and database.samefile(source):
        raise StorageError(f"{source} is the database itself; name a backup of it.")
    with part_beside(database) as new:
        checked_copy(source, new)
        if not database.exists():
            _set_rest_aside(database)
            publish(new, database)
            return None
        with told(database):
            return _replace(database, new)


def _replace(database: Path, new: Path) -> Path:
    """Puts `new` into the database's place, and tells where what was there is now."""
    kept = _free_name(database)
    with closing(sqlite3.connect(database, timeout=0, isolation_level=None)) as target:
        try:
            _take_alone(target, database)
            with part_beside(kept) as part:
                with closing(sqlite3.connect(part)) as copied:
                    target.backup(copied)
                publish(part, kept)
            # Into the file that is there, in one transaction: a bot that opens it meanwhile waits for the
            # end. It would go on with a file of the past if another one came under the name.
            with closing(sqlite3.connect(new)) as source:
                source.backup(target)
            return kept
        except sqlite3.DatabaseError as error:
            if primary_code(error) not in _NOT_READABLE:
                raise
    # No bot can open it either. Its bytes are kept as they are, and at each moment there is a file.
    with part_beside(kept) as part:
        shutil.copyfile(database, part)
        publish(part, kept)
    for rest in ("-wal", "-shm", "-journal"):
        database.with_name(database.name + rest).unlink(missing_ok=True)
    publish(new, database)
    return kept


def _set_rest_aside(database: Path) -> None:
    """The write-ahead log of a database that was removed would be read into what comes under its name."""
    kept = _free_name(database)
    for rest in ("-wal", "-journal"):
        left = database.with_name(database.name + rest)
        if left.exists():
            left.replace(kept.with_name(kept.name + rest))
    database.with_name(f"{database.name}-shm").unlink(missing_ok=True)


def _take_alone(target: sqlite3.Connection, database: Path) -> None:
    """Locks everybody else out. Only who has the database to itself can end its write-ahead log, and the
    operating system ends the locks of a process that dies."""
    try:
        target.execute("PRAGMA locking_mode=EXCLUSIVE")
        target.execute("PRAGMA synchronous=FULL")
        (mode,) = target.execute("PRAGMA journal_mode=DELETE").fetchone()
        target.execute("BEGIN EXCLUSIVE")
        target.execute("COMMIT")
    except sqlite3.OperationalError as error:
        if primary_code(error) not in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
            raise
        mode = "in use"
    if mode != "delete":
        raise StorageError(f"{database} is in use; stop the bot before restoring.")


def _free_name(database: Path) -> Path:
    number = 1
    while (free := database.with_name(f"{database.stem}.replaced-{number}{database.suffix}")).exists():
        number += 1
    return free


def checked_copy(source: Path, new: Path) -> None:
    """Writes a copy of a whole backup that this version can read. Raises StorageError."""
    _check_exists(source)
    _copy(source, new)
    _check_revision(source, new)


def _copy(source: Path, new: Path) -> None:
    """A checked copy of a database, in a single file."""
    with told(source), closing(_open(source)) as opened, closing(sqlite3.connect(new)) as copied:
        opened.backup(copied)
        copied.execute("PRAGMA journal_mode=DELETE")
        if copied.execute("PRAGMA integrity_check").fetchone() != ("ok",):
            raise StorageError(f"{source} is damaged; its copy was thrown away.")
        if copied.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (MOVING,)).fetchone() is not None:
            raise StorageError(UNFINISHED.format(database=source))


def _open(file: Path) -> sqlite3.Connection:
    """A database that is there; sqlite3 would make one that is not."""
    return sqlite3.connect(f"{file.absolute().as_uri()}?mode=rw", uri=True, timeout=BUSY_TIMEOUT_MS / 1_000)


def _check_revision(source: Path, copied: Path) -> None:
    from bot.storage.upgrade import check_known

    with closing(sqlite3.connect(copied)) as opened:
        tables = {name for (name,) in opened.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        if OURS - tables:
            raise StorageError(f"{source} is no backup of Cornerman's; name one that it made.")
        (revision,) = opened.execute("SELECT version_num FROM alembic_version").fetchone()
    check_known(source, revision)


def _check_exists(file: Path) -> None:
    if not file.is_file():
        raise StorageError(f"{file} does not exist; name the file of a backup.")


@contextmanager
def part_beside(file: Path) -> Iterator[Path]:
    """The path of an empty file in the same folder, to be filled; it is gone at the end, unless renamed."""
    new = file.with_name(f"{file.name}.{os.getpid()}.part")
    try:
        make_private(new)
        yield new
    finally:
        new.unlink(missing_ok=True)


def publish(part: Path, file: Path) -> None:
    """Gives a finished file its name, for good once this returns."""
    _sync(part)
    part.replace(file)
    _sync(file.parent)


def _sync(path: Path) -> None:
    """Waits until a file, or the names in a folder, are on the disk."""
    if path.is_dir() and os.name == "nt":  # Windows opens no folders, and needs none synced
        return
    descriptor = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
