"""Which version of the tables a database holds."""

from __future__ import annotations

from sqlalchemy import Connection, text

from bot.storage.errors import StorageError

HEAD = "0005"
"""The version that this program reads and writes: the newest migration's."""
OURS = {"alembic_version", "tally"}
"""Tables that every database of this program has."""


def revision_of(connection: Connection) -> str | None:
    """The version of an opened database; None where it is empty. Raises StorageError where it is another
    program's."""
    names = set(connection.scalars(text("SELECT name FROM sqlite_master WHERE type = 'table'")))
    if not names:
        return None
    if OURS - names:
        raise StorageError(
            f"{connection.engine.url.database} is another program's database; name another file."
        )
    found: str = connection.scalars(text("SELECT version_num FROM alembic_version")).one()
    return found
