"""Files that nobody honest sends, or that went wrong on the way: refused with what is wrong and what would be
right, and never more than that."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from filed import RULES, TALLOW, TALLOW_MOVES, WICK, WICK_MOVES, lanterns, read, spoiled, upload
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.gamefiles import MAX_BYTES, Upload, files_of, game_of, read_source, read_upload, template
from bot.gamefiles import reading as module
from bot.gamefiles.reading import MAX_FILES
from bot.gamefiles.sheets import MAX_COLUMNS, MAX_ROWS
from core.gamefile import GameFileError

SHEET = "wick.csv"


def lines(*files: tuple[str, str | bytes], **options: object) -> list[str]:
    """What is wrong with the files; nothing of them is used."""
    reading = read(*files, **options)
    assert reading.source is reading.game is None
    assert all(problem.wrong and problem.right for problem in reading.problems)
    return list(map(str, reading.problems))


def of_sheet(text: str | bytes) -> list[str]:
    """What is wrong with a sheet of Wick's moves."""
    return lines(("game.toml", RULES + WICK), (SHEET, text))


def of_rules(text: str) -> list[str]:
    """What is wrong with rules that come with a right sheet."""
    return lines(("game.toml", text), (SHEET, WICK_MOVES))


# How much.


def test_a_file_above_the_limit_is_refused() -> None:
    (line,) = of_sheet(b"a" * (MAX_BYTES + 1))
    assert line == "wick.csv: has more than 2,000,000 bytes; keep a file under 2 MB"
    (line,) = of_rules(RULES + WICK + "#" * MAX_BYTES)
    assert line == "game.toml: has more than 2,000,000 bytes; keep a file under 2 MB"


def test_no_file_and_too_many_files_are_refused() -> None:
    (line,) = lines()
    assert line == "the files: are none; send a game.toml, tables of moves, or both: at most 5"
    (line,) = lines(*((f"{number}.csv", WICK_MOVES) for number in range(MAX_FILES + 1)))
    assert line == "the files: are 6 at once; send a game.toml, tables of moves, or both: at most 5"


def test_more_rows_or_columns_than_a_sheet_may_have_are_refused() -> None:
    (line,) = of_sheet("input,name\n" + "5LP,a\n" * MAX_ROWS)
    assert line == "wick.csv: has 20,001 rows; keep at most 20,000"
    (line,) = of_sheet("input,name\n5LP,a\n5MP,b" + ",c" * MAX_COLUMNS)
    assert line == "wick.csv, row 3: has 102 cells; keep at most 100 columns"
    assert read(("game.toml", RULES + WICK), (SHEET, WICK_MOVES + "\n" * MAX_ROWS)).problems == ()
    blanks = "\n".join(line + "," * 150 for line in WICK_MOVES.splitlines())
    assert read(("game.toml", RULES + WICK), (SHEET, blanks)).problems == ()


def test_more_characters_than_a_game_may_have_are_refused() -> None:
    people = "".join(f"{chr(97 + number // 26)}{chr(97 + number % 26)}x,5LP,a\n" for number in range(60))
    (line,) = lines(("game.toml", RULES), ("all.csv", "character,input,name\n" + people))
    assert line == "all.csv: brings too many characters; keep at most 50 characters"


def test_more_names_than_can_be_looked_through_in_time_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    letters = len("tap") + len("swing")
    monkeypatch.setattr(module, "MAX_LETTERS", letters)
    files = (("game.toml", RULES + WICK), (SHEET, WICK_MOVES))
    assert read(*files).problems == ()
    monkeypatch.setattr(module, "MAX_LETTERS", letters - 1)
    (line,) = lines(*files)
    assert line == "the files: have names and aliases of moves of 8 letters in all; keep at most 7"


# What is no text, or no game file.


@pytest.mark.parametrize(
    "data", [b"\0", b"PK\x03\x04\x14\0", b"\x89PNG\r\n\x1a\n", b"\xff\xfea", b"a\x01b", b"\x81\x8d"]
)
def test_what_is_no_text_is_refused(data: bytes) -> None:
    (line,) = of_sheet(b"input,name\n" + data if not data.startswith(b"\xff") else data)
    assert "holds what is no text; save a sheet as CSV in UTF-8, the rules as TOML" in line


def test_an_empty_file_is_refused() -> None:
    for text in ("", "\n\n", ",,\n,,\n", "\ufeff"):
        assert of_sheet(text) == ["wick.csv: is empty; write a header and one row for each move"]
    assert of_rules("")


@pytest.mark.parametrize(
    "name", ["wick.xlsx", "wick.csv.exe", "wick", "game.json", ".toml/", "game.toml\n.sh"]
)
def test_files_with_another_ending_are_refused(name: str) -> None:
    (line,) = lines((name, WICK_MOVES), base=lanterns())
    assert "is no file that can be read here" in line or "is no plain name of a file" in line


@pytest.mark.parametrize(
    "name", ["../wick.csv", "/etc/wick.csv", "a\\wick.csv", "C:wick.csv", "x" * 300 + ".csv"]
)
def test_files_whose_name_is_a_path_are_refused(name: str) -> None:
    (line,) = lines((name, WICK_MOVES), base=lanterns())
    assert "is no plain name of a file; rename it" in line


def test_the_same_file_twice_and_two_files_of_rules_are_refused() -> None:
    assert lines((SHEET, WICK_MOVES), ("WICK.csv", WICK_MOVES), base=lanterns()) == [
        "WICK.csv: was sent twice; send each file once"
    ]
    assert lines(("a.toml", RULES), ("b.toml", RULES)) == [
        "b.toml: is a second file of rules; send one game at a time"
    ]


# Rules.


