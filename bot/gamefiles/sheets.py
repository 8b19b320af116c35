"""From the bytes of a table to its rows: the encoding, what parts the cells, and where the header stands."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

from bot.gamefiles.columns import Headers
from bot.gamefiles.refusals import refusal
from bot.gamefiles.source import TableNote, Upload

MAX_BYTES = 2_000_000
MAX_ROWS = 20_000
MAX_COLUMNS = 100
TABLES_END = (".csv", ".tsv", ".txt")
DELIMITERS = (",", ";", "\t", "|")
HEADER_WITHIN = 10

_BEGINNING = 20_000
_UTF_16 = (b"\xff\xfe", b"\xfe\xff")
_BINARY = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")

Rows = list[tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table as it stands in a file. `header_row`: the header's row as a spreadsheet counts, from 1;
    `rows`: those below it, blank ones included."""

    file: str
    header_row: int
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def read_sheet(upload: Upload, headers: Headers) -> tuple[Sheet, TableNote]:
    """The table in an uploaded file, and how it was read. Raises GameFileError."""
    text, encoding = decoded(upload)
    delimiter = _delimiter(text, headers)
    rows = read_rows(upload.name, text, delimiter)
    _check_size(upload.name, rows)
    at = _header_at(rows[:HEADER_WITHIN], headers)[1]
    header = _without_end(rows[at])
    sheet = Sheet(upload.name, at + 1, header, tuple(rows[at + 1 :]))
    filled = sum(any(cell.strip() for cell in row) for row in sheet.rows)
    return sheet, TableNote(upload.name, encoding, delimiter, filled)


def decoded(upload: Upload) -> tuple[str, str]:
    """The text of a file, and the name of its encoding. Raises GameFileError where it is no text."""
    name, data = upload.name, upload.data
    if len(data) > MAX_BYTES:
        raise refusal(name, "", f"has more than {MAX_BYTES:,} bytes", "keep a file under 2 MB")
    text, encoding = _text(data)
    binary = _BINARY.search(text)
    if binary:
        line = f"line {text.count(chr(10), 0, binary.start()) + 1}"
        raise refusal(name, line, "holds what is no text", "save a sheet as CSV in UTF-8, the rules as TOML")
    return text, encoding


def read_rows(file: str, text: str, delimiter: str) -> Rows:
    """The rows of a CSV text. Raises GameFileError where it is none."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows: Rows = []
    try:
        rows.extend(tuple(row) for row in reader)
    except csv.Error as error:
        right = 'close each quoted cell with ", and double a " inside it'
        raise refusal(file, f"row {len(rows) + 1}", f"is not proper CSV ({error})", right) from None
    if not any(cell.strip() for row in rows for cell in row):
        raise refusal(file, "", "is empty", "write a header and one row for each move")
    return rows


def _text(data: bytes) -> tuple[str, str]:
    """The text and its encoding, which Latin-1 shares with Windows-1252; what is neither has a NUL."""
    if data.startswith(_UTF_16):
        try:
            return data.decode("utf-16"), "UTF-16"
        except UnicodeDecodeError:
            return "\0", ""
    for encoding, name in (("utf-8-sig", "UTF-8"), ("cp1252", "Windows-1252")):
        try:
            return data.decode(encoding), name
        except UnicodeDecodeError:
            continue
    return "\0", ""


def _check_size(file: str, rows: Rows) -> None:
    while not any(cell.strip() for cell in rows[-1]):
        rows.pop()
    if len(rows) > MAX_ROWS:
        raise refusal(file, "", f"has {len(rows):,} rows", f"keep at most {MAX_ROWS:,}")
    for number, row in enumerate(rows, start=1):
        if len(row) > MAX_COLUMNS and len(_without_end(row)) > MAX_COLUMNS:
            raise refusal(
                file, f"row {number}", f"has {len(row):,} cells", f"keep at most {MAX_COLUMNS} columns"
            )


def _delimiter(text: str, headers: Headers) -> str:
    """What parts the cells: by which the most columns are known, else the most frequent in the first line."""
    beginning = text[:_BEGINNING]
    first = beginning.lstrip().split("\n", 1)[0]

    def fitness(delimiter: str) -> tuple[int, int]:
        reader = csv.reader(io.StringIO(beginning, newline=""), delimiter=delimiter)
        try:
            rows = [tuple(row) for row in islice(reader, HEADER_WITHIN)]
        except csv.Error:
            rows = []
        return _header_at(rows, headers)[0], first.count(delimiter)

    return max(DELIMITERS, key=fitness)


def _header_at(rows: Sequence[Sequence[str]], headers: Headers) -> tuple[int, int]:
    """How many columns the header names, and its number from 0: the first of the rows that name the most,
    or the first that is not blank."""
    filled = [(number, row) for number, row in enumerate(rows) if any(cell.strip() for cell in row)]
    if not filled:
        return 0, 0
    number, row = max(filled, key=lambda numbered: headers.known(numbered[1][: MAX_COLUMNS + 1]))
    return headers.known(row[: MAX_COLUMNS + 1]), number


def _without_end(row: tuple[str, ...]) -> tuple[str, ...]:
    """A row without the blank cells at its end."""
    last = max((index for index, cell in enumerate(row) if cell.strip()), default=-1)
    return row[: last + 1]
