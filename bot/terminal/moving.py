"""`cornerman backup`, `cornerman restore` and `cornerman move-data`."""

from __future__ import annotations

import argparse
import asyncio
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import SecretStr

from bot.config import Settings
from bot.terminal.common import ANSWERED

if TYPE_CHECKING:
    from bot.storage.copying import Step
    from bot.storage.moving import Moved

TOLD_EVERY = 100_000
CODES = (
    "exit code: 0 done; 2 bad usage or settings; 3 a database cannot be used, or what was copied is not whole"
)


def add_copies(commands: Any, shared: argparse.ArgumentParser) -> None:
    """Add the commands that copy the database; `shared` has the options that every command takes."""
    backup = commands.add_parser(
        "backup",
        parents=[shared],
        help="copy the database, also while the bot runs",
        description="Copy the database to a file, also while the bot runs, and check the copy. Of a "
        "PostgreSQL database the copy is a SQLite file too, which cornerman restore puts into either kind.",
        epilog=CODES,
    )
    backup.set_defaults(command="backup", run=back_up)
    backup.add_argument("file", type=Path, metavar="FILE", help="the copy; it must not exist yet")
    restore = commands.add_parser(
        "restore",
        parents=[shared],
        help="put a copy back in place of the database; the bot must not run",
        description="Put a copy back while the bot does not run. A SQLite database is replaced, and what it "
        "was is kept beside it; a PostgreSQL database must be an empty one, so that nothing is replaced.",
        epilog=CODES,
    )
    restore.set_defaults(command="restore", run=put_back)
    restore.add_argument("file", type=Path, metavar="FILE", help="the copy")
    moving = commands.add_parser(
        "move-data",
        parents=[shared],
        help="copy everything into another database, to go on there; the bot must not run",
        description="Copy everything from the database of the settings into an empty one, and check each "
        "table on both sides; then set database to the new one. The old one stays as it was. When it is "
        "broken off, run it again: it goes on where it was. No bot opens a database that is not whole yet.",
        epilog=CODES,
    )
    moving.set_defaults(command="move-data", run=move_data)
    moving.add_argument(
        "--to",
        required=True,
        metavar="DATABASE",
        help="a URL such as postgresql://USER@HOST/NAME (the password may stand in PGPASSWORD), or a file",
    )


def back_up(given: argparse.Namespace, settings: Settings) -> int:
    """Copy the database to a file."""
    from bot.storage.address import address_of  # here and below, for a question needs no database
    from bot.storage.backup import backup
    from bot.storage.moving import copy_out

    database = address_of(settings.database)
    if database.file is not None:
        backup(database.file, given.file)
    else:
        asyncio.run(copy_out(database, given.file, tell))
    print(f"{database} is copied to {given.file}, and the copy is whole.")
    return ANSWERED


def put_back(given: argparse.Namespace, settings: Settings) -> int:
    """Put a copy in the place of the database."""
    from bot.storage.address import address_of
    from bot.storage.backup import restore
    from bot.storage.moving import put_back as fill

    database, kept = address_of(settings.database), None
    if database.file is not None:
        kept = restore(database.file, given.file)
    else:
        asyncio.run(fill(given.file, database, tell))
    print(f"{database} is again as in {given.file}.")
    if kept is not None:
        print(f"What it was before is kept as {kept}.")
    return ANSWERED


def move_data(given: argparse.Namespace, settings: Settings) -> int:
    """Copy everything into another database."""
    from bot.storage.address import address_of
    from bot.storage.moving import move

    source = address_of(settings.database)
    target = address_of(SecretStr(given.to) if "://" in given.to else Path(given.to))
    print(_moved(asyncio.run(move(source, target, tell)), str(target)))
    print("Set database to it in the settings, then start the bot. The old database stays as it was.")
    return ANSWERED


def tell(step: Step) -> None:
    """Print how far a copy is: a line for each table that holds something, and for a large one now and
    then."""
    whole = step.rows == step.of
    if step.of == 0:
        return
    if whole or step.rows % TOLD_EVERY == 0:
        rows = f"{step.of:,}" if whole else f"{step.rows:,} of {step.of:,}"
        print(f"{step.table}: {rows} {'row' if rows == '1' else 'rows'} {step.part}", file=sys.stderr)


def _moved(moved: Moved, target: str) -> str:
    anew = "; what lay there from an earlier run was no longer so, and was copied anew" if moved.again else ""
    return f"{target} holds all {moved.rows:,} rows now, the same in each of {moved.tables} tables{anew}."
