"""A source as files to hand out, as text to store, and as a short mark of what it says."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Iterator

from bot.gamefiles.columns import CHARACTER
from bot.gamefiles.loading import GAME_FILE
from bot.gamefiles.rules import characters_of, parsed
from bot.gamefiles.source import Source, Upload
from core.gamefile import Table
from core.gamefile.schema import COLUMNS
from core.gamefile.tables import NEEDED_COLUMNS

MOVES_FILE = "moves.csv"


def files_of(source: Source) -> tuple[Upload, Upload]:
    """The rules as game.toml and all moves as moves.csv, which read again give an equal game. The sheet is as
    spreadsheets take it, and no cell is one that they would take for a formula: no source has such cells."""
    owned = list(owned_tables(source))
    used = {column for _, table in owned for column in _filled(table)} | set(NEEDED_COLUMNS)
    header = [column for column in COLUMNS if column in used]
    header += dict.fromkeys(
        column for _, table in owned for column in table.header if column in used and column not in COLUMNS
    )
    out = io.StringIO()
    sheet = csv.writer(out, lineterminator="\r\n")
    sheet.writerow((CHARACTER, *header))
    for name, table in owned:
        for row in table.rows:
            cells = dict(zip(table.header, row, strict=True))
            sheet.writerow((name, *(cells.get(column, "") for column in header)))
    return (
        Upload(GAME_FILE, source.rules.encode()),
        Upload(MOVES_FILE, out.getvalue().encode("utf-8-sig")),
    )


def owned_tables(source: Source) -> Iterator[tuple[str, Table]]:
    """Each character's name and table, in the rules' order."""
    tables = dict(source.tables)
    for entry in characters_of(parsed(GAME_FILE, source.rules)):
        yield entry["name"].strip(), tables[entry["moves"].strip()]


def as_json(source: Source) -> str:
    """The source as text to store."""
    tables = [[name, table.header, table.rows] for name, table in source.tables]
    return json.dumps({"rules": source.rules, "tables": tables}, ensure_ascii=False, separators=(",", ":"))


def from_json(text: str) -> Source:
    """The source that `as_json` wrote."""
    kept = json.loads(text)
    return Source(
        kept["rules"],
        tuple((name, Table(tuple(header), tuple(map(tuple, rows)))) for name, header, rows in kept["tables"]),
    )


def digest(source: Source) -> str:
    """A mark of what the source says, as hexadecimal digits, whatever its version is called: of the rules and
    the filled cells, not of comments, of the order of columns, or of what the tables are called."""
    rules = parsed(GAME_FILE, source.rules)
    rules.pop("version", None)
    for entry in characters_of(rules):
        entry.pop("moves")
    moves = [
        [
            sorted((column, cell) for column, cell in zip(table.header, row, strict=True) if cell)
            for row in table.rows
        ]
        for _, table in owned_tables(source)
    ]
    said = json.dumps([rules, moves], ensure_ascii=False)
    return hashlib.sha256(said.encode()).hexdigest()


def _filled(table: Table) -> Iterator[str]:
    for index, column in enumerate(table.header):
        if any(row[index] for row in table.rows):
            yield column
