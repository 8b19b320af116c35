"""What must hold of a database after whatever used it was killed."""

from __future__ import annotations

from collections.abc import Set

from raw import rows_in

from bot.storage.address import Address

SUMS = "count(*), sum(tries), sum(landed), sum(early), sum(late)"


def check_whole(address: Address) -> None:
    """A SQLite file is whole, and all that it points to is there; PostgreSQL sees to that itself."""
    if address.file is not None:
        assert [tuple(row) for row in rows_in(address, "PRAGMA integrity_check")] == [("ok",)]
        assert rows_in(address, "PRAGMA foreign_key_check") == []


def check_log(address: Address, acknowledged: Set[int]) -> None:
    """Each event that was acknowledged is stored, none is twice, and the kept sums are those of the rows."""
    check_whole(address)
    stored = [row["event_id"] for row in rows_in(address, "SELECT event_id FROM tally")]
    assert len(stored) == len(set(stored))
    assert acknowledged <= set(stored)
    assert {row["id"] for row in rows_in(address, "SELECT id FROM event")} == set(stored)
    kept = "SELECT subject_id, context, tallies, tries, landed, early, late FROM total"
    added = f"SELECT subject_id, context, {SUMS} FROM tally GROUP BY 1, 2"
    one, other = ({tuple(row) for row in rows_in(address, query)} for query in (kept, added))
    assert one == other
