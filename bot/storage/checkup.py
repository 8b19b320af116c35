"""Looking at a database without changing anything, for `cornerman doctor`; also while the bot runs."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import text

from bot.storage.address import Address
from bot.storage.errors import NO_RIGHT, READ_ONLY, StorageError, check_not_lost, check_place, told
from bot.storage.held import beside
from bot.storage.revision import HEAD, MOVING, OURS, UNFINISHED, revision_of

BESIDE = ("-wal", "-shm", "-journal")
"""What SQLite keeps beside a database while it is used: its log, the index of that, and what a crash left."""


@dataclass(frozen=True, slots=True)
class Checkup:
    """A database that can be read and written to. `revision`: the version of its tables, None where it has
    none yet."""

    exists: bool
    revision: str | None

    @property
    def up_to_date(self) -> bool:
        """Whether the bot would leave the tables as they are."""
        return self.revision == HEAD


def check_up(file: Path) -> Checkup:
    """Looks at the database at this path, and through all of it for damage. Raises StorageError where the bot
    could not use it; the message says what to do."""
    check_place(file)
    check_not_lost(file)
    _check_writable(file)
    if not file.exists():
        return Checkup(False, None)
    with told(file):
        idle = not _beside(file)
        revision, damage = _read(file, idle)
        if damage and idle and _beside(file):  # somebody opened it meanwhile, and what we read did not fit
            revision, damage = _read(file, False)
    if damage:
        raise StorageError(f"{file} is damaged ({damage}); stop the bot, then restore a backup of it.")
    _check_known(file, revision)
    return Checkup(True, revision)


@dataclass(frozen=True, slots=True)
class ServerCheckup:
    """A PostgreSQL database that the bot can use. `revision`: as in Checkup; `version`: the server's, such as
    15; `clock`: what the server's clock says."""

    revision: str | None
    version: int
    clock: datetime

    @property
    def up_to_date(self) -> bool:
        """Whether the bot would leave the tables as they are."""
        return self.revision == HEAD


async def check_up_server(address: Address) -> ServerCheckup:
    """Looks at a PostgreSQL database. Raises StorageError where the bot could not use it; the message says
    what to do, and shows no password."""
    async with beside(address) as held, held.reads():
        server = (await held.connection.execute(_SERVER)).one()
        if server.encoding != "UTF8":
            raise StorageError(
                f"{address} has the encoding {server.encoding}, which does not keep every character: make it "
                "anew with createdb --encoding=UTF8 --template=template0."
            )
        if server.read_only:
            raise StorageError(READ_ONLY.format(database=address))
        revision = await held.connection.run_sync(revision_of, address)
        if not server.may_create or not (await held.connection.execute(_MAY_WRITE)).scalar_one():
            raise StorageError(
                f"{address} does not let the bot's user write there; make that user its owner."
            )
    _check_known(address, revision)
    return ServerCheckup(revision, server.version // 10_000, server.clock)


_SERVER = text(
    """SELECT current_setting('server_version_num')::integer AS version, clock_timestamp() AS clock,
    (SELECT pg_encoding_to_char(encoding) FROM pg_database WHERE datname = current_database()) AS encoding,
    pg_is_in_recovery() OR current_setting('default_transaction_read_only')::boolean AS read_only,
    coalesce(has_schema_privilege(current_schema(), 'CREATE'), false) AS may_create"""
)
_MAY_WRITE = text(
    """SELECT coalesce(bool_and(has_table_privilege(pg_class.oid, needed)), true)
    FROM pg_class, unnest(ARRAY['SELECT', 'INSERT', 'UPDATE', 'DELETE']) AS needed
    WHERE relnamespace = (SELECT oid FROM pg_namespace WHERE nspname = current_schema()) AND relkind = 'r'"""
)


def _read(file: Path, idle: bool) -> tuple[str | None, str]:
    """The version of the tables, and the first damage, empty where there is none. `idle`: nobody has it open,
    for it has no write-ahead log; to read it even so, SQLite would make one."""
    address = f"{file.absolute().as_uri()}?{'immutable=1' if idle else 'mode=ro'}"
    with closing(sqlite3.connect(address, uri=True)) as opened:
        tables = {name for (name,) in opened.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        if tables and OURS - tables:
            raise StorageError(f"{file} is another program's database; name another file.")
        if MOVING in tables:
            raise StorageError(UNFINISHED.format(database=file))
        (found,) = opened.execute("PRAGMA quick_check(1)").fetchone()
        damage = "" if found == "ok" else " ".join(str(found).split())
        revision = opened.execute("SELECT version_num FROM alembic_version").fetchone() if tables else None
        return (str(revision[0]) if revision else None), damage


def _beside(file: Path) -> list[Path]:
    """What SQLite keeps beside the database at this moment."""
    return [each for end in BESIDE if (each := file.with_name(file.name + end)).exists()]


def _check_writable(file: Path) -> None:
    folder = os.access(file.parent, os.W_OK | os.X_OK)
    if not folder or not all(os.access(each, os.W_OK) for each in (file, *_beside(file)) if each.exists()):
        raise StorageError(NO_RIGHT.format(database=file))


def _check_known(database: Path | Address, revision: str | None) -> None:
    if revision is not None and revision != HEAD:
        from bot.storage.upgrade import check_known  # Alembic is slow to import

        check_known(database, revision)
