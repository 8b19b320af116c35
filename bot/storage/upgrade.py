"""Bringing a database up to date, one migration in one transaction after the other."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Connection
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.ext.asyncio import AsyncConnection

from bot.storage.address import Address
from bot.storage.connections import Connections
from bot.storage.errors import StorageError
from bot.storage.revision import revision_of
from bot.storage.schema import metadata
from bot.storage.sqlite import WRITING

MIGRATIONS = Path(__file__).parent / "migrations"


def alembic_config(scripts: Path = MIGRATIONS) -> Config:
    """Alembic's settings for the migrations in this folder."""
    config = Config()
    config.set_main_option("script_location", str(scripts).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


async def upgrade(connections: Connections, address: Address, scripts: Path = MIGRATIONS) -> None:
    """Runs what is missing. Another process may do the same at the same time: each migration looks again,
    once it is the only writer. Raises StorageError for a database that is newer than the program, and where
    a migration fails, which leaves the database as it was before it."""
    config = alembic_config(scripts)
    async with connections.writing.connect() as connection:
        if address.file is not None:
            # A table that others point to may be made anew under its name, which foreign keys would forbid.
            await _check_foreign_keys(connection, False)
        try:
            up_to_date = False
            while not up_to_date:
                async with connection.begin():
                    up_to_date = await connection.run_sync(_one_step, config, address)
        finally:
            if address.file is not None:
                await _check_foreign_keys(connection, True)


async def _check_foreign_keys(connection: AsyncConnection, check: bool) -> None:
    """Whether this connection checks them from now on; inside a transaction the pragma does nothing."""
    await connection.execution_options(begin=None)
    async with connection.begin():
        await connection.exec_driver_sql(f"PRAGMA foreign_keys={'ON' if check else 'OFF'}")
    await connection.execution_options(**WRITING)


def make_tables(connection: Connection) -> None:
    """Makes all tables of this version in an empty database, in the transaction that is open."""
    config = alembic_config()
    config.attributes["connection"] = connection
    _make(connection, config)


def _make(connection: Connection, config: Config) -> None:
    metadata.create_all(connection)
    command.stamp(config, "head")


def check_known(database: Path | Address, found: str, scripts: ScriptDirectory | None = None) -> None:
    """Raises StorageError where a database has tables that this program cannot bring up to date."""
    scripts = scripts or ScriptDirectory.from_config(alembic_config())
    if found not in {script.revision for script in scripts.walk_revisions()}:
        raise StorageError(
            f"{database} was written by a newer version of Cornerman (its tables are {found}, this one knows "
            f"{scripts.get_current_head()}); update Cornerman, or restore an older backup."
        )


def _one_step(connection: Connection, config: Config, address: Address) -> bool:
    """Runs the next migration; whether there was none left to run."""
    scripts = ScriptDirectory.from_config(config)
    found = revision_of(connection, address)
    if found == scripts.get_current_head():
        return True
    if found is not None:
        check_known(address, found, scripts)
    config.attributes["connection"] = connection
    try:
        if found is None and connection.dialect.name == "postgresql":
            # There was none before the fifth version: the migrations until then are SQLite's alone.
            _make(connection, config)
        else:
            command.upgrade(config, "+1")
    except SQLAlchemyError as error:
        raise StorageError(
            f"{address} could not be brought up to date from tables {found or 'none'}, and is as it was: "
            f"{error}"
        ) from error
    if (
        address.file is not None
        and connection.exec_driver_sql("PRAGMA foreign_key_check").first() is not None
    ):
        raise StorageError(
            f"{address} could not be brought up to date: rows would point to nothing; it is as it was."
        )
    return False
