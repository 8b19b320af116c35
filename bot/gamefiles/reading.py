"""From uploaded files to a source and its game."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from bot.gamefiles.cast import Columned, casting
from bot.gamefiles.columns import CHARACTER, Headers, states_in
from bot.gamefiles.loading import GAME_FILE, loaded
from bot.gamefiles.refusals import is_plain, problem, refusal
from bot.gamefiles.rules import characters_of, parsed
from bot.gamefiles.sheets import TABLES_END, decoded, read_sheet
from bot.gamefiles.source import ColumnGuess, Reading, Source, TableNote, Upload
from bot.gamefiles.writing import MOVES_FILE
from core.gamefile import GameFileError, Problem, Table, shown
from core.model import Game
from core.text import printable

AS_GUESSED: Mapping[str, str | None] = MappingProxyType({})
MAX_FILES = 5
MAX_LETTERS = 300_000
"""Of the names and aliases of all moves: every question looks through them, and all servers wait for it."""
RULES_END = ".toml"
NO_HEADER = "names no column that I know"
HEADER_RIGHT = "begin with a row such as input, name, startup, with commas, semicolons or tabs between"


def read_upload(
    uploads: Sequence[Upload],
    base: Source | None = None,
    columns: Mapping[str, str | None] = AS_GUESSED,
    character: str | None = None,
) -> Reading:
    """The game of one to five files: a TOML file with the rules, tables of moves, or both. It never raises.

    What is missing comes from `base`: the rules, and the moves of each character that no table holds.
    `columns` says what a column is by its header, None to leave it out, where the guess would be wrong.
    `character` is whose moves a sheet holds that does not say so itself; one whom the rules lack, as any that
    a sheet names, is added to them. For a worker process: takes and gives plain values.
    """
    named = [Upload(printable(upload.name), upload.data) for upload in uploads]
    problems = _names_refused(named)
    if problems:
        return Reading(None, None, problems, (), ())
    guesses: list[ColumnGuess] = []
    notes: list[TableNote] = []
    try:
        source, game = _read(named, base, columns, character, guesses, notes)
    except GameFileError as error:
        return Reading(None, None, error.problems, tuple(guesses), tuple(notes))
    return Reading(source, game, (), tuple(guesses), tuple(notes))


def rules_of(uploads: Sequence[Upload]) -> Upload | None:
    """The file with the rules among these; None where they are all tables."""
    return next((one for one in uploads if one.name.casefold().endswith(RULES_END)), None)


def _read(
    uploads: Sequence[Upload],
    base: Source | None,
    chosen: Mapping[str, str | None],
    character: str | None,
    guesses: list[ColumnGuess],
    notes: list[TableNote],
) -> tuple[Source, Game]:
    rules_file = rules_of(uploads)
    tables = [one for one in uploads if one is not rules_file]
    if rules_file is not None:
        file, text = rules_file.name, decoded(rules_file)[0]
    elif base is not None:
        file, text = GAME_FILE, base.rules
    else:
        right = "send game.toml along, or choose a game that these moves belong to"
        raise GameFileError((problem(tables[0].name, "", "comes without the rules of a game", right),))
    rules = parsed(file, text)
    headers = Headers(states_in(rules), chosen)
    problems = list(headers.problems(tables[0].name)) if tables else []
    sheets = []
    for one in tables:
        try:
            sheet, note = read_sheet(one, headers)
            found = headers.guesses(one.name, sheet.header)
        except GameFileError as error:
            problems.extend(error.problems)
            continue
        notes.append(note)
        guesses.extend(found)
        if not any(guess.column for guess in found):
            problems.append(problem(one.name, f"row {sheet.header_row}", NO_HEADER, HEADER_RIGHT))
        sheets.append(Columned(sheet, tuple(guess.column for guess in found)))
    if problems:
        raise GameFileError(tuple(problems))
    try:
        source, game = loaded(text, casting(file, rules, sheets, _kept(base), character))
    except GameFileError as error:
        raise GameFileError(tuple(_to_send(found, file) for found in error.problems)) from None
    _check_names(game)
    return source, game


def _check_names(game: Game) -> None:
    """Raises GameFileError where all names are more than can be looked through while somebody waits."""
    named = ((move.name, *move.aliases) for who in game.characters for move in who.moves)
    letters = sum(len(name) for names in named for name in names)
    if letters > MAX_LETTERS:
        wrong = f"have names and aliases of moves of {letters:,} letters in all"
        raise refusal("the files", "", wrong, f"keep at most {MAX_LETTERS:,}")


def _to_send(found: Problem, file: str) -> Problem:
    """A character's moves that are not there as somebody must hear it who sends files."""
    named = found.wrong.removesuffix(f" is no table beside {file}")
    if (found.table, found.field) != ("[[character]]", "moves") or named == found.wrong != "is missing":
        return found
    sheet = f"a {MOVES_FILE} with a column {CHARACTER}"
    if named == found.wrong:
        return replace(found, wrong="are in no file that was sent", right=f"send {sheet} along")
    return replace(found, wrong=f"{named} was not sent", right=f"send it along, or {sheet}")


def _kept(base: Source | None) -> Callable[[str], Table | None]:
    """The moves that a character of the base has, by its name in any case."""
    if base is None:
        return lambda _: None
    tables = dict(base.tables)
    entries = characters_of(parsed(GAME_FILE, base.rules))
    of = {entry["name"].strip().casefold(): tables.get(entry["moves"].strip()) for entry in entries}
    return lambda name: of.get(name.casefold())


def _names_refused(uploads: Sequence[Upload]) -> tuple[Problem, ...]:
    """What is wrong with how many files there are, and what they are called."""
    if not 1 <= len(uploads) <= MAX_FILES:
        wrong = f"are {len(uploads)} at once" if uploads else "are none"
        right = f"send a game.toml, tables of moves, or both: at most {MAX_FILES}"
        return (problem("the files", "", wrong, right),)
    found = []
    seen: set[str] = set()
    for upload in uploads:
        name = upload.name.casefold()
        if not is_plain(upload.name):
            found.append(
                problem(GAME_FILE, "", f"{shown(upload.name)} is no plain name of a file", "rename it")
            )
        elif not name.endswith((RULES_END, *TABLES_END)):
            right = "leave it out, or save a sheet as CSV and the rules as TOML"
            found.append(problem(shown(upload.name), "", "is no file that can be read here", right))
        elif name in seen:
            found.append(problem(upload.name, "", "was sent twice", "send each file once"))
        elif name.endswith(RULES_END) and any(one.endswith(RULES_END) for one in seen):
            found.append(problem(upload.name, "", "is a second file of rules", "send one game at a time"))
        seen.add(name)
    return tuple(found)
