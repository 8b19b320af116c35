"""Which version of the tables a database holds."""

from __future__ import annotations

from sqlalchemy import Connection, inspect, text

from bot.storage.address import Address
from bot.storage.errors import StorageError

HEAD = "0005"
"""The version that this program reads and writes: the newest migration's."""
OURS = {"alembic_version", "tally"}
"""Tables that every database of this program has."""
MOVING = "moving"
"""A table that a database has for as long as data is being moved into it."""
UNFINISHED = "{database} is still being moved into; run cornerman move-data again (or restore) to its end."


def revision_of(connection: Connection, address: Address) -> str | None:
    """The version of an opened database; None where it is empty. Raises StorageError where it is another
    program's, and where data is still being moved into it."""
    names = set(inspect(connection).get_table_names())
    if not names:
        return None
    if MOVING in names:
        raise StorageError(UNFINISHED.format(database=address))
    if OURS - names:
        raise StorageError(f"{address} is another program's database; name another one.")
    found: str = connection.scalars(text("SELECT version_num FROM alembic_version")).one()
    return found
