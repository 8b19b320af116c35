"""All data is moved into another database: whole, resumable, checked, and never half used."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from databases import new_database, server
from moved import (
    GONE,
    MOMENTS,
    ROWS,
    BrokenOffError,
    after,
    contents,
    empty,
    filled,
    filled_file,
    row_of,
    silent,
    store_at,
)
from raw import rows_in, tables_in
from sqlalchemy import insert

from bot.storage import copying
from bot.storage.address import Address, address_of
from bot.storage.copying import Part, Step
from bot.storage.held import alone
from bot.storage.moving import move
from bot.storage.schema import metadata, route, series, tally
from bot.storage.store import StorageError, Store

KINDS = ["file", pytest.param("server", marks=pytest.mark.postgresql)]
pytestmark = pytest.mark.usefixtures("small_pages")
WAYS = [
    "file to file",
    pytest.param("file to server", marks=pytest.mark.postgresql),
    pytest.param("server to file", marks=pytest.mark.postgresql),
    pytest.param("server to server", marks=pytest.mark.postgresql),
]


async def broken_off(source: Address, target: Address, steps: int) -> None:
    with pytest.raises(BrokenOffError):
        await move(source, target, after(steps))


async def change(address: Address, *statements: str) -> None:
    """Changes a database as its bot would have done meanwhile."""
    async with store_at(address) as store, store.write() as writing:
        for statement in statements:
            await writing.connection.exec_driver_sql(statement)


@pytest.mark.parametrize("way", WAYS)
async def test_every_row_arrives_and_the_source_stays_as_it_was(way: str, tmp_path: Path) -> None:
    from_kind, _, to_kind = way.partition(" to ")
    source, target = await filled(from_kind, tmp_path), empty(to_kind, tmp_path)
    before = contents(source)
    moved = await move(source, target, silent)
    assert all(before.values()), "of each table"
    assert contents(target) == contents(source) == before
    assert (moved.rows, moved.tables) == (sum(map(len, before.values())), len(metadata.tables))
    assert tables_in(target) == {*metadata.tables, "alembic_version"}
    if target.file is not None and os.name == "posix":
        assert target.file.stat().st_mode & 0o077 == 0, "nobody else may read it"


@pytest.mark.parametrize("way", WAYS)
async def test_no_number_is_used_again_after_a_move(way: str, tmp_path: Path) -> None:
    from_kind, _, to_kind = way.partition(" to ")
    source, target = await filled(from_kind, tmp_path), empty(to_kind, tmp_path)
    await move(source, target, silent)
    async with store_at(target) as store, store.write() as writing:
        values = row_of(route, ROWS + 100) | {"owner_id": 1}
        del values["id"]
        made = await writing.connection.execute(insert(route).returning(route.c.id), values)
        assert made.scalar_one() == ROWS + 1, f"the {GONE} that were removed before are not used again"


@pytest.mark.parametrize("kind", KINDS)
async def test_a_table_that_never_had_a_row_begins_with_number_1(kind: str, tmp_path: Path) -> None:
    target = empty(kind, tmp_path)
    await move(address_of(new_database(tmp_path)), target, silent)
    async with store_at(target) as store, store.write() as writing:
        values = {"key": "a", "channel_id": 1, "made_at": min(MOMENTS)}
        post = metadata.tables["post"]
        made = await writing.connection.execute(insert(post).returning(post.c.id), values)
        assert made.scalar_one() == 1


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("steps", [1, 20, 100])
async def test_no_bot_opens_a_database_before_all_of_it_is_there_and_checked(
    kind: str, steps: int, tmp_path: Path
) -> None:
    source, target = address_of(await filled_file(tmp_path / "filled")), empty(kind, tmp_path)
    await broken_off(source, target, steps)
    with pytest.raises(StorageError, match=r"is still being moved into; run cornerman move-data again"):
        await Store(target).open()
    await move(source, target, silent)
    async with store_at(target):
        assert contents(target) == contents(source)


@pytest.mark.parametrize("kind", KINDS)
async def test_a_move_that_was_broken_off_goes_on_where_it_was(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written: list[str] = []
    values = copying._values
    monkeypatch.setattr(copying, "_values", lambda row, target: written.append("") or values(row, target))
    source, target = address_of(await filled_file(tmp_path / "filled")), empty(kind, tmp_path)
    total = sum(map(len, contents(source).values()))
    for steps in (10, 20, 30):  # those of tables that are there are told again
        await broken_off(source, target, steps)
    assert 0 < len(written) < total
    assert not (await move(source, target, silent)).again
    assert len(written) == total, "no row was written twice"
    assert contents(target) == contents(source)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("statement", "again"),
    [
        ("UPDATE server SET game = 'another' WHERE id = 2", True),
        ("UPDATE server SET keep_days = 1 WHERE id = 2", True),
        ("DELETE FROM event WHERE id = 3", True),
        ("INSERT INTO server (id) VALUES (0)", True),
        ("INSERT INTO server (id) VALUES (1300000000000000000)", False),
        ("UPDATE quiz SET route_ids = 'not copied yet' WHERE id = 2", False),
    ],
)
async def test_a_source_that_changed_between_two_runs_is_never_mixed(
    kind: str, statement: str, again: bool, tmp_path: Path
) -> None:
    source, target = address_of(await filled_file(tmp_path / "filled")), empty(kind, tmp_path)
    await broken_off(source, target, 40)
    await change(source, statement)
    moved = await move(source, target, silent)
    assert moved.again is again
    assert contents(target) == contents(source)


@pytest.mark.postgresql
@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE tally SET note = note || ' ' WHERE id = 4",
        "UPDATE tally SET made_at = made_at + interval '1 microsecond' WHERE id = 4",
        "UPDATE homework SET rate = rate + 1e-16 WHERE id = 4",
        "DELETE FROM quiz WHERE id = 4",
        "INSERT INTO event VALUES (-1, now())",
    ],
)
async def test_a_row_that_is_damaged_after_it_was_copied_is_found(damage: str, tmp_path: Path) -> None:
    source, target = address_of(await filled_file(tmp_path / "filled")), empty("server", tmp_path)
    damaged: list[str] = []

    def tell(step: Step) -> None:
        """After the last table was copied."""
        if (step.part, step.table, damaged) == (Part.COPIED, metadata.sorted_tables[-1].name, []):
            damaged.append(damage)
            server().run(damage, database="target")

    (name,) = (table.name for table in metadata.sorted_tables if table.name in damage.split())
    with pytest.raises(StorageError, match=f"holds other rows in the table {name} than"):
        await move(source, target, tell)
    with pytest.raises(StorageError, match="still being moved into"):
        await Store(target).open()
    assert (await move(source, target, silent)).again
    assert contents(target) == contents(source)


async def test_a_file_that_was_damaged_between_two_runs_is_filled_anew(tmp_path: Path) -> None:
    source, target = address_of(await filled_file(tmp_path / "filled")), empty("file", tmp_path)
    await broken_off(source, target, 100)
    assert target.file is not None
    with closing(sqlite3.connect(target.file, isolation_level=None)) as raw:
        raw.execute("UPDATE tally SET landed = landed + 1 WHERE id = 5")
    assert (await move(source, target, silent)).again
    assert contents(target) == contents(source)


@pytest.mark.parametrize("kind", KINDS)
async def test_a_database_that_holds_something_is_not_moved_into(kind: str, tmp_path: Path) -> None:
    source = address_of(await filled_file(tmp_path / "filled"))
    target = empty(kind, tmp_path)
    async with store_at(target):
        pass
    before = contents(target)
    with pytest.raises(StorageError, match="holds data already; name an empty database"):
        await move(source, target, silent)
    assert contents(target) == before
    async with store_at(target):
        pass


@pytest.mark.parametrize("kind", KINDS)
async def test_nothing_is_moved_while_a_bot_has_the_source_open(kind: str, tmp_path: Path) -> None:
    source, target = await filled(kind, tmp_path), empty("file", tmp_path)
    async with store_at(source):
        with pytest.raises(StorageError, match="is in use; stop the bot first"):
            await move(source, target, silent)
    assert target.file is not None
    assert not target.file.exists()
    await move(source, target, silent)


@pytest.mark.parametrize("kind", KINDS)
async def test_two_moves_into_the_same_database_do_not_meet(kind: str, tmp_path: Path) -> None:
    source, target = address_of(await filled_file(tmp_path / "filled")), empty(kind, tmp_path)
    async with alone(target):
        with pytest.raises(StorageError, match=r"is in use; stop|was locked for too long"):
            await move(source, target, silent)
    await move(source, target, silent)


@pytest.mark.postgresql
async def test_a_bot_that_is_started_while_its_data_is_moved_away_can_write_nothing(tmp_path: Path) -> None:
    source, target = await filled("server", tmp_path), empty("file", tmp_path)
    async with alone(source):
        with pytest.raises(StorageError, match="was locked for too long"):
            await Store(source).open()
    await move(source, target, silent)


@pytest.mark.parametrize("kind", KINDS)
async def test_a_database_is_not_moved_into_itself(kind: str, tmp_path: Path) -> None:
    source = await filled(kind, tmp_path)
    before = contents(source)
    with pytest.raises(StorageError, match="is the database of the settings itself; name another one"):
        await move(source, source, silent)
    assert contents(source) == before


async def test_a_source_that_is_not_there_or_empty_makes_no_target(tmp_path: Path) -> None:
    target = empty("file", tmp_path)
    assert target.file is not None
    with pytest.raises(StorageError, match=r"missing\.db does not exist, so there is nothing to move"):
        await move(address_of(tmp_path / "missing.db"), target, silent)
    (tmp_path / "nothing.db").write_bytes(b"")
    with pytest.raises(StorageError, match=r"nothing\.db is empty, so there is nothing to copy"):
        await move(address_of(tmp_path / "nothing.db"), target, silent)
    with pytest.raises(StorageError, match="its folder does not exist"):
        await move(address_of(new_database(tmp_path)), address_of(tmp_path / "nowhere" / "a.db"), silent)
    assert not target.file.exists()


@pytest.mark.parametrize("version", ["0001", "9999"])
async def test_tables_of_another_version_are_not_moved(version: str, tmp_path: Path) -> None:
    source, target = address_of(new_database(tmp_path)), empty("file", tmp_path)
    assert source.file is not None
    with closing(sqlite3.connect(source.file, isolation_level=None)) as raw:
        raw.execute("UPDATE alembic_version SET version_num = ?", (version,))
    with pytest.raises(StorageError, match=f"has tables {version}, and this version of Cornerman copies"):
        await move(source, target, silent)


async def test_what_another_version_began_is_not_gone_on_with(tmp_path: Path) -> None:
    source, target = address_of(await filled_file(tmp_path / "filled")), empty("file", tmp_path)
    await broken_off(source, target, 5)
    assert target.file is not None
    with closing(sqlite3.connect(target.file, isolation_level=None)) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '0001'")
    with pytest.raises(StorageError, match="was begun to be moved into by another version"):
        await move(source, target, silent)


@pytest.mark.postgresql
async def test_a_value_that_does_not_fit_is_told_in_one_sentence(tmp_path: Path) -> None:
    source, target = address_of(await filled_file(tmp_path / "filled")), empty("server", tmp_path)
    await change(source, f"UPDATE {series.name} SET weekday = 99999 WHERE server_id = 2")
    with pytest.raises(
        StorageError, match="A row of the table series cannot be written to The database"
    ) as refused:
        await move(source, target, silent)
    assert str(refused.value).count("\n") == 0
    await change(source, f"UPDATE {series.name} SET weekday = 1 WHERE server_id = 2")
    await move(source, target, silent)
    assert contents(target) == contents(source)


@pytest.mark.postgresql
async def test_the_character_that_postgresql_cannot_keep_is_left_out(tmp_path: Path) -> None:
    source, target = address_of(await filled_file(tmp_path / "filled")), empty("server", tmp_path)
    await change(source, "UPDATE tally SET note = 'one' || char(0) || 'two\\u0000' WHERE id = 2")
    await move(source, target, silent)
    (note,) = rows_in(target, "SELECT note FROM tally WHERE id = 2")
    assert note["note"] == "onetwo\\u0000"


async def test_a_move_is_gone_on_with_after_its_target_was_carried_elsewhere(tmp_path: Path) -> None:
    """What is known of a move lies in the target alone."""
    source, target = address_of(await filled_file(tmp_path / "filled")), empty("file", tmp_path)
    await broken_off(source, target, 30)
    assert target.file is not None
    carried = tmp_path / "elsewhere.db"
    shutil.move(target.file, carried)
    assert not (await move(source, address_of(carried), silent)).again
    assert contents(address_of(carried)) == contents(source)


@pytest.mark.postgresql
async def test_every_character_there_is_comes_over(tmp_path: Path) -> None:
    source, target = address_of(await filled_file(tmp_path / "filled")), empty("server", tmp_path)
    surrogates = range(0xD800, 0xE000)  # halves of characters, which are none
    letters = "".join(chr(code) for code in range(1, 0x110000) if code not in surrogates)
    pieces = [letters[start : start + 20_000] for start in range(0, len(letters), 20_000)]
    async with store_at(source) as store, store.write() as writing:
        rows = [row_of(tally, 100 + number) for number in range(len(pieces))]
        owned = [
            {**row, "note": note, "owner_id": 1, "subject_id": 1}
            for row, note in zip(rows, pieces, strict=True)
        ]
        await writing.connection.execute(insert(tally), owned)
    await move(source, target, silent)
    notes = rows_in(target, "SELECT note FROM tally WHERE id >= 100 ORDER BY id")
    assert [row["note"] for row in notes] == pieces


@pytest.mark.postgresql
async def test_a_zero_loses_its_sign_and_nothing_else(tmp_path: Path) -> None:
    """SQLite keeps none."""
    source, target = await filled("server", tmp_path), empty("file", tmp_path)
    await change(source, "UPDATE homework SET rate = '-0' WHERE id = 2")
    await move(source, target, silent)
    (row,) = rows_in(target, "SELECT rate FROM homework WHERE id = 2")
    assert row["rate"] == 0
