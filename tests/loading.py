"""An invented game in its two written forms, the mistakes that can be made in it, and small games to load."""

from __future__ import annotations

import csv
import tomllib
from pathlib import Path
from typing import Any

import pytest

from core.gamefile import GameFileError, Problem, Table, load
from core.model import Game, Move

DATA = Path(__file__).parent / "data"
TEXTS = {path.name: path.read_text("utf-8") for path in sorted((DATA / "games" / "tinwhistle").iterdir())}
INLINE = {"game.toml": (DATA / "games" / "tinwhistle_inline.toml").read_text("utf-8")}
CASES: list[dict[str, Any]] = tomllib.loads((DATA / "broken_games.toml").read_text("utf-8"))["case"]


def table(text: str) -> Table:
    """The sheet that this text of a table is."""
    delimiter = ";" if ";" in text.split("\n", 1)[0] else ","
    rows = [tuple(row) for row in csv.reader(text.splitlines(), delimiter=delimiter)]
    return Table(rows[0], tuple(rows[1:]))


def loaded(texts: dict[str, str]) -> Game:
    """The game that these files make, by their names."""
    tables = {name: table(text) for name, text in texts.items() if name != "game.toml"}
    return load(tomllib.loads(texts["game.toml"]), tables)


def rules_of(**changes: Any) -> dict[str, Any]:
    """A small game with one character, whose moves are `moves`."""
    moves = changes.pop("moves", [{"input": "5A", "name": "tap"}])
    return {
        "name": "Small",
        "version": "1",
        "fps": 60,
        "strengths": ["light"],
        "buttons": {"A": {"strength": "light"}, "B": {}},
        "hitstop": {"light": 10, "special": 12},
        "character": [{"name": "One", "move": moves}],
        **changes,
    }


def move_of(*, game: dict[str, Any] | None = None, **cells: Any) -> Move:
    """The move that these cells of a game's only row make."""
    changes = {"moves": [{"input": "5A", "name": "tap", **cells}], **(game or {})}
    return load(rules_of(**changes), {}).characters[0].moves[0]


def problems_of(rules: dict[str, Any], tables: dict[str, Table] | None = None) -> tuple[Problem, ...]:
    """What the loader refuses in this game; a game that loads fails the test."""
    with pytest.raises(GameFileError) as raised:
        load(rules, tables or {})
    return raised.value.problems
