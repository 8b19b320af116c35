"""Files of a game as they are sent and handed out, and how sheets among them were read."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Upload:
    """A file as somebody sent it, or as it is handed out."""

    name: str
    data: bytes


@dataclass(frozen=True, slots=True)
class ColumnGuess:
    """What a column of a sheet was taken for; None: left out. `sure`: the header is the column's own name
    or a known spelling of it, or somebody chose; else it only comes near one."""

    file: str
    header: str
    column: str | None
    sure: bool


@dataclass(frozen=True, slots=True)
class TableNote:
    """How a sheet was read: its encoding, what parts its cells, and how many rows hold a move."""

    file: str
    encoding: str
    delimiter: str
    rows: int
