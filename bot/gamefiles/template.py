"""A game to begin with, which a coach fills in a spreadsheet, and the guide to its columns."""

from __future__ import annotations

import tomllib
from pathlib import Path

from bot.gamefiles.loading import GAME_FILE
from bot.gamefiles.source import Upload
from bot.gamefiles.writing import MOVES_FILE

GUIDE_FILE = "columns.md"

_HERE = Path(__file__).parent


def template() -> tuple[Upload, ...]:
    """game.toml with comments, moves.csv with a few example rows, and columns.md, the guide to them."""
    rules, moves = (_HERE.joinpath("blank", name).read_text("utf-8") for name in (GAME_FILE, MOVES_FILE))
    return (
        Upload(GAME_FILE, rules.encode()),
        Upload(MOVES_FILE, moves.replace("\n", "\r\n").encode("utf-8-sig")),
        Upload(GUIDE_FILE, guide().encode()),
    )


def guide() -> str:
    """What each column of moves holds, as Markdown."""
    read = tomllib.loads(_HERE.joinpath("guide.toml").read_text("utf-8"))
    rows = [f"| {row['columns']} | {row['what']} |" for row in read["column"]]
    return "\n".join((read["opening"].strip(), "", "| column | what to write |", "|---|---|", *rows, ""))
