"""From rules whose characters have their tables to the source and its game."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from bot.gamefiles.called import free_name
from bot.gamefiles.cast import Cast
from bot.gamefiles.refusals import formula, is_formula, problem
from bot.gamefiles.rules import characters_of, parsed, with_characters, with_tables
from bot.gamefiles.source import Source
from core.gamefile import GameFileError, Problem, Table, load
from core.gamefile.schema import COLUMNS
from core.model import Game

GAME_FILE = "game.toml"


def game_of(source: Source) -> Game:
    """The game of a source. Raises GameFileError with every problem."""
    return load(parsed(GAME_FILE, source.rules), dict(source.tables), GAME_FILE)


def loaded(text: str, cast: Cast) -> tuple[Source, Game]:
    """The source that these rules and tables make, and its game. Raises GameFileError with every problem."""
    game = cast.game()
    renamed = dict(cast.renamed)
    tables = {name: _compact(table) for name, table in cast.tables.items()}
    for number, name, table in _inline(cast):
        renamed[number], tables[name] = name, table
    _refuse_formulas(tables)
    rules = with_characters(with_tables(text, renamed), cast.added)
    named = dict.fromkeys(character["moves"].strip() for character in characters_of(parsed(cast.file, rules)))
    source = Source(rules, tuple((name, tables[name]) for name in named))
    if len(renamed) > len(cast.renamed) and game_of(source) != game:
        wrong = "a [[character.move]] holds a value that no cell of a table can"
        raise GameFileError(
            (problem(cast.file, "", wrong, "write names without ; in them, and no empty lists"),)
        )
    return source, game


def _compact(table: Table) -> Table:
    """A table without its blank rows, and without what the loader does not look at."""
    width = len(table.header)
    rows = (tuple(cell.strip() for cell in row[:width]) for row in table.rows if any(map(str.strip, row)))
    return Table(tuple("_".join(cell.casefold().split()) for cell in table.header), tuple(rows))


def _inline(cast: Cast) -> Iterator[tuple[int, str, Table]]:
    """The moves that stand in the rules as tables, each with its character's number and its name."""
    taken: dict[str, object] = dict(cast.tables)
    for number, character in enumerate(characters_of(cast.rules)):
        moves = character.get("move")
        if not isinstance(moves, list):
            continue
        name = free_name(character["name"], taken)
        taken[name] = moves
        used = {key for move in moves for key in move}
        columns = (*(one for one in COLUMNS if one in used), *sorted(used - set(COLUMNS)))
        rows = (tuple(_cell(column, move.get(column)) for column in columns) for move in moves)
        yield number, name, Table(columns, tuple(rows))


def _cell(column: str, value: object) -> str:
    """A value of a move in the rules as the text of a cell."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return "; ".join(map(str, value)) or ("none" if column == "cancellable_hits" else "")
    return str(value).strip()


def _refuse_formulas(tables: Mapping[str, Table]) -> None:
    """Raises GameFileError where a spreadsheet may take a cell for a formula; those of uploaded sheets have
    been looked at where they stood."""
    found: list[Problem] = []
    for name, table in tables.items():
        at = table.header.index("input")
        for row in table.rows:
            found += (
                formula(name, f"the row of {row[at]}", column, cell)
                for column, cell in zip(table.header, row, strict=True)
                if is_formula(cell)
            )
    if found:
        raise GameFileError(tuple(found))
