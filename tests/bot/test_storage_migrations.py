"""How the tables come to be what the program expects, and what happens where they cannot."""

from __future__ import annotations

import asyncio
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from databases import new_database
from sqlalchemy import create_engine
from stored import NOW, WREN, opened, tally

from bot.results.library import Forgotten
from bot.results.tally import SavedRoute
from bot.storage import routes, tallies
from bot.storage.address import address_of
from bot.storage.connections import connect
from bot.storage.revision import HEAD
from bot.storage.schema import metadata
from bot.storage.sqlite import keep_log
from bot.storage.store import StorageError, Store
from bot.storage.upgrade import MIGRATIONS, alembic_config, upgrade

pytestmark = pytest.mark.sqlite  # migrations 0001-0005 are of its files alone

ROOT = Path(__file__).parents[2]
NEXT = """
import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade():
    op.create_table("medal", sa.Column("id", sa.Integer, primary_key=True))
    op.execute("INSERT INTO medal VALUES (1)")
"""
REBUILDS = """
    with op.batch_alter_table("subject") as subject:
        subject.add_column(sa.Column("colour", sa.String))
        subject.alter_column("what", type_=sa.Text)
"""
FAILS = "    op.execute('INSERT INTO nowhere VALUES (1)')\n"
ORPHANS = "    op.execute('DELETE FROM member')\n"


def scripts(folder: Path, *more: str) -> Path:
    """The migrations with one made up after them."""
    copied = folder / "migrations"
    shutil.copytree(MIGRATIONS, copied, ignore=shutil.ignore_patterns("__pycache__"))
    (copied / "versions" / "0006_medals.py").write_text(NEXT + "".join(more), "utf-8")
    return copied


async def run(file: Path, folder: Path) -> None:
    address = address_of(file)
    connections = connect(address)
    try:
        await keep_log(connections.plain)
        await upgrade(connections, address, folder)
    finally:
        await connections.close()


def dump(file: Path) -> list[str]:
    with closing(sqlite3.connect(file)) as raw:
        return list(raw.iterdump())


async def filled(folder: Path) -> Path:
    async with opened(folder) as store, store.write() as writing:
        await tallies.add(writing, WREN, tally(), 1, NOW)
    return store.file


def test_the_program_reads_the_newest_tables() -> None:
    assert ScriptDirectory.from_config(alembic_config()).get_current_head() == HEAD


def test_the_migrations_make_the_tables_that_the_queries_are_written_for(tmp_path: Path) -> None:
    engine = create_engine(f"sqlite:///{new_database(tmp_path)}")
    with engine.connect() as connection:
        context = MigrationContext.configure(
            connection, opts={"compare_type": True, "compare_server_default": True}
        )
        assert compare_metadata(context, metadata) == []
    engine.dispose()


def test_the_migrations_write_the_very_statements_of_the_tables(tmp_path: Path) -> None:
    def made(file: Path) -> set[frozenset[str]]:
        query = "SELECT sql FROM sqlite_master WHERE sql NOT NULL AND tbl_name != 'alembic_version'"
        with closing(sqlite3.connect(file)) as raw:
            return {
                # In any order; a table that was made anew under its name has that in quotes.
                frozenset(line.strip().rstrip(",").replace('"', "") for line in sql.splitlines())
                for (sql,) in raw.execute(query)
            }

    engine = create_engine(f"sqlite:///{tmp_path / 'direct.db'}")
    metadata.create_all(engine)
    engine.dispose()
    assert made(new_database(tmp_path)) == made(tmp_path / "direct.db")


async def test_a_new_version_migrates_and_keeps_what_is_there(tmp_path: Path) -> None:
    file = await filled(tmp_path)
    await run(file, scripts(tmp_path, REBUILDS))
    with closing(sqlite3.connect(file)) as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchall() == [("0006",)]
        assert raw.execute("SELECT id FROM medal").fetchall() == [(1,)]
        assert raw.execute("SELECT what, colour FROM subject").fetchall() == [("5A > 5B", None)]
        assert raw.execute("SELECT count(*) FROM tally").fetchone() == (1,)
        assert raw.execute("PRAGMA foreign_key_check").fetchall() == []