@pytest.mark.parametrize(
    "name", ["../wick.csv", "/etc/passwd", "sub/wick.csv", "..", "c:\\\\wick.csv", "wick\\u0000.csv"]
)
def test_a_path_in_moves_is_refused(name: str) -> None:
    (line,) = of_rules(RULES + WICK.replace(SHEET, name))
    assert line.startswith("game.toml, [[character]] of Wick, moves: ")
    assert (
        'is no plain name of a file; write the name of a file beside the rules, such as "odrun.csv"' in line
    )


@pytest.mark.parametrize(
    "nested",
    [
        "a = " + "[" * 100_000,
        "a = " + "{ a = " * 100_000,
        "a" + ".a" * 100_000 + " = 1",
        '"a"' + " . 'a'" * 100_000 + " = 1",
        "[a" + ".a" * 100_000 + "]",
    ],
)
def test_toml_nested_without_end_is_refused(nested: str) -> None:
    (line,) = of_rules("\n" + nested)
    assert "has lists or tables nested too deep; keep to the keys of the guide" in line


def test_numbers_without_end_are_refused() -> None:
    (line,) = of_rules(RULES.replace("60", "9" * 5_000) + WICK)
    assert line == "game.toml: is not proper TOML (a number is too long); correct it there or just before"
    for number in ("0x" + "f" * 5_000, "1e999", "inf", "nan"):
        assert any(
            line.startswith("game.toml, fps: ") for line in of_rules(RULES.replace("60", number) + WICK)
        )
    (line,) = of_sheet("input,name,startup\n5LP,tap," + "9" * 5_000 + "\n")
    assert line.startswith("wick.csv, row 2 (5LP), startup: ")
    assert len(line) < 200


# Cells that a spreadsheet may take for formulas: such that begin with =, +, -, @ or a tab
# (OWASP ASVS, requirement 1.2.10), or with a carriage return (common practice, no source).


@pytest.mark.parametrize(
    "cell",
    ["=1+1", "=HYPERLINK(1)", "@x", "+cmd", "-2+3", "-x", " =1", '"\t5"', '"\r5"', "+1+1", "-1|x", "--1"],
)
def test_formula_cells_are_refused(cell: str) -> None:
    (line,) = of_sheet(f"input,name,On hit\n5LP,tap,{cell}\n")
    assert line.startswith("wick.csv, row 2, On hit: ")
    assert line.endswith("begins as a formula does; write a number alone, or begin with another character")
    assert any("begins as a formula does" in line for line in of_sheet(f"input,name\n5LP,{cell}\n"))
    lines_of_all = lines(("all.csv", f"character,input,name\n{cell},5LP,tap\n"), base=lanterns())
    assert any("begins as a formula does" in line for line in lines_of_all)


@pytest.mark.parametrize("cell", ["+4", "-2", "-2..3", "-2 .. +3", "-", "–", "+1", "0"])
def test_numbers_with_their_sign_are_no_formulas(cell: str) -> None:
    assert read(("game.toml", RULES + WICK), (SHEET, f"input,name,on_hit\n5LP,tap,{cell}\n")).problems == ()


def test_names_in_the_rules_that_would_be_formulas_in_a_sheet_are_refused() -> None:
    (line,) = of_rules(RULES + WICK.replace('"Wick"', '"=Wick"'))
    assert line.startswith('game.toml, [[character]] of =Wick, name: "=Wick" begins as a formula does')
    move = '\n[[character.move]]\ninput = "5LP"\nname = "@tap"\n'
    (line,) = lines(("game.toml", RULES + '[[character]]\nname = "Wick"\n' + move))
    assert line == (
        'wick.csv, the row of 5LP, name: "@tap" begins as a formula does; write a number alone, or begin '
        "with another character"
    )


def test_a_game_on_disk_with_such_a_cell_has_no_source(tmp_path: Path) -> None:
    (tmp_path / "game.toml").write_text(RULES + WICK, "utf-8")
    (tmp_path / SHEET).write_text("input,name\n5LP,=tap\n", "utf-8")
    with pytest.raises(GameFileError, match="begins as a formula does"):
        read_source(tmp_path)


def test_what_is_told_of_a_file_stays_on_one_line() -> None:
    for line in of_sheet('input,name,"sta\nrtup"\n5LP,"ta\np",x\n'):
        assert "\n" not in line
    reading = read(("game.toml", RULES + WICK), (SHEET, 'input,name,"no\u202ete"\n5LP,tap,x\n'))
    assert [guess.header for guess in reading.columns] == ["input", "name", "no\\u202ete"]


# Whatever comes.


@settings(max_examples=75)
@given(st.integers(0, 10**9), st.booleans())
def test_spoiled_files_are_read_or_refused_and_never_more(seed: int, with_base: bool) -> None:
    chance, base = random.Random(seed), lanterns()
    inline = Path(__file__).parents[1] / "data" / "games" / "tinwhistle_inline.toml"
    whole = [
        [
            upload("game.toml", RULES + WICK + TALLOW),
            upload(SHEET, WICK_MOVES),
            upload("tallow.csv", TALLOW_MOVES),
        ],
        list(files_of(base)),
        list(template()[:2]),
        [Upload("game.toml", inline.read_bytes())],
    ]
    for files in whole:
        reading = read_upload(spoiled(chance, files), base if with_base else None)
        assert (reading.game is None) == (reading.source is None) == bool(reading.problems)
        if reading.source is not None:
            assert game_of(reading.source) == reading.game
            assert read_upload(files_of(reading.source)).game == reading.game


@given(st.binary(max_size=300), st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(rules: bytes, sheet: bytes) -> None:
    reading = read(("game.toml", rules), ("all.csv", sheet))
    assert (reading.game is None) == (reading.source is None) == bool(reading.problems)
    read(("all.csv", sheet), base=lanterns())
