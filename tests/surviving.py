"""What must hold of a database after whatever used it was killed."""

from __future__ import annotations

from collections.abc import Set

from raw import rows_in

from bot.storage.address import Address


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
    assert rows_in(address, "SELECT id FROM tally WHERE undone") == []
    assert rows_in(address, "SELECT subject_id FROM total WHERE tallies = 0") == []
    assert disagreements(address) == []


def disagreements(address: Address) -> list[object]:
    """Where the kept sums are not those of the rows in the database."""
    rows = """SELECT subject_id, context, count(*), sum(tries), sum(landed), sum(early), sum(late)
        FROM tally WHERE NOT undone GROUP BY 1, 2"""
    kept = "SELECT subject_id, context, tallies, tries, landed, early, late FROM total"
    more_than_zero = " WHERE NOT (tallies = 0 AND tries = 0 AND landed = 0 AND early = 0 AND late = 0)"
    found, sums = ({tuple(row) for row in rows_in(address, query)} for query in (rows, kept + more_than_zero))
    return sorted(found ^ sums, key=repr)
