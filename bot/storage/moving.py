"""Moving all data into another database, for good or as a copy: begun, gone on with after a crash, and not to
be used before every table was found to be the same on both sides."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlalchemy import inspect, text

from bot.storage import backup, copying, sqlite
from bot.storage.address import Address, address_of
from bot.storage.connections import connect
from bot.storage.copying import COUNTED, TABLES, Part, Step, Tell
from bot.storage.errors import StorageError, check_place, told
from bot.storage.held import Held, alone, beside
from bot.storage.revision import HEAD, MOVING, revision_of


@dataclass(frozen=True, slots=True)
class Moved:
    """What lies in the target now. `again`: what lay there from before was not what the source holds, and was
    copied anew."""

    tables: int
    rows: int
    again: bool


async def move(source: Address, target: Address, tell: Tell) -> Moved:
    """Copies all data into an empty database, or goes on where it was broken off. Nobody may use either
    meanwhile; the source stays as it was. Raises StorageError; then no bot opens the target."""
    _check_other(source, target)
    if source.file is not None and not source.file.is_file():
        raise StorageError(f"{source} does not exist, so there is nothing to move.")
    async with alone(source) as there, there.reads():
        await _check_source(there)
        async with alone(target) as here:
            return await _fill(there, here, tell)


async def copy_out(source: Address, file: Path, tell: Tell) -> None:
    """Writes a copy of a PostgreSQL database to a SQLite file that does not exist yet, as a backup. The bot
    may go on writing. Raises StorageError; then there is no such file."""
    check_place(file)
    if file.exists():
        raise StorageError(f"{file} exists already; name a file that does not.")
    with backup.part_beside(file) as part:
        async with beside(source) as there, there.reads():
            await _check_source(there)
            async with alone(address_of(part)) as here:
                await _fill(there, here, tell)
        backup.publish(part, file)


async def put_back(file: Path, target: Address, tell: Tell) -> Moved:
    """Copies a backup into an empty PostgreSQL database; one that is older is brought up to date on the way.
    Raises StorageError; then no bot opens the target."""
    with TemporaryDirectory(prefix="cornerman-restore-") as folder:
        copied = Path(folder) / "copy.db"
        backup.checked_copy(file, copied)
        await _bring_up_to_date(address_of(copied))
        return await move(address_of(copied), target, tell)


async def _bring_up_to_date(address: Address) -> None:
    from bot.storage.upgrade import upgrade  # Alembic is slow to import

    connections = connect(address)
    try:
        with told(address):
            await sqlite.keep_log(connections.plain)
            await upgrade(connections, address)
    finally:
        await connections.close()


def _check_other(source: Address, target: Address) -> None:
    if source.file is not None and target.file is not None:
        same = source.file.exists() and target.file.exists() and source.file.samefile(target.file)
    else:
        same = all(
            getattr(source.url, part) == getattr(target.url, part)
            for part in ("drivername", "host", "port", "database")
        )
    if same:
        raise StorageError(f"{target} is the database of the settings itself; name another one.")


async def _check_source(there: Held) -> None:
    """Raises StorageError where the tables are not those that this program writes."""
    with told(there.address):
        found = await there.connection.run_sync(revision_of, there.address)
    if found is None:
        raise StorageError(f"{there.address} is empty, so there is nothing to copy.")
    if found != HEAD:
        raise StorageError(
            f"{there.address} has tables {found}, and this version of Cornerman copies {HEAD}: start the bot "
            "once, which brings older ones up to date, or update Cornerman."
        )


async def _fill(there: Held, here: Held, tell: Tell) -> Moved:
    again = await _begin(here) and not await _goes_on(there, here)
    if again:
        async with here.writes():
            await copying.empty(here)
    for table in TABLES:
        await copying.copy(there, here, table, tell)
    if not here.is_file:
        async with here.writes():
            await here.connection.exec_driver_sql("ANALYZE")  # or the first queries know nothing of the sizes
    rows = 0
    async with here.reads():
        for table in TABLES:
            wanted, found = await copying.add_up(there, table), await copying.add_up(here, table)
            if wanted != found:
                raise _differs(here.address, table.name, wanted.rows, found.rows)
            rows += found.rows
            tell(Step(Part.CHECKED, table.name, found.rows, wanted.rows))
    await _finish(there, here)
    return Moved(len(TABLES), rows, again)


async def _begin(here: Held) -> bool:
    """Makes the tables, and the mark that keeps bots away; whether they were there already. Raises
    StorageError where the target holds something else."""
    async with here.writes():
        names = set(await here.connection.run_sync(lambda connection: inspect(connection).get_table_names()))
        if MOVING in names:
            version = (await here.connection.scalars(text("SELECT version_num FROM alembic_version"))).one()
            if version != HEAD:
                raise StorageError(
                    f"{here.address} was begun to be moved into by another version of Cornerman; name an "
                    "empty database."
                )
            return True
        if names:
            raise StorageError(f"{here.address} holds data already; name an empty database, which is filled.")
        from bot.storage.upgrade import make_tables  # Alembic is slow to import

        await here.connection.run_sync(make_tables)
        await here.connection.exec_driver_sql(f"CREATE TABLE {MOVING} (begun INTEGER)")
        return False


async def _goes_on(there: Held, here: Held) -> bool:
    """Whether what was copied before is still what the source holds."""
    async with here.reads():
        for table in TABLES:
            last = await copying.last_key(here, table)
            if last is None:
                continue
            if await copying.add_up(here, table) != await copying.add_up(there, table, last):
                return False
    return True


async def _finish(there: Held, here: Held) -> None:
    """Carries the counters over and opens the target for use, in one transaction."""
    wanted = await copying.counters(there)
    async with here.writes():
        await copying.set_counters(here, wanted)
        found = await copying.counters(here)
        for table in COUNTED:
            if found[table.name] < wanted[table.name]:
                raise _differs(here.address, table.name, wanted[table.name], found[table.name])
        await here.connection.exec_driver_sql(f"DROP TABLE {MOVING}")


def _differs(target: Address, table: str, wanted: int, found: int) -> StorageError:
    rows = "and not in their number" if wanted == found else f"with {found:,} instead of {wanted:,}"
    return StorageError(
        f"{target} holds other rows in the table {table} than were copied ({rows}): run this again, which "
        "copies them anew; where that does not help, look at that machine's disk and memory."
    )
