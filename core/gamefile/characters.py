"""Reading the characters and their moves, those under other control schemes included."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from core.gamefile.entries import read_entries, refuse_repeats
from core.gamefile.moves import Row, build_move, merged, read_row
from core.gamefile.problems import Place, Problems
from core.gamefile.schema import CharacterSection, JumpSection, validated
from core.gamefile.setting import Setting
from core.gamefile.tables import Rows, Table, inline_rows, table_rows
from core.model import Jump, Move
from core.notation import NotationError, ParsedInput, read_input
from core.text import shown

MAX_CHARACTERS = 50
MAX_MOVES = 400


@dataclass(frozen=True, slots=True)
class Roster:
    """A character as read, before its rules. `tags` are those that its rows carry; None where some
    of its moves cannot be read, so that what they are called and carry is not known whole."""

    place: Place
    section: CharacterSection
    moves: tuple[Move, ...]
    tags: frozenset[str] | None
    jump: Jump | None


def read_characters(
    file: str, data: object, tables: Mapping[str, Table], setting: Setting, problems: Problems
) -> list[Roster]:
    """Every character that can be read."""
    place = Place(file, "[[character]]")
    if data is None or data == []:
        problems.add(place, "", "is missing", "add a [[character]] with a name and moves")
        return []
    if isinstance(data, list) and len(data) > MAX_CHARACTERS:
        problems.add(place, "", f"has {len(data)} characters", f"keep at most {MAX_CHARACTERS}")
        return []
    read = read_entries(file, "[[character]]", CharacterSection, data, problems)
    refuse_repeats("character", _names(read), problems)
    return [_roster(file, place, section, tables, setting, problems) for place, section in read]


def table_names(rules: Mapping[str, object]) -> tuple[str, ...]:
    """The table files that a game's characters name, each once."""
    characters = rules.get("character")
    if not isinstance(characters, list):
        return ()
    named = [entry.get("moves") for entry in characters if isinstance(entry, dict)]
    return tuple(dict.fromkeys(name.strip() for name in named if isinstance(name, str) and name.strip()))


def _roster(
    file: str,
    place: Place,
    section: CharacterSection,
    tables: Mapping[str, Table],
    setting: Setting,
    problems: Problems,
) -> Roster:
    jump = None
    if section.jump is not None:
        found = validated(
            JumpSection, section.jump, Place(file, "[character.jump]", f"of {section.name}"), problems
        )
        jump = Jump(found.before_frames, found.air_frames, found.landing_frames) if found else None
    cells = _cells(file, place, section, tables, setting, problems)
    rows = [read_row(found, problems) for found in cells.rows]
    tags = frozenset(tag for row in rows for tag in row.cells.tags or ()) if cells.complete else None
    return Roster(place, section, _moves(rows, setting, problems), tags, jump)


def _cells(
    file: str,
    place: Place,
    section: CharacterSection,
    tables: Mapping[str, Table],
    setting: Setting,
    problems: Problems,
) -> Rows:
    if section.moves is not None and section.move is not None:
        problems.add(
            place, "moves", "names a table, and there are [[character.move]] entries too", "keep one of them"
        )
    if section.move is not None:
        cells = inline_rows(file, section.name, section.move, setting.states, problems)
    elif section.moves is None:
        problems.add(place, "moves", "is missing", 'name a table, such as moves = "odrun.csv"')
        return Rows([], False)
    elif not isinstance(section.moves, str):
        problems.add(
            place, "moves", f"{shown(section.moves)} is no table's name", 'write one such as "odrun.csv"'
        )
        return Rows([], False)
    elif (name := section.moves.strip()) not in tables:
        problems.unknown(place, "moves", name, f"table beside {file}", tables)
        return Rows([], False)
    else:
        cells = table_rows(name, tables[name], setting.states, problems)
    if not cells.rows and cells.complete:
        problems.add(place, "moves", "holds no move", "write at least one")
    if len(cells.rows) > MAX_MOVES:
        problems.add(
            place, "moves", f"holds {len(cells.rows)} moves", f"keep at most {MAX_MOVES} a character"
        )
        return Rows([], False)
    return cells


def _moves(rows: Sequence[Row], setting: Setting, problems: Problems) -> tuple[Move, ...]:
    built = []
    for row in rows:
        if not _is_change(row):
            before = len(problems)
            move = build_move(row, setting, problems)
            built.append((replace(row, sound=row.sound and len(problems) == before), move))
    words = (
        (row.place, field, word)
        for row, move in built
        for field, found in (("input", (move.input,)), ("name", (move.name,)), ("aliases", move.aliases))
        for word in found
        if word
    )
    refuse_repeats("move", words, problems)
    _refuse_repeated_inputs([(row.place, move) for row, move in built], setting, problems)
    changes = _changes([row for row in rows if _is_change(row)], built, setting, problems)
    return tuple(
        replace(move, by_scheme=changes[move.input]) if move.input in changes else move for _, move in built
    )


def _is_change(row: Row) -> bool:
    return row.cells.scheme is not None or row.cells.same_as is not None


def _changes(
    rows: Sequence[Row], built: Sequence[tuple[Row, Move]], setting: Setting, problems: Problems
) -> dict[str, tuple[tuple[str, Move], ...]]:
    """By input, each control scheme that changes the move, and the whole move under it."""
    bases = {move.input: (row, move) for row, move in built if move.input}
    changed: dict[str, dict[str, Move]] = {}
    place_of: dict[tuple[str, str], Place] = {}
    for row in rows:
        scheme, same_as = row.cells.scheme, row.cells.same_as
        if scheme is None or same_as is None:
            if row.sound:
                given, missing = ("scheme", "same_as") if same_as is None else ("same_as", "scheme")
                problems.add(row.place, missing, f"is missing beside {given}", "fill both, or neither")
            continue
        if setting.schemes is not None and scheme not in setting.schemes:
            problems.unknown(row.place, "scheme", scheme, "control scheme of this game", setting.schemes)
        if same_as not in bases:
            problems.unknown(row.place, "same_as", same_as, "input of another row", bases)
            continue
        if scheme in changed.setdefault(same_as, {}):
            where = place_of[same_as, scheme].row
            problems.add(
                row.place, "same_as", f"{same_as} has its row for {scheme}: {where}", "keep one of them"
            )
        place_of.setdefault((same_as, scheme), row.place)
        base, move = bases[same_as]
        if not base.sound:
            continue
        whole = merged(base, move, row)
        changed[same_as][scheme] = build_move(whole, setting, problems)
    for scheme in dict.fromkeys(scheme for _, scheme in place_of):
        under = [
            (place_of.get((move.input, scheme), row.place), changed.get(move.input, {}).get(scheme, move))
            for row, move in built
        ]
        _refuse_repeated_inputs(under, setting, problems)
    return {same_as: tuple(found.items()) for same_as, found in changed.items()}


def _refuse_repeated_inputs(
    moves: Sequence[tuple[Place, Move]], setting: Setting, problems: Problems
) -> None:
    """Note inputs that are the same though they may be spelled in two ways."""
    first_of: dict[ParsedInput, Place] = {}
    for place, move in moves:
        try:
            given = read_input(move.input, setting.buttons)
        except NotationError:
            continue
        first = first_of.setdefault(given, place)
        if first is not place:
            wrong = f"{shown(move.input)} is taken by {first.row}"
            problems.add(place, "input", wrong, "give each move its own")


def _names(read: Sequence[tuple[Place, CharacterSection]]) -> Iterator[tuple[Place, str, str]]:
    for place, section in read:
        yield place, "name", section.name
        for alias in section.aliases:
            yield place, "aliases", alias
