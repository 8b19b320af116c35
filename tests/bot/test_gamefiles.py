"""Reading game files from disk: encodings, delimiters, files that cannot be read, packaged games."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from filed import lanterns

from bot.gamefiles import (
    MAX_BYTES,
    GameNotFoundError,
    files_of,
    find_game,
    game_of,
    packaged_games,
    read_game,
)
from core.gamefile import GameFileError

GAMES = Path(__file__).parents[1] / "data" / "games"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the invented game that a test may spoil."""
    return Path(shutil.copytree(GAMES / "tinwhistle", tmp_path / "tinwhistle"))


def line_of(path: Path) -> str:
    with pytest.raises(GameFileError) as raised:
        read_game(path)
    (problem,) = raised.value.problems
    return str(problem)


def test_a_folder_its_file_and_a_single_file_with_everything_read_the_same() -> None:
    game = read_game(GAMES / "tinwhistle")
    assert read_game(GAMES / "tinwhistle" / "game.toml") == game
    assert read_game(GAMES / "tinwhistle_inline.toml") == game


def test_a_byte_order_mark_and_a_spreadsheets_line_ends_change_nothing(folder: Path) -> None:
    game = read_game(folder)
    for path in folder.iterdir():
        path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert read_game(folder) == game


def test_semicolons_between_cells_are_told_by_the_header(folder: Path) -> None:
    game = read_game(folder)
    (folder / "moth.csv").write_text(
        "input,name,startup,active,recovery,on_hit,reach,tags\n"
        "2HA,low wing,7,4,12,2,1.25,cancellable; anti-air\nLA+SB,grip,5,2,25,KD 20,,\n",
        "utf-8",
    )
    assert read_game(folder) == game


def test_a_line_break_inside_a_quoted_cell_keeps_the_rows_of_the_sheet(folder: Path) -> None:
    (folder / "moth.csv").write_text('input,name,startup\n2HA,"low\nwing",7\nLA+SB,grip,x\n', "utf-8")
    with pytest.raises(GameFileError) as raised:
        read_game(folder)
    assert [problem.row for problem in raised.value.problems if problem.file == "moth.csv"] == [
        "row 2 (2HA)",
        "row 3 (LA+SB)",
    ]


def test_bad_toml_is_told_with_its_line(folder: Path) -> None:
    (folder / "game.toml").write_text('name = "T"\nversion = \n', "utf-8")
    assert line_of(folder).startswith("game.toml, line 2: is not proper TOML (")
    (folder / "game.toml").write_text('name = "T"\nbuttons = {', "utf-8")
    assert "is not proper TOML" in line_of(folder)


def test_toml_nested_without_end_is_told(folder: Path) -> None:
    (folder / "game.toml").write_text("a = " + "[" * 100_000, "utf-8")
    assert line_of(folder).startswith("game.toml: has lists or tables nested too deep")


def test_a_bad_encoding_is_told_with_its_line(folder: Path) -> None:
    (folder / "moth.csv").write_bytes("input,name\n5LA,café\n".encode("latin-1"))
    assert line_of(folder) == (
        "moth.csv, line 2: holds a character that is not UTF-8; save it as CSV in UTF-8"
    )


def test_an_open_quote_is_told_with_its_row(folder: Path) -> None:
    (folder / "moth.csv").write_text('input,name\n2HA,low wing\n5HA,"open\n', "utf-8")
    assert line_of(folder).startswith("moth.csv, row 3: is not proper CSV")


def test_an_empty_table_is_told(folder: Path) -> None:
    (folder / "moth.csv").write_text("", "utf-8")
    assert line_of(folder) == "moth.csv: is empty; write a header and one row for each move"


def test_all_tables_that_cannot_be_read_are_told_at_once(folder: Path) -> None:
    for name in ("moth.csv", "wren.csv"):
        (folder / name).write_bytes(b"\xff")
    with pytest.raises(GameFileError) as raised:
        read_game(folder)
    assert {problem.file for problem in raised.value.problems} == {"moth.csv", "wren.csv"}


def test_a_file_above_the_limit_is_refused_unread(folder: Path) -> None:
    (folder / "moth.csv").write_bytes(b"x" * (MAX_BYTES + 1))
    assert line_of(folder) == "moth.csv: has more than 2,000,000 bytes; keep a file under 2 MB"


def test_a_missing_file_and_a_missing_table_are_told(folder: Path, tmp_path: Path) -> None:
    assert line_of(tmp_path / "none.toml").startswith("none.toml: cannot be read (no such file")
    (folder / "moth.csv").unlink()
    with pytest.raises(GameFileError, match="is no table beside") as raised:
        read_game(folder)
    assert '"moth.csv" is no table beside game.toml' in str(raised.value)


def test_a_table_outside_the_games_folder_is_never_read(folder: Path) -> None:
    (folder / "moth.csv").rename(folder.parent / "moth.csv")
    text = (folder / "game.toml").read_text("utf-8")
    for name in ("../moth.csv", str(folder.parent / "moth.csv")):
        (folder / "game.toml").write_text(text.replace("moth.csv", name), "utf-8")
        with pytest.raises(GameFileError, match="is no table beside"):
            read_game(folder)


def test_every_packaged_game_is_found_by_name_and_by_folder_and_loads() -> None:
    known = packaged_games()
    assert known
    for name, file in known.items():
        assert find_game(name.upper()) == find_game(file.parent.name) == file
        assert read_game(file).name == name


def test_a_game_is_found_by_its_path() -> None:
    file = GAMES / "tinwhistle" / "game.toml"
    assert find_game(str(file)) == find_game(str(file.parent)) == file


def test_an_unknown_game_is_refused_with_the_nearest_name() -> None:
    name = next(iter(packaged_games()))
    with pytest.raises(GameNotFoundError, match=f"the nearest is {name}"):
        find_game(name[:-1])
    for odd in ("", "\0", "x" * 5000, "no such thing at all"):
        with pytest.raises(GameNotFoundError, match="is no game file"):
            find_game(odd)


def test_one_sheet_beside_the_rules_on_disk_may_hold_all_characters(tmp_path: Path) -> None:
    for file in files_of(lanterns()):
        (tmp_path / file.name).write_bytes(file.data)
    assert read_game(tmp_path) == game_of(lanterns())
    sheet = (tmp_path / "moves.csv").read_text("utf-8-sig").replace("nudge", "").replace(",5,", ",x,")
    (tmp_path / "moves.csv").write_text(sheet, "utf-8")
    with pytest.raises(GameFileError) as raised:
        read_game(tmp_path)
    assert [str(problem).split(":")[0] for problem in raised.value.problems] == [
        "moves.csv, row 4 (5LP), name",
        "moves.csv, row 4 (5LP), startup",
    ]
