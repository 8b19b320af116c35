"""What goes wrong with a database, as one sentence for whoever runs the bot."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from asyncpg import InterfaceError, PostgresError
from sqlalchemy.exc import DBAPIError, EmulatedDBAPIException
from sqlalchemy.exc import TimeoutError as NoConnectionFreeError

from bot.ports import StorageError

if TYPE_CHECKING:
    from bot.storage.address import Address

__all__ = [
    "NO_RIGHT",
    "READ_ONLY",
    "LostFileError",
    "StorageError",
    "UnreachableError",
    "check_not_lost",
    "check_place",
    "primary_code",
    "told",
]


class UnreachableError(Exception):
    """The database's server did not answer."""


class LostFileError(Exception):
    """The file that is open does not lie at its place any more; the message goes on from the file's name."""


_LOCKED = "{database} was locked for too long; close the other program that writes to it."
NO_RIGHT = "{database} cannot be written to; let the bot's user write to it and to its folder."
READ_ONLY = "{database} is read-only; name the server that may be written to."
_DAMAGED = "{database} is damaged; restore a backup of it."
# Primary result codes, https://www.sqlite.org/rescode.html
_SQLITE = {
    sqlite3.SQLITE_BUSY: _LOCKED,
    sqlite3.SQLITE_LOCKED: _LOCKED,
    sqlite3.SQLITE_READONLY: NO_RIGHT,
    sqlite3.SQLITE_PERM: NO_RIGHT,
    sqlite3.SQLITE_FULL: "The disk that holds {database} is full; make room on it.",
    sqlite3.SQLITE_CORRUPT: _DAMAGED,
    sqlite3.SQLITE_NOTADB: "{database} is not a database; name another file, or restore a backup.",
    sqlite3.SQLITE_CANTOPEN: "{database} cannot be opened; let the bot's user write to it and to its folder.",
    sqlite3.SQLITE_IOERR: "{database} could not be read or written; check the disk that holds it.",
}
_AWAY = "{database} cannot be reached; see whether its server runs, and whether this machine reaches it."
# Error codes and, by their first two characters, their classes,
# https://www.postgresql.org/docs/15/errcodes-appendix.html
_POSTGRESQL = {
    "08": _AWAY,
    "57": _AWAY,
    "28": "{database} did not let the bot in; set the right user and password in its URL.",
    "3D": "{database} does not exist; make it (createdb), or set the right name in its URL.",
    "42501": "{database} does not let the bot's user do this; make that user its owner.",
    "25006": READ_ONLY,
    "53100": "The disk that holds {database} is full; make room on it.",
    "53300": "{database} has no connection left; let its server take more (max_connections).",
    "53": "{database} has too little memory or disk; give its server more.",
    "55P03": "{database} was locked for too long; close the other program that writes to it.",
    "57014": "{database} took too long; see what else its server does.",
    "58": "{database} could not be read or written; check the disk that holds it.",
    "XX001": _DAMAGED,
    "XX002": _DAMAGED,
    "XX": "{database} met with an error of its own; see the log of its server.",
}
_ALL_BUSY = "{database} had no connection free for too long; see what keeps this machine busy."
_CUT = (UnreachableError, ConnectionError, TimeoutError)
"""What is raised, as it is, where a server does not answer, or no longer."""
_TOLD = (
    DBAPIError,
    EmulatedDBAPIException,  # what a connection outside a transaction raises
    sqlite3.Error,
    PostgresError,
    InterfaceError,
    NoConnectionFreeError,
    LostFileError,
    *_CUT,
)


@contextmanager
def told(database: Address | Path) -> Iterator[None]:
    """Turns what a host must read into StorageError; a mistake of the program's own stays what it is."""
    try:
        yield
    except _TOLD as error:
        sentence = _sentence(error)
        if sentence is None:
            raise
        raise StorageError(sentence.format(database=database)) from error


def _sentence(error: BaseException) -> str | None:
    if isinstance(error, NoConnectionFreeError):
        return _ALL_BUSY
    if isinstance(error, LostFileError):
        return f"{{database}}{error}"
    lost = isinstance(error, _CUT) or (isinstance(error, DBAPIError) and error.connection_invalidated)
    cause = error.orig if isinstance(error, DBAPIError) and error.orig is not None else error
    state: str | None = getattr(cause, "sqlstate", None)
    if state is not None:
        return _POSTGRESQL.get(state) or _POSTGRESQL.get(state[:2]) or (_AWAY if lost else None)
    return _SQLITE.get(primary_code(cause)) or (_AWAY if lost else None)


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


def check_not_lost(file: Path) -> None:
    """Raises StorageError where a database was removed and what was written to it last was not: a new one
    under its name would take that away too."""
    log = file.with_name(f"{file.name}-wal")
    if not file.exists() and log.exists() and log.stat().st_size:
        raise StorageError(
            f"{file} is gone, but its log {log.name} is there: put the file back beside it, or a backup with "
            "`cornerman restore`."
        )
