"""The command line as a shell sees it: what it prints, and its exit codes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from shell import run

from bot.config import ConfigError, Settings, read_settings
from bot.render.values import KEYS

ROOT = Path(__file__).parents[2]
TRADE = str(ROOT / "tests" / "data" / "games" / "trade")
EXAMPLE = ROOT / "config.example.toml"


pytestmark = pytest.mark.usefixtures("own_folder")


def test_an_answered_question_exits_with_0(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "ask", "does 5MP link into 2MP", "--game", TRADE, "--character", "First")
    assert (code, err) == (0, "")
    assert out.startswith("Yes, 5MP links into 2MP on hit, with a window of 1 frame.")


def test_a_no_is_an_answer_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "ask", "does 5MP link into 5MP", "--game", TRADE, "--character", "First")[0] == 0


@pytest.mark.parametrize("question", ["what is for dinner", "does 5MP link into 5QQ", "5MP 2MP", ""])
def test_a_question_without_an_answer_exits_with_1(question: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "ask", question, "--game", TRADE)
    assert (code, err) == (1, "")
    assert "Trade rules, version 1" in out


def test_an_unknown_answer_exits_with_1(capsys: pytest.CaptureFixture[str]) -> None:
    question = "does First's 5MP link into 2MP from 2 units away"
    code, out, _ = run(capsys, "ask", question, "--game", TRADE)
    assert code == 1
    assert out.startswith("I cannot say whether 5MP links into 2MP")
    assert "does not give the reach of 2MP" in out


@pytest.mark.parametrize(
    "argv",
    [
        (),
        ("ask",),
        ("dance",),
        ("ask", "2MP", "--game", "no such game"),
        ("ask", "2MP", "--game", TRADE, "--character", "Bob"),
        ("ask", "2MP", "--game", TRADE, "--character", "First", "--controls", "nonsense"),
        ("ask", "2MP", "--config", "missing.toml"),
        ("game", "check", "missing.toml"),
    ],
)
def test_bad_usage_exits_with_2_and_says_what_is_wrong(
    argv: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, *argv)
    assert code == 2
    assert out or err
    assert "Traceback" not in err


def test_the_json_has_its_documented_keys(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(
        capsys, "ask", "does 5MP link into 2MP", "--game", TRADE, "--character", "First", "--json"
    )
    told = json.loads(out)
    assert code == 0
    assert set(told) == {key for keys in KEYS for key in keys.split(", ")}
    assert (told["kind"], told["answer"], told["character"]) == ("link", "yes", "First")
    assert told["numbers"]["link_window_frames"] == 1
    assert told["numbers"]["link_accepted_presses_frames"] == 5
    assert told["reasons"][0]["code"] == "link-in-time"
    assert [move["move"] for move in told["moves"]] == ["5MP", "2MP"]


def test_the_json_of_a_refusal_has_the_same_keys(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "ask", "2MP", "--game", TRADE, "--json")
    told = json.loads(out)
    assert code == 1
    assert set(told) == {key for keys in KEYS for key in keys.split(", ")}
    assert (told["kind"], told["answer"]) == ("ambiguous", None)
    assert [move["character"] for move in told["moves"]] == ["First", "Second"]


def test_the_help_documents_every_key_and_exit_code(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "ask", "--help")
    assert code == 0
    for key in KEYS:
        assert f"  {key}: " in out
    assert "exit code: 0 answered; 1 not understood" in out


def test_a_good_game_file_is_summed_up(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "game", "check", TRADE)
    assert code == 0
    assert "First: 13 moves" in out


def test_every_problem_of_a_game_file_is_a_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text('name = "Bad"\nversion = "1"\nfps = -1\nstrengths = ["a", "a"]\n', "utf-8")
    code, _, err = run(capsys, "game", "check", str(bad))
    assert code == 2
    assert len(err.splitlines()) >= 2
    assert all(line.startswith("bad.toml") for line in err.splitlines())


def test_the_packaged_games_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "game", "list")
    assert code == 0
    assert "Saltglass: " in out


def test_a_game_of_the_server_s_own_folder_is_found_by_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CORNERMAN_GAMES_FOLDER", str(ROOT / "tests" / "data" / "games"))
    assert run(capsys, "ask", "is 2HK safe", "--game", "TRADE")[0] == 0
    monkeypatch.setenv("CORNERMAN_GAMES_FOLDER", str(tmp_path / "nothing"))
    assert run(capsys, "ask", "is 2HK safe", "--game", "TRADE")[0] == 2


def test_defaults_come_from_the_config_file_and_the_environment_wins(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    config = tmp_path / "other.toml"
    config.write_text(f'default_game = "{TRADE}"\ndefault_character = "Second"\n', "utf-8")
    assert "Second" in run(capsys, "ask", "2MP", "--config", str(config))[1]
    monkeypatch.setenv("CORNERMAN_DEFAULT_CHARACTER", "First")
    assert "First" in run(capsys, "ask", "2MP", "--config", str(config))[1]


def test_the_example_config_has_every_setting_with_its_default() -> None:
    given = tomllib.loads(EXAMPLE.read_text("utf-8"))
    assert set(given) == set(Settings.model_fields)
    assert read_settings(EXAMPLE) == Settings().model_copy(update={"database": ROOT / "cornerman.db"})


@pytest.mark.parametrize(("said", "lies"), [("logs/a.db", "here/logs/a.db"), ("/var/a.db", "/var/a.db")])
def test_the_database_lies_beside_the_config_file_unless_its_path_is_absolute(
    said: str, lies: str, tmp_path: Path
) -> None:
    file = tmp_path / "here" / "config.toml"
    file.parent.mkdir()
    file.write_text(f'database = "{said}"', "utf-8")
    assert read_settings(file).database == tmp_path / lies


@pytest.mark.parametrize("content", ["default_gam = 'x'", "default_game = 3", "default_game ="])
def test_a_wrong_config_file_is_one_sentence(content: str, tmp_path: Path) -> None:
    file = tmp_path / "config.toml"
    file.write_text(content, "utf-8")
    with pytest.raises(ConfigError) as wrong:
        read_settings(file)
    assert "\n" not in str(wrong.value)


def test_an_interrupt_ends_quietly(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(_: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("bot.__main__._run", interrupted)
    assert run(capsys, "game", "list") == (130, "", "")


def test_the_module_runs_as_a_program_and_takes_a_closed_pipe() -> None:
    command = [sys.executable, "-m", "bot", "ask", "is 2HK safe", "--game", TRADE]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, timeout=60, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.startswith(b"2HK is unsafe on block")
    reader, writer = os.pipe()
    os.close(reader)
    closed = subprocess.run(
        command, cwd=ROOT, env=environment, stdout=writer, stderr=subprocess.PIPE, timeout=60, check=False
    )
    os.close(writer)
    assert closed.stderr == b""
