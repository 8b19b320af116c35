"""`cornerman route inputs` and `cornerman route rhythm` as a shell sees them."""

from __future__ import annotations

import argparse
import json
import os
import sys
import wave
from pathlib import Path

import pytest
import shell

from bot.render.play_values import INPUT_KEYS, RHYTHM_KEYS
from bot.terminal.common import UsageError
from bot.terminal.playing import add_playing, write_whole
from core.rhythm import LONGEST_SECONDS, SAMPLE_RATE

ROUTE = "Odrun: 5MP, 2MP xx 236HP"
PNG = b"\x89PNG\r\n\x1a\n"


pytestmark = pytest.mark.usefixtures("own_folder")


def run(capsys: pytest.CaptureFixture[str], *argv: str) -> tuple[int, str, str]:
    return shell.run(capsys, "route", *argv)


def test_inputs_are_printed_for_the_side_that_is_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "inputs", ROUTE)
    assert (code, err) == (0, "")
    assert out.startswith("Enter 5MP, 2MP, 6HP: 2 directions in all")
    assert "Arrows, facing right: • MP, ↓ MP, → HP" in out
    assert "facing left: • MP, ↓ MP, ← HP" in run(capsys, "inputs", ROUTE, "--side", "left")[1]


def test_the_character_and_the_controls_may_be_options(capsys: pytest.CaptureFixture[str]) -> None:
    options = ("--character", "odrun", "--controls", "simple")
    code, out, _ = run(capsys, "inputs", "5MP, 2MP xx 4MP", *options)
    assert code == 0
    assert "with one-button controls a special is one button" in out


def test_the_rhythm_is_printed_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "rhythm", ROUTE)
    assert (code, err) == (0, "")
    assert "2MP: press about 30 frames (500 ms) after 5MP; 28 to 32 are accepted; a link" in out
    assert "Odrun Vale in Saltglass, version 1.2" in out


def test_json_has_the_keys_that_the_help_names(capsys: pytest.CaptureFixture[str]) -> None:
    for command, keys in (("inputs", INPUT_KEYS), ("rhythm", RHYTHM_KEYS)):
        code, out, _ = run(capsys, command, ROUTE, "--json")
        told = json.loads(out)
        assert code == 0
        assert set(told) == {name for names in keys for name in names.split(", ")}
        code, out, _ = run(capsys, command, "Odrun: 5LP, 5MP", "--json")
        refused = json.loads(out)
        assert code == 1
        assert refused["works"] is False
        assert refused["reasons"][0]["code"] == "link-too-late"
        assert set(refused) <= set(told)


def test_json_of_the_presses_is_what_the_words_say(capsys: pytest.CaptureFixture[str]) -> None:
    told = json.loads(run(capsys, "rhythm", ROUTE, "--json")[1])
    assert [(press["move"], press["means"], press["frame"]) for press in told["presses"]] == [
        ("5MP", None, 0),
        ("2MP", "link", 30),
        ("236HP", "cancel", 41),
    ]
    entered = json.loads(run(capsys, "inputs", ROUTE, "--json", "--side", "left")[1])
    assert (entered["directions"], entered["saved"], entered["side"]) == (2, 1, "left")
    assert [press["directions"] for press in entered["presses"]] == [[], [2], [4]]
    assert [press["frame"] for press in entered["presses"]] == [0, 30, 41]
    assert entered["presses"][2]["shared"] == [2]


def test_a_picture_and_a_click_track_are_written(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(
        capsys, "rhythm", ROUTE, "--sheet", "a.png", "--clicks", "a.wav", "--speed", "50", "--loops", "2"
    )
    assert (code, err) == (0, "")
    assert "The picture is in a.png." in out
    assert "at 50 % speed, twice" in out
    assert "only if the game runs slowly too" in out
    assert Path("a.png").read_bytes().startswith(PNG)
    with wave.open("a.wav") as sound:
        assert (sound.getnchannels(), sound.getframerate(), sound.getsampwidth()) == (2, SAMPLE_RATE, 2)
        assert sound.getnframes() % 2 == 0
        assert 0 < sound.getnframes() <= LONGEST_SECONDS * SAMPLE_RATE
    assert sorted(os.listdir()) == ["a.png", "a.wav"]


@pytest.mark.parametrize("option", ["--sheet", "--clicks"])
@pytest.mark.parametrize(("file", "said"), [(".", "is a folder"), ("nowhere/a", "cannot be written")])
def test_what_cannot_be_written_is_one_sentence(
    option: str, file: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, "rhythm", ROUTE, option, file)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1
    assert os.listdir() == []


def test_a_file_is_written_whole_or_left_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "kept.wav"
    file.write_bytes(b"before")

    def full(self: Path, _: bytes) -> int:
        with self.open("wb") as part:
            part.write(b"half")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(UsageError, match="No space left"):
        write_whole(file, b"after")
    assert file.read_bytes() == b"before"
    assert os.listdir(tmp_path) == ["kept.wav"]


@pytest.mark.parametrize(
    "argv",
    [
        ("rhythm", ROUTE, "--speed", "10"),
        ("rhythm", ROUTE, "--speed", "fast"),
        ("rhythm", ROUTE, "--loops", "0"),
        ("inputs", ROUTE, "--side", "up"),
        ("inputs", "Odrun: 5MP, 9QQ"),
        ("inputs", ROUTE, "--character", "Nobody"),
        ("rhythm", ""),
    ],
)
def test_bad_input_is_bad_usage(argv: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, *argv)
    assert (code, out) == (2, "")
    assert err
    assert "Traceback" not in err


@pytest.mark.parametrize("command", ["inputs", "rhythm"])
def test_a_route_that_does_not_work_exits_with_1_and_the_reason(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, command, "Odrun: 5LP, 5MP xx 236HP")
    assert (code, err) == (1, "")
    assert "5MP does not follow 5LP" in out
    assert "1 frame too slow" in out


def test_a_route_of_which_nothing_can_be_told_has_inputs_but_no_rhythm(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(capsys, "inputs", "Odrun: j.HP, 5MP")[0] == 0
    code, out, _ = run(capsys, "rhythm", "Odrun: j.HP, 5MP", "--sheet", "a.png")
    assert code == 1
    assert "How high j.HP touches decides it" in out
    assert os.listdir() == []


def test_the_help_names_every_key(capsys: pytest.CaptureFixture[str]) -> None:
    parser = argparse.ArgumentParser()
    add_playing(parser.add_subparsers(), argparse.ArgumentParser(add_help=False))
    for command, keys in (("inputs", INPUT_KEYS), ("rhythm", RHYTHM_KEYS)):
        with pytest.raises(SystemExit):
            parser.parse_args([command, "--help"])
        out = capsys.readouterr().out
        assert all(f"  {name}: " in out for name in keys)


def test_words_alone_need_no_matplotlib(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "bot.render.pictures.rhythm", None)
    assert run(capsys, "rhythm", ROUTE)[0] == 0
