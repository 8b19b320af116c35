"""One bot at a time on a SQLite file: each holds settings in memory that another would change unheard."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout
from pydantic import SecretStr

from bot.storage.errors import NO_RIGHT, StorageError, check_place

LOCK_ENDS = ".lock"


@contextmanager
def only_bot_on(database: Path | SecretStr) -> Iterator[None]:
    """Within, no other bot begins on this file; bots on PostgreSQL hear of each other, and may be several.
    The lock is a file beside the database, and ends with the process. Raises StorageError."""
    if isinstance(database, SecretStr):
        yield
        return
    check_place(database)
    file = database.resolve()
    lock = FileLock(file.with_name(file.name + LOCK_ENDS), timeout=0, mode=0o600)
    try:
        lock.acquire()
    except Timeout:
        raise StorageError(f"A bot runs on {database} already; stop that one first.") from None
    except OSError:
        raise StorageError(NO_RIGHT.format(database=database)) from None
    try:
        yield
    finally:
        lock.release()
