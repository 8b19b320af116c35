"""What the README tells a newcomer is true."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from bot.__main__ import main
from bot.gamefiles import read_game
from bot.room.community import read_community
from core.gamefile import schema

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")


@pytest.fixture
def lanterns(tmp_path: Path) -> Path:
    """The small game of the guide, copied from the README as its reader would."""
    folder = tmp_path / "lanterns"
    folder.mkdir()
    for name, text in re.findall(r"`lanterns/([\w.]+)`\n\n```\w+\n(.*?)```", README, re.DOTALL):
        (folder / name).write_text(text, "utf-8")
    return folder


def test_the_readme_opens_with_the_job_in_one_paragraph() -> None:
    title, paragraph = README.split("\n\n")[:2]
    assert title == "# Cornerman"
    assert len(paragraph) > 300


def test_the_guide_s_game_file_has_no_problems(lanterns: Path) -> None:
    assert [move.input for move in read_game(lanterns).characters[0].moves] == ["5LP", "2LP", "5MP", "236LP"]


@pytest.mark.parametrize(
    ("question", "code", "words"),
    [
        ("does 5MP link into 2LP?", 0, "window of 1 frame"),  # +5 against 5 frames
        ("does 5LP link into 2LP?", 0, "No"),  # +4 against 5 frames
        ("does 5LP link into 2LP on counter hit?", 0, "window of 2 frames"),
        ("can I cancel 5MP into 236LP on hit?", 0, "combos"),  # 5 + 2 + 12 frames against 14
        ("can I cancel 2LP into 236LP?", 0, "No"),
        ("what punishes Wick's 236LP as Wick?", 0, "5LP"),
    ],
)
def test_a_coach_s_own_game_from_the_guide_gets_right_answers(
    lanterns: Path, capsys: pytest.CaptureFixture[str], question: str, code: int, words: str
) -> None:
    assert main(["ask", question, "--game", str(lanterns)]) == code
    assert words in capsys.readouterr().out


def test_each_question_of_the_readme_is_answered(capsys: pytest.CaptureFixture[str]) -> None:
    table = re.search(r"\| to find out \| ask \|\n\|---\|---\|\n(.*?)\n\n", README, re.DOTALL)
    assert table is not None
    questions = [question for question in re.findall(r"`([^`]+)`", table[1]) if "..." not in question]
    assert len(questions) > 12
    for question in questions:
        assert main(["ask", question, "--game", "saltglass", "--character", "odrun"]) == 0, question
    capsys.readouterr()


def test_every_command_is_in_the_readme_and_no_other() -> None:
    table = README.split("| command | what it does |")[1].split("\n\n")[0]
    commands = tomllib.loads((ROOT / "bot" / "services" / "access.toml").read_text("utf-8"))["command"]
    assert sorted(re.findall(r"`/([\w ]+)`", table)) == sorted(commands)


def test_the_room_has_whom_the_readme_speaks_of() -> None:
    section = README.split("## The room")[1].split("\n## ")[0]
    spoken_of = re.findall(r"\*\*(\w+)\*\* \((.*?)\)", section)
    members = {(who.name, (who.role or "Member").lower()) for who in read_community().servers[0].members}
    assert {(name, role) for role, names in spoken_of for name in names.split(", ")} == members
    assert {"welcome", "windsock"} <= set(read_community().channel_names)


def test_the_first_command_opens_the_room_and_has_all_that_it_needs() -> None:
    first = next(line.strip() for line in README.splitlines() if line.startswith("    "))
    assert first.endswith(".venv/bin/cornerman room")
    assert "'.[room]'" in first


def test_every_column_the_loader_knows_is_in_the_guide() -> None:
    columns = set(re.findall(r"[a-z_]+", README.split("**The moves' columns.**")[1]))
    assert set(schema.COLUMNS) <= columns


def test_ci_runs_the_command_that_the_readme_gives() -> None:
    lines = [line.strip() for line in README.splitlines() if "/pytest" in line]
    assert len(lines) == 1
    assert "/pytest" in (ROOT / ".ci" / "run").read_text("utf-8")
