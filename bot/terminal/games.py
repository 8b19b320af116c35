"""`cornerman game check`, `game list`, `game template` and `game import`."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from bot.config import Settings
from bot.gamefiles import (
    MAX_BYTES,
    Upload,
    files_of,
    game_file,
    own_games,
    packaged_games,
    read_game,
    read_upload,
    template,
)
from bot.render.summary import summary
from bot.terminal.common import ANSWERED, BAD_USAGE, UsageError


def add_games(commands: Any, shared: argparse.ArgumentParser) -> None:
    """Add the commands about game files; `shared` has the options that every command takes. Each sets `run`,
    a function of the arguments and the settings that returns the exit code."""
    game = commands.add_parser("game", help="look after game files").add_subparsers(
        required=True, metavar="COMMAND"
    )
    check = game.add_parser(
        "check", parents=[shared], help="print every problem of a game file, or a summary"
    )
    check.set_defaults(command="game", run=check_game)
    check.add_argument("file", metavar="FILE", help="a game.toml, its folder, or a game's name")
    listing = game.add_parser("list", parents=[shared], help="print the games that can be asked by name")
    listing.set_defaults(command="game", run=list_games)
    blank = game.add_parser(
        "template",
        parents=[shared],
        help="write a game to begin with, to be filled in a spreadsheet",
        description="Write game.toml, moves.csv and a guide to its columns into a folder, to begin with.",
    )
    blank.set_defaults(command="game", run=write_template)
    blank.add_argument("folder", type=Path, metavar="FOLDER", help="where to; nothing there is overwritten")
    sheets = game.add_parser(
        "import",
        parents=[shared],
        help="read sheets from elsewhere, and write them as a game",
        description="Read a game.toml and sheets of moves as a server would that they were sent to: with any "
        "headers, encoding and delimiter. Print every problem, or what was read.",
    )
    sheets.set_defaults(command="game", run=import_game)
    sheets.add_argument("files", nargs="+", type=Path, metavar="FILE", help="a game.toml, and CSV files")
    sheets.add_argument(
        "--into", type=Path, metavar="FOLDER", help="write the game there; nothing there is overwritten"
    )


def check_game(given: argparse.Namespace, settings: Settings) -> int:
    """Print a summary of a game; its problems are raised."""
    print(summary(read_game(game_file(given.file, settings.games_folder))))
    return ANSWERED


def list_games(_: argparse.Namespace, settings: Settings) -> int:
    """Print the games that can be asked by name."""
    for name, file in {**packaged_games(), **own_games(settings.games_folder)}.items():
        print(f"{name}: {file}")
    return ANSWERED


def write_template(given: argparse.Namespace, _: Settings) -> int:
    """Write a game to begin with."""
    _write(given.folder, template())
    print(f"{given.folder} has a game to begin with. Fill moves.csv, as columns.md says, then check it:")
    print(f"    cornerman game check {given.folder}")
    return ANSWERED


def import_game(given: argparse.Namespace, _: Settings) -> int:
    """Print what the files hold, and write them as a game where that was asked for."""
    read = read_upload([_upload(path) for path in given.files])
    for guess in read.columns:
        if guess.column is None:
            print(f"{guess.file}: the column “{guess.header}” is left out.")
        elif not guess.sure:
            print(f"{guess.file}: the column “{guess.header}” is taken for {guess.column}.")
    if read.source is None or read.game is None:
        print("\n".join(map(str, read.problems)), file=sys.stderr)
        return BAD_USAGE
    print(summary(read.game))
    if given.into is not None:
        _write(given.into, files_of(read.source))
        print(f"It is written to {given.into}.")
    return ANSWERED


def _upload(path: Path) -> Upload:
    try:
        with path.open("rb") as opened:
            return Upload(path.name, opened.read(MAX_BYTES + 1))
    except OSError as error:
        raise UsageError(f"{path} cannot be read: {error.strerror}.") from None


def _write(folder: Path, files: Sequence[Upload]) -> None:
    """Write all the files, or none where one of them is there already."""
    for file in files:
        if (folder / file.name).exists():
            raise UsageError(f"{folder / file.name} is there already; name another folder.")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for file in files:
            with (folder / file.name).open("xb") as opened:
                opened.write(file.data)
    except OSError as error:
        raise UsageError(f"{folder} cannot be written to: {error.strerror}.") from None
