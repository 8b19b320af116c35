"""Games as moderators send them: files of the demo games with something changed in them."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from functools import cache
from typing import Any

from chat.practice import rows
from chat.world import World, text_of

from bot.gamefiles import files_of, packaged_games, read_source

GAME, OTHER = "Saltglass", "Kitewind"
VERSION = "1.2"
ODRUN, MOVE = "Odrun Vale", "5MP"
STARTUP = "6"
"""Of Odrun Vale's 5MP, in the demo game's file."""
File = tuple[str, bytes]
Cells = Mapping[tuple[str, str], str]
"""Other texts for cells of 5MP of Odrun Vale, or of another character's move by (input, column)."""


def plain(answer: Any) -> str:
    """What an answer says, without the marks that keep it from formatting anything."""
    return re.sub(r"\\(.)", r"\1", text_of(answer))


@cache
def _files(game: str) -> tuple[bytes, bytes]:
    rules, moves = files_of(read_source(packaged_games()[game]))
    return rules.data, moves.data


def rules(version: str = VERSION, name: str = GAME, game: str = GAME) -> File:
    """The rules of a demo game, under this name and version."""
    text = _files(game)[0].decode()
    for key, value in (("name", name), ("version", version)):
        line = f'{key} = "{value}"'
        text = re.sub(rf'(?m)^{key} = ".*"', lambda _, line=line: line, text, count=1)
    return "game.toml", text.encode()


def moves(cells: Cells | None = None, headers: Mapping[str, str] | None = None, game: str = GAME) -> File:
    """All its moves as a sheet: with these cells of Odrun Vale's, and these headers for its own."""
    sheet = list(csv.DictReader(io.StringIO(_files(game)[1].decode("utf-8-sig"), newline="")))
    for row in sheet:
        for (move, column), text in (cells or {}).items():
            if row["input"] == move and row["character"] in (ODRUN, ""):
                row[column] = text
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([(headers or {}).get(name, name) for name in sheet[0]])
    writer.writerows(row.values() for row in sheet)
    return "moves.csv", out.getvalue().encode()


def faster(startup: str = "5", total: str = "19") -> File:
    """All moves with another startup of Odrun Vale's 5MP."""
    return moves({(MOVE, "startup"): startup, (MOVE, "total"): total})


async def load(world: World, *files: File, member: Any = None, channel: Any = None, **options: str) -> Any:
    """Send files, as the moderator of Saltglass' server does."""
    salt = world.salt
    names = ["file", "file_2", "file_3", "file_4", "file_5"]
    given = dict(zip(names, files, strict=False))
    return await (member or salt.mod).slash(channel or salt.channel, "game load", **given, **options)


async def loaded(world: World, *files: File, **options: Any) -> Any:
    """Send files and use them."""
    shown = await load(world, *files, **options)
    return await (options.get("member") or world.salt.mod).click(shown.response, label="Use it")


async def startup_of(world: World, member: Any = None, channel: Any = None) -> str:
    """What the startup of Odrun Vale's 5MP is in an answer of the bot."""
    salt = world.salt
    said = plain(
        await (member or salt.ann).slash(channel or salt.channel, "move", move=MOVE, character=ODRUN)
    )
    found = re.search(r"touches on frame (\d+)", said)
    assert found, said
    return found[1]


def versions_of(world: World, server: Any) -> list[str]:
    """The versions that a server keeps of its own, the first first."""
    return [row["version"] for row in rows(world, "edition") if row["server_id"] == server.guild.id]
