"""What all tables are made with: names of constraints, types that mean the same in every database, and the
insert that changes what stands there already."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache
from typing import Any

from sqlalchemy import BigInteger, DateTime, Dialect, Integer, MetaData, String, Table, TypeDecorator
from sqlalchemy.dialects import postgresql, sqlite

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
metadata = MetaData(naming_convention=NAMES)

BigId = BigInteger().with_variant(Integer(), "sqlite")
"""A 64-bit key. SQLite counts only a key of type INTEGER up by itself, and it has 64 bits there."""

Text = String().with_variant(String(collation="C"), "postgresql")
"""Text that is compared and ordered by its characters' numbers in every database, whatever language it was
made for."""


class UtcDateTime(TypeDecorator[datetime]):
    """A moment: aware when given, always aware and in UTC when read."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.utcoffset() is None:
            raise ValueError(f"A stored moment needs a time zone: {value} has none.")
        utc = value.astimezone(UTC)
        return utc.replace(tzinfo=None) if dialect.name == "sqlite" else utc

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if dialect.name == "sqlite" else value.astimezone(UTC)


@cache
def upsert(
    dialect: str,
    table: Table,
    keys: tuple[str, ...],
    replaced: tuple[str, ...] = (),
    added: tuple[str, ...] = (),
) -> postgresql.Insert | sqlite.Insert:
    """Inserts the row that it is run with. Where one with these keys stands already, its columns in
    `replaced` are set to the values, those in `added` grow by them, and the others are left alone."""
    insert = postgresql.insert(table) if dialect == "postgresql" else sqlite.insert(table)
    if not replaced and not added:
        return insert.on_conflict_do_nothing(index_elements=keys)
    changes: dict[str, Any] = {name: insert.excluded[name] for name in replaced}
    changes |= {name: table.c[name] + insert.excluded[name] for name in added}
    return insert.on_conflict_do_update(index_elements=keys, set_=changes)
