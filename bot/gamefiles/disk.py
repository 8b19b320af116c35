"""Reading game files from disk: the TOML file, the CSV tables it names, and the packaged games."""

from __future__ import annotations

from pathlib import Path

from bot.gamefiles.cast import Cast, Columned, casting
from bot.gamefiles.columns import CHARACTER
from bot.gamefiles.loading import GAME_FILE, loaded
from bot.gamefiles.refusals import is_plain, refusal
from bot.gamefiles.rules import parsed
from bot.gamefiles.sheets import MAX_BYTES, Sheet, read_rows
from bot.gamefiles.source import Source
from bot.gamefiles.writing import MOVES_FILE
from core.gamefile import GameFileError, Problem, nearest, one_of, shown, table_names
from core.model import Game

GAMES = Path(__file__).parents[1] / "games"


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
    return _cast(path)[1].game()


def read_source(path: Path) -> Source:
    """The source of a game file on disk. Raises GameFileError as `read_game` does, and where a cell cannot
    go into a spreadsheet."""
    return read_both(path)[0]


def read_both(path: Path) -> tuple[Source, Game]:
    """The source of a game file on disk, and its game. Raises as `read_source` does."""
    text, cast = _cast(path)
    return loaded(text, cast)


def _cast(path: Path) -> tuple[str, Cast]:
    """The rules' text, and whose moves the tables beside it hold: those that the rules name, and one for
    all that says itself whose each move is."""
    file = path / GAME_FILE if path.is_dir() else path
    text = _read_text(file, "save it as UTF-8")
    rules = parsed(file.name, text)
    sheets: list[Columned] = []
    problems: list[Problem] = []
    names = [name for name in table_names(rules) if is_plain(name)]
    for name in dict.fromkeys((*names, MOVES_FILE)):
        if not (file.parent / name).is_file():
            continue  # the loader says which tables are missing
        try:
            one = _read_table(file.parent / name)
        except GameFileError as error:
            problems.extend(error.problems if name in names else ())
            continue
        if name in names or CHARACTER in one.columns:
            sheets.append(one)
    if problems:
        raise GameFileError(tuple(problems))
    return text, casting(file.name, rules, sheets, lambda _: None)


def _read_toml(file: Path) -> dict[str, object]:
    return parsed(file.name, _read_text(file, "save it as UTF-8"))


def _read_table(file: Path) -> Columned:
    text = _read_text(file, "save it as CSV in UTF-8")
    line = text.split("\n", 1)[0]
    header, *rows = read_rows(file.name, text, ";" if line.count(";") > line.count(",") else ",")
    columns = tuple("_".join(cell.casefold().split()) or None for cell in header)
    return Columned(Sheet(file.name, 1, header, tuple(rows)), columns, checked=False)


def _read_text(file: Path, encoding_right: str) -> str:
    try:
        with file.open("rb") as opened:
            data = opened.read(MAX_BYTES + 1)
    except OSError as error:
        said = (error.strerror or "it failed").lower()
        raise refusal(
            file.name, "", f"cannot be read ({said})", "check its name and that you may read it"
        ) from None
    if len(data) > MAX_BYTES:
        raise refusal(file.name, "", f"has more than {MAX_BYTES:,} bytes", "keep a file under 2 MB")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        wrong = "holds a character that is not UTF-8"
        raise refusal(file.name, f"line {line}", wrong, encoding_right) from None