@pytest.mark.parametrize(
    ("more", "said"), [(FAILS, "no such table: nowhere"), (ORPHANS, "rows would point to nothing")]
)
async def test_a_migration_that_fails_leaves_the_database_as_it_was(
    tmp_path: Path, more: str, said: str
) -> None:
    file = await filled(tmp_path)
    before = dump(file)
    with pytest.raises(StorageError, match="could not be brought up to date") as refused:
        await run(file, scripts(tmp_path, more))
    assert said in str(refused.value)
    assert dump(file) == before
    async with opened(tmp_path) as store, store.read() as reading:
        assert await tallies.latest(reading, WREN) is not None


async def test_a_database_newer_than_the_program_is_refused_and_left_alone(tmp_path: Path) -> None:
    file = await filled(tmp_path)
    await run(file, scripts(tmp_path))
    before = dump(file)
    with pytest.raises(StorageError) as refused:
        await Store(file).open()
    assert str(refused.value) == (
        f"{file} was written by a newer version of Cornerman (its tables are 0006, this one knows {HEAD}); "
        "update Cornerman, or restore an older backup."
    )
    assert dump(file) == before


async def test_stores_that_open_a_new_file_at_once_migrate_it_once(tmp_path: Path) -> None:
    stores = [Store(tmp_path / "cornerman.db") for _ in range(4)]
    await asyncio.gather(*(store.open() for store in stores))
    for store in stores:
        await store.close()
    made = set(dump(stores[0].file))
    assert made == set(dump(new_database(tmp_path)))


OPENS = """
import asyncio, sys
from pathlib import Path
from bot.storage.store import Store

async def main():
    store = Store(Path(sys.argv[1]))
    sys.stdin.readline()
    await store.open()
    await store.close()
    print("alembic" in sys.modules)

asyncio.run(main())
"""


def opening(file: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-W", "error", "-c", OPENS, str(file)],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_processes_that_start_at_once_do_not_both_migrate(tmp_path: Path) -> None:
    file = tmp_path / "cornerman.db"
    processes = [opening(file) for _ in range(3)]
    answers = [process.communicate("go\n") for process in processes]
    assert [(process.returncode, error) for process, (_, error) in zip(processes, answers, strict=True)] == [
        (0, "")
    ] * 3
    made = set(dump(file))
    assert made == set(dump(new_database(tmp_path)))


def test_a_database_that_is_up_to_date_opens_without_alembic(tmp_path: Path) -> None:
    assert opening(tmp_path / "cornerman.db").communicate("go\n")[0] == "True\n"
    assert opening(tmp_path / "cornerman.db").communicate("go\n")[0] == "False\n"


async def test_a_route_saved_before_there_were_tags_is_kept_and_has_none(tmp_path: Path) -> None:
    """Tables of version 0001, as the first release made them, with a member, a route and a tally in them."""
    file = tmp_path / "cornerman.db"
    older = tmp_path / "older"
    shutil.copytree(MIGRATIONS, older, ignore=shutil.ignore_patterns("__pycache__", "000[2345]*"))
    await run(file, older)
    with closing(sqlite3.connect(file)) as raw:
        raw.execute("INSERT INTO server (id) VALUES (5)")
        raw.execute("INSERT INTO member (id, server_id, member_id) VALUES (3, 5, 70)")
        raw.execute(
            "INSERT INTO route (id, owner_id, game, character, name, game_version, notation, saved_at) "
            "VALUES (7, 3, 'Saltglass', 'Mirrel', 'bread', '1', '5A > 5B', '2026-01-01 12:00:00.000000')"
        )
        raw.commit()
        assert "tags" not in {column for _, column, *_ in raw.execute("PRAGMA table_info(route)")}
        assert raw.execute("SELECT version_num FROM alembic_version").fetchall() == [("0001",)]
    kept = SavedRoute(7, "Saltglass", "1", "Mirrel", "bread", "5A > 5B", NOW)
    async with opened(tmp_path) as store:
        async with store.read() as reading:
            assert await routes.listed(reading, WREN, "Saltglass") == (kept,)
        async with store.write() as writing:
            assert await routes.forget(writing, WREN, 7) == Forgotten(kept)
            saved = await routes.save(writing, WREN, replace(kept, tags=("corner",)))
        assert saved.id > kept.id  # a number is never used again, so no old button means another route
    with closing(sqlite3.connect(file)) as raw:
        assert raw.execute("PRAGMA foreign_key_check").fetchall() == []
