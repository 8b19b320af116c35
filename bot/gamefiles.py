"""Reading game files from disk: the TOML file, the CSV tables it names, and the packaged games."""

from __future__ import annotations

import csv
import io
import re
import tomllib
from pathlib import Path

from core.gamefile import GameFileError, Problem, Table, load, nearest, one_of, shown, table_names
from core.model import Game

GAMES = Path(__file__).parent / "games"
GAME_FILE = "game.toml"
MAX_BYTES = 2_000_000

_TOML_PLACE = re.compile(r" \(at (?:line (?P<line>\d+), column \d+|end of document)\)$")


class GameNotFoundError(LookupError):
    """Neither a file nor the name of a packaged game; the message is one sentence for the reader."""


def find_game(name_or_path: str) -> Path:
    """The .toml file of a game: of a path to it or to its folder, or of a packaged game by its name
    or its folder's, in any case. Raises GameNotFoundError, which offers the nearest names."""
    try:
        path = Path(name_or_path)
        if path.is_file():
            return path
        if (path / GAME_FILE).is_file():
            return path / GAME_FILE
    except (OSError, ValueError):  # too long, or with characters no path has
        pass
    known = packaged_games()
    wanted = name_or_path.strip().casefold()
    for name, file in known.items():
        if wanted in (name.casefold(), file.parent.name.casefold()):
            return file
    near = nearest(name_or_path, known)
    offer = (
        f"the nearest is {near}"
        if near
        else f"there is {one_of(sorted(known))}"
        if known
        else "none is packaged"
    )
    raise GameNotFoundError(
        f"{shown(name_or_path)} is no game file, and no packaged game has this name; {offer}"
    )


def packaged_games() -> dict[str, Path]:
    """The packaged games' .toml files by the games' names."""
    files = sorted(GAMES.glob(f"*/{GAME_FILE}"))
    return {str(_read_toml(file).get("name", file.parent.name)): file for file in files}


def own_games(folder: Path) -> dict[str, Path]:
    """A host's own game files by the names of their folders or files; none where there is no such folder."""
    found = {file.parent.name: file for file in sorted(folder.glob(f"*/{GAME_FILE}"))}
    return {**{file.stem: file for file in sorted(folder.glob("*.toml"))}, **found}


def game_file(name_or_path: str, folder: Path) -> Path:
    """As `find_game`, but a game in the host's own folder comes first."""
    wanted = name_or_path.strip().casefold()
    for name, file in own_games(folder).items():
        if wanted == name.casefold():
            return file
    return find_game(name_or_path)


def read_game(path: Path) -> Game:
    """The game of a .toml file, or of a folder that holds game.toml. Raises GameFileError with
    every problem: of reading the files first, else of what stands in them."""
    file = path / GAME_FILE if path.is_dir() else path
    rules = _read_toml(file)
    tables: dict[str, Table] = {}
    problems: list[Problem] = []
    for name in table_names(rules):
        if not _is_plain(name) or not (file.parent / name).is_file():
            continue  # the loader says which tables are missing
        try:
            tables[name] = _read_table(file.parent / name)
        except GameFileError as error:
            problems.extend(error.problems)
    if problems:
        raise GameFileError(tuple(problems))
    return load(rules, tables, file.name)


def _is_plain(name: str) -> bool:
    """Whether this is the name of a file in the same folder."""
    return name.isprintable() and not set(name) & set("/\\:") and name not in (".", "..") and len(name) < 200


def _read_toml(file: Path) -> dict[str, object]:
    text = _read_text(file, "save it as UTF-8")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise _problem(
            file, "", "has lists or tables nested too deep", "keep to the keys of the guide"
        ) from None
    except ValueError as error:
        message = str(error)
        place = _TOML_PLACE.search(message)
        line = f"line {place['line'] or text.count(chr(10)) + 1}" if place else ""
        said = _TOML_PLACE.sub("", message)
        raise _problem(
            file, line, f"is not proper TOML ({said})", "correct it there or just before"
        ) from None


def _read_table(file: Path) -> Table:
    text = _read_text(file, "save it as CSV in UTF-8")
    header = text.split("\n", 1)[0]
    delimiter = ";" if header.count(";") > header.count(",") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows: list[tuple[str, ...]] = []
    try:
        rows.extend(tuple(row) for row in reader)
    except csv.Error as error:
        row = f"row {len(rows) + 1}"
        raise _problem(
            file,
            row,
            f"is not proper CSV ({error})",
            'close each quoted cell with ", and double a " inside it',
        ) from None
    if not rows:
        raise _problem(file, "", "is empty", "write a header and one row for each move")
    return Table(rows[0], tuple(rows[1:]))


def _read_text(file: Path, encoding_right: str) -> str:
    try:
        with file.open("rb") as opened:
            data = opened.read(MAX_BYTES + 1)
    except OSError as error:
        said = (error.strerror or "it failed").lower()
        raise _problem(
            file, "", f"cannot be read ({said})", "check its name and that you may read it"
        ) from None
    if len(data) > MAX_BYTES:
        raise _problem(file, "", f"has more than {MAX_BYTES:,} bytes", "keep a file under 2 MB")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _problem(file, f"line {line}", "holds a character that is not UTF-8", encoding_right) from None


def _problem(file: Path, row: str, wrong: str, right: str) -> GameFileError:
    return GameFileError((Problem(file.name, "", row, "", wrong, right),))
