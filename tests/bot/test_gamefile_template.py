"""The game to begin with, its guide, and the commands that look after game files."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from filed import RULES, WICK, lanterns, upload
from shell import run

from bot.gamefiles import MOVES_FILE, files_of, game_of, read_game, read_upload, template
from bot.gamefiles.template import GUIDE_FILE, guide
from core.cancels import cancel
from core.gamefile.schema import COLUMNS
from core.model import Contact
from core.verdict import Answer

ROOT = Path(__file__).parents[2]


def rows(text: str) -> list[tuple[str, str]]:
    """The rows of the Markdown table of columns in a text."""
    table = text.split("|---|---|\n")[-1].split("\n\n")[0]
    found = [re.fullmatch(r"\| (.*?) \| (.*) \|", line) for line in table.strip().splitlines()]
    return [(row[1], row[2]) for row in found if row is not None]


def test_the_template_is_a_game_without_problems() -> None:
    reading = read_upload(template()[:2])
    assert reading.problems == ()
    sheet = template()[1].data
    assert sheet.startswith(b"\xef\xbb\xbf")
    assert sheet.count(b"\n") == sheet.count(b"\r\n") == 4
    assert all(guess.sure and guess.column for guess in reading.columns)
    assert reading.game is not None
    (wick,) = reading.game.characters
    assert len(wick.moves) == 3
    assert wick.jump is not None
    first, second = wick.moves[0], wick.moves[2]
    assert cancel(reading.game, wick, first, second, Contact()).legal.answer is Answer.YES


def test_every_key_that_the_template_only_mentions_is_right_once_it_is_taken_in() -> None:
    rules, moves = (file.data.decode("utf-8-sig") for file in template()[:2])
    names = "startup_counts|advantage_counts|[a-z_]+ = |\\[\\["
    whole = re.sub(rf"^# (?={names}|\[scaling)", "", rules, flags=re.MULTILINE)
    assert whole.count("\n[[") == rules.count("\n[[") + 2
    files = upload("game.toml", whole), upload("moves.csv", moves)
    problems = [problem for problem in read_upload(files).problems if "hitstop out" not in problem.wrong]
    assert problems == []


def test_the_guide_has_every_column_and_the_rows_of_the_readme() -> None:
    told = rows(guide())
    spoken_of = set(re.findall(r"[a-z_]+", " ".join(f"{columns} {what}" for columns, what in told)))
    assert set(COLUMNS) | {"character"} <= spoken_of
    readme = (ROOT / "README.md").read_text("utf-8").split("**The moves' columns.**")[1]
    table = readme.split("|---|---|\n")[1].split("\n\n")[0]
    assert [row for row in told if row[0] != "character"] == [
        row for row in rows("|---|---|\n" + table) if row[0] != "character"
    ]


def test_the_template_is_written_and_never_over_anything(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "deep" / "mine"
    code, out, _ = run(capsys, "game", "template", str(folder))
    assert (code, f"cornerman game check {folder}" in out) == (0, True)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == {
        file.name: file.data for file in template()
    }
    code, out, _ = run(capsys, "game", "check", str(folder))
    assert (code, "no problems" in out) == (0, True)
    (folder / "game.toml").unlink()
    (folder / MOVES_FILE).write_text("mine", "utf-8")
    code, out, err = run(capsys, "game", "template", str(folder))
    assert (code, out) == (2, "")
    assert err == f"{folder / MOVES_FILE} is there already; name another folder.\n"
    assert (folder / MOVES_FILE).read_text("utf-8") == "mine"
    assert not (folder / "game.toml").exists()
    assert (folder / GUIDE_FILE).exists()


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    code, _, err = run(capsys, "game", "template", str(tmp_path / "file" / "mine"))
    assert (code, err) == (2, f"{tmp_path / 'file' / 'mine'} cannot be written to: Not a directory.\n")


def test_sheets_from_elsewhere_are_imported(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rules, sheet, folder = tmp_path / "g.toml", tmp_path / "wick.csv", tmp_path / "mine"
    rules.write_text(RULES + WICK, "utf-8")
    sheet.write_text("Command;Move;Start-upp;Notes\n5LP;tap é;4;x\n", "cp1252")
    code, out, err = run(capsys, "game", "import", str(rules), str(sheet), "--into", str(folder))
    assert (code, err) == (0, "")
    assert out.splitlines()[:2] == [
        "wick.csv: the column “Start-upp” is taken for startup.",
        "wick.csv: the column “Notes” is left out.",
    ]
    assert read_game(folder).characters[0].moves[0].name == "tap é"
    code, _, err = run(capsys, "game", "import", str(rules), str(sheet), "--into", str(folder))
    assert (code, err) == (2, f"{folder / 'game.toml'} is there already; name another folder.\n")


def test_what_cannot_be_imported_is_told_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "wick.csv"
    sheet.write_text("input,name\n5LP,=1\n", "utf-8")
    code, out, err = run(capsys, "game", "import", str(sheet), "--into", str(tmp_path / "mine"))
    assert (code, err.startswith("wick.csv: comes without the rules"), out) == (2, True, "")
    assert not (tmp_path / "mine").exists()
    code, _, err = run(capsys, "game", "import", str(tmp_path / "none.csv"))
    assert (code, err) == (2, f"{tmp_path / 'none.csv'} cannot be read: No such file or directory.\n")


def test_what_is_handed_out_can_be_checked_as_a_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for file in files_of(lanterns()):
        (tmp_path / file.name).write_bytes(file.data)
    assert read_game(tmp_path) == game_of(lanterns())
    code, out, _ = run(capsys, "game", "check", str(tmp_path))
    assert (code, "Tallow Bray: 1 move" in out) == (0, True)
