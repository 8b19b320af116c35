"""What goes wrong with a database file, as one sentence for whoever runs the bot."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError


class StorageError(Exception):
    """The database cannot be used; the message is one sentence for whoever runs the bot."""


# Primary result codes, https://www.sqlite.org/rescode.html
_SENTENCES = {
    sqlite3.SQLITE_BUSY: "{file} was locked for too long; close the other program that writes to it.",
    sqlite3.SQLITE_LOCKED: "{file} was locked for too long; close the other program that writes to it.",
    sqlite3.SQLITE_READONLY: "{file} cannot be written to; let the bot's user write to it and to its folder.",
    sqlite3.SQLITE_PERM: "{file} cannot be written to; let the bot's user write to it and to its folder.",
    sqlite3.SQLITE_FULL: "The disk that holds {file} is full; make room on it.",
    sqlite3.SQLITE_CORRUPT: "{file} is damaged; restore a backup of it.",
    sqlite3.SQLITE_NOTADB: "{file} is not a database; name another file, or restore a backup.",
    sqlite3.SQLITE_CANTOPEN: "{file} cannot be opened; let the bot's user write to it and to its folder.",
    sqlite3.SQLITE_IOERR: "{file} could not be read or written; check the disk that holds it.",
}


@contextmanager
def told(file: Path) -> Iterator[None]:
    """Turns what a host must read into StorageError; a mistake of the program's own stays what it is."""
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        sentence = _SENTENCES.get(primary_code(error))
        if sentence is None:
            raise
        raise StorageError(sentence.format(file=file)) from error


def primary_code(error: BaseException) -> int:
    """SQLite's primary result code of an error, 0 where it has none."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    code: int = getattr(cause, "sqlite_errorcode", 0)
    return code & 0xFF


def check_place(file: Path) -> None:
    """Raises StorageError where no database can lie at this path."""
    if not file.parent.is_dir():
        raise StorageError(f"{file} cannot be opened: its folder does not exist; create the folder.")
    if file.is_dir():
        raise StorageError(f"{file} cannot be opened: it is a folder; name a file in it.")
