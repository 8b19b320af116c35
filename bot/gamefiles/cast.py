"""Whose moves each table holds, so that every character of the rules has a table of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from bot.gamefiles.called import free_name, key_of, misspelled, name_of, number_of, owners
from bot.gamefiles.columns import CHARACTER, label_of
from bot.gamefiles.refusals import formula, is_dash, is_formula, is_plain, problem
from bot.gamefiles.sheets import Sheet
from core.gamefile import GameFileError, Problem, Table, load, shown
from core.gamefile.characters import MAX_CHARACTERS
from core.gamefile.tables import NEEDED_COLUMNS
from core.model import Game
from core.text import clipped

Row = tuple[int, tuple[str, ...]]
"""A row with its number in the sheet."""


@dataclass(frozen=True, slots=True)
class Columned:
    """A sheet, and the column of moves that each of its columns is; None: left out. `checked`: its cells
    have yet to be looked through, else it goes to the loader as it stands."""

    sheet: Sheet
    columns: tuple[str | None, ...]
    checked: bool = True


@dataclass(frozen=True, slots=True)
class Stand:
    """Where a table stood before it got a name of its own: the file, the header's row, and the headers as
    written by their columns."""

    file: str
    header_row: int
    headers: Mapping[str, str]


@dataclass(slots=True)
class Cast:
    """The rules with a table for each character. `renamed`: tables' names that the rules' text lacks, by
    the number of the character; `added`: characters that it lacks, each with its table."""

    file: str
    rules: dict[str, object]
    tables: dict[str, Table] = field(default_factory=dict)
    stands: dict[str, Stand] = field(default_factory=dict)
    renamed: dict[int, str] = field(default_factory=dict)
    added: list[tuple[str, str]] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def game(self) -> Game:
        """The game. Raises GameFileError with every problem, each where its reader finds it, and with one for
        each place: what was wrong with it before it was loaded."""
        try:
            game = load(self.rules, self.tables, self.file)
        except GameFileError as error:
            told = set(map(_place, self.problems))
            found = [self._as_it_stood(problem) for problem in error.problems]
            more = (problem for problem in found if _place(problem) not in told)
            raise GameFileError(tuple(dict.fromkeys((*self.problems, *more)))) from None
        if self.problems:
            raise GameFileError(tuple(dict.fromkeys(self.problems)))
        return game

    def _as_it_stood(self, found: Problem) -> Problem:
        stand = self.stands.get(found.file)
        if stand is None:
            return found
        row = f"row {stand.header_row}" if found.row == "row 1" else found.row
        return replace(found, file=stand.file, row=row, field=stand.headers.get(found.field, found.field))


def casting(
    file: str,
    rules: Mapping[str, object],
    sheets: Sequence[Columned],
    kept: Callable[[str], Table | None],
    character: str | None = None,
) -> Cast:
    """Each character with the moves that a sheet gives it, or else with the table that `kept` has for its
    name. A sheet's rows are whose a column says; else `character`'s; else theirs whose table the file is or
    who is called as the file is. Whom the rules lack is added to them."""
    cast = Cast(file, dict(rules))
    listed = rules.get("character", [])
    if not isinstance(listed, list) or not all(isinstance(entry, dict) for entry in listed):
        return cast  # the loader says so
    if len(listed) > MAX_CHARACTERS:
        return cast  # and this
    entries: list[dict[str, object]] = [dict(entry) for entry in listed]
    _check_names(cast, entries)
    in_text = len(entries)
    given: dict[int, tuple[Table | None, Columned | None]] = {}
    for one in sheets:
        for number, name, table in _parts(cast, one, entries, character, len(sheets)):
            _, other = given.setdefault(number, (table, one))
            if other is not None and other is not one:
                wrong = f"holds moves of {clipped(name)}, and so does {other.sheet.file}"
                cast.problems.append(problem(one.sheet.file, "", wrong, "keep one of them"))
    in_rules = [str(entry.get("moves")).strip() for entry in entries]
    for number, entry in enumerate(entries):
        written = entry.get("moves")
        named = written.strip() if isinstance(written, str) and is_plain(written.strip()) else ""
        moves, stands = given.get(number, (None, None))
        if moves is None and "move" not in entry:
            moves = kept(name_of(entry))
        if moves is None:
            continue
        taken = {*cast.tables, *in_rules}
        name = named if named and named not in cast.tables else free_name(name_of(entry), taken)
        cast.tables[name] = moves
        if stands is not None:
            cast.stands[name] = _stand(stands)
        entry["moves"] = name
        if number >= in_text:
            cast.added.append((name_of(entry), name))
        elif written is None or name != named:
            cast.renamed[number] = name
    cast.rules["character"] = entries
    return cast


def _parts(
    cast: Cast,
    one: Columned,
    entries: list[dict[str, object]],
    character: str | None,
    sheets: int,
) -> Iterator[tuple[int, str, Table]]:
    """The number, the name and the moves of each character in a sheet."""
    if CHARACTER in one.columns:
        listed = entries[:]
        for number, name, rows in _split(cast, one, entries):
            if number is None and (near := misspelled(listed, name)):
                wrong = f"{shown(name)} is no character of {cast.file}, and is spelled almost as {near}"
                right = f"write {near}, or add a [[character]] of this name to {cast.file}"
                cast.problems.append(problem(one.sheet.file, f"row {rows[0][0]}", wrong, right))
                continue
            if number is None:
                number = len(entries)
                if number == MAX_CHARACTERS:
                    right = f"keep at most {MAX_CHARACTERS} characters"
                    cast.problems.append(problem(one.sheet.file, "", "brings too many characters", right))
                    return
                entries.append({"name": name})
            yield number, name, _table(cast, replace(one, checked=True), rows)
        return
    table = _table(cast, one, list(_numbered(one)))
    numbers = owners(entries, one.sheet.file)
    if character is not None and (sheets == 1 or not numbers):
        found = number_of(entries, character)
        if found is None:
            found = len(entries)
            entries.append({"name": character.strip()})
        numbers = [found]
    if not numbers and len(entries) == sheets == 1:
        numbers = [0]
    if not numbers:
        wrong = "does not say whose moves these are"
        right = "add a column character, or name the file after the one whose they are, such as odrun.csv"
        cast.problems.append(problem(one.sheet.file, "", wrong, right))
    for number in numbers:
        yield number, name_of(entries[number]), table


def _split(
    cast: Cast, one: Columned, entries: Sequence[Mapping[str, object]]
) -> list[tuple[int | None, str, list[Row]]]:
    """The rows of each character that a sheet's own column names, by any of its names; without a number,
    those of whom the rules lack."""
    at = one.columns.index(CHARACTER)
    header = label_of(one.sheet.header[at], at + 1)
    rows: dict[int | str, tuple[int | None, str, list[Row]]] = {}
    of: dict[str, list[Row]] = {}
    for number, row in _numbered(one):
        written = row[at] if at < len(row) else ""
        if len(row) == 1 < len(one.sheet.header) and written.strip():  # nobody's name: all cells in one
            cast.problems.append(_ragged(one.sheet, number, row))
            continue
        if written not in of:
            known = number_of(entries, written)
            name = " ".join(written.split())
            of[written] = rows.setdefault(key_of(name) if known is None else known, (known, name, []))[2]
        if is_formula(written):
            cast.problems.append(formula(one.sheet.file, f"row {number}", header, written))
        elif written.strip():
            of[written].append((number, row))
        elif any(cell.strip() for cell in row):
            wrong, right = "is empty", "write whose move this is, in every row"
            cast.problems.append(problem(one.sheet.file, f"row {number}", wrong, right, header))
    if cast.problems and not any(found[2] for found in rows.values()):
        raise GameFileError(tuple(cast.problems))  # else the rules would be told to lack their moves
    return [found for found in rows.values() if found[2]]


def _numbered(one: Columned) -> Iterator[Row]:
    return enumerate(one.sheet.rows, start=one.sheet.header_row + 1)


def _table(cast: Cast, one: Columned, rows: Sequence[Row]) -> Table:
    """These rows with the columns that are moves' own. Each keeps its number, for there are as many blank
    ones before it as in the sheet."""
    sheet = one.sheet
    if not one.checked:
        return Table(sheet.header, sheet.rows)
    kept = [(index, column) for index, column in enumerate(one.columns) if column and column != CHARACTER]
    placed: list[tuple[str, ...]] = []
    for number, row in rows:
        filled = [cell for cell in row if cell.strip()]
        if not filled:
            continue
        placed.extend([()] * (number - 2 - len(placed)))
        if len(row) < len(sheet.header) or any(cell.strip() for cell in row[len(sheet.header) :]):
            cast.problems.append(_ragged(sheet, number, row))
            placed.append((filled[0],))  # too short as well, so that the loader knows that a move is missing
            continue
        placed.append(tuple(_cell(cast, sheet, number, row[index], index, column) for index, column in kept))
    return Table(tuple(column for _, column in kept), tuple(placed))


def _ragged(sheet: Sheet, number: int, row: Sequence[str]) -> Problem:
    cells = "1 cell" if len(row) == 1 else f"{len(row)} cells"
    wrong = f"has {cells} where the header has {len(sheet.header)}"
    right = "give every row as many cells as the header, the empty ones included"
    return problem(sheet.file, f"row {number}", wrong, right)


def _cell(cast: Cast, sheet: Sheet, number: int, written: str, index: int, column: str) -> str:
    """A cell as it is kept; a dash where there is nothing to say is none."""
    if is_formula(written):
        header = label_of(sheet.header[index], index + 1)
        cast.problems.append(formula(sheet.file, f"row {number}", header, written))
    return "" if column not in NEEDED_COLUMNS and is_dash(written) else written.strip()


def _stand(one: Columned) -> Stand:
    headers = {
        column: label_of(header, index + 1)
        for index, (header, column) in enumerate(zip(one.sheet.header, one.columns, strict=True))
        if column
    }
    return Stand(one.sheet.file, one.sheet.header_row, headers)


def _check_names(cast: Cast, entries: Sequence[Mapping[str, object]]) -> None:
    """A table's name is a file's beside the rules, and no character begins as a formula does."""
    for entry in entries:
        written, name = entry.get("moves"), name_of(entry)
        place = f"of {clipped(name)}"
        if isinstance(written, str) and written.strip() and not is_plain(written.strip()):
            wrong = f"{shown(written)} is no plain name of a file"
            right = 'write the name of a file beside the rules, such as "odrun.csv"'
            cast.problems.append(problem(cast.file, place, wrong, right, "moves", "[[character]]"))
        if is_formula(name):
            cast.problems.append(formula(cast.file, place, "name", name, "[[character]]"))


def _place(found: Problem) -> tuple[str, str, str]:
    """Where a mistake is, without what tells a reader which move a row holds."""
    return found.file, found.row.split(" (")[0], found.field
