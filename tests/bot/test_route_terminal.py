"""Routes on the command line: what is printed, and the exit codes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import shell

from bot.render.route_values import CHECK_KEYS, FIND_KEYS

BNB = "Odrun: 5MP, 2MP xx 236HP"
PNG = b"\x89PNG\r\n\x1a\n"


pytestmark = pytest.mark.usefixtures("own_folder")


def run(capsys: pytest.CaptureFixture[str], *argv: str) -> tuple[int, str, str]:
    return shell.run(capsys, "route", *argv)


def values(capsys: pytest.CaptureFixture[str], *argv: str) -> dict[str, Any]:
    _, out, err = run(capsys, *argv, "--json")
    assert err == ""
    told: dict[str, Any] = json.loads(out)
    return told


def names(keys: dict[str, str]) -> set[str]:
    return {key for several in keys for key in several.split(", ")}


def test_a_route_that_works_exits_with_0(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "check", BNB)
    assert (code, err) == (0, "")
    assert out.startswith("This works: 5MP, 2MP xx 236HP does 1,710 damage.")
    assert "/log" not in out


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (("Odrun: 5MP, 5HP",), "5HP starts 3 frames too late after 5MP"),
        ((BNB, "--distance", "9"), "does not touch from 9 steps away"),
        (("Odrun: 5HP xx 214KK", "--gauge", "none"), "214KK costs 40 salt, and there is"),
        ((BNB, "--airborne"), "does not work"),
    ],
)
def test_a_route_that_does_not_work_exits_with_1(
    argv: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, "check", *argv)
    assert (code, err) == (1, "")
    assert said in out


def test_the_options_say_whose_moves_they_are_and_how_they_hit(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "check", "5MP, 2MP", "--character", "mirrel")[1].endswith(
        "Mirrel Quay in Saltglass, version 1.2\n"
    )
    assert run(capsys, "check", "5MP, 5HP", "--character", "odrun", "--state", "off balance")[0] == 0
    code, out, _ = run(capsys, "check", "Ossily: 6H ~ 2X", "--game", "kitewind")
    assert code == 0
    assert "Kitewind" in out


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        ((), "required"),
        (("check",), "required"),
        (("dance", BNB), "invalid choice"),
        (("check", "5MP, 2MP"), "fits more than one character"),
        (("check", "Odrun: 5MP, 5QQ"), "is not understood"),
        (("check", "Odrin: 5MP, 2MP"), "Nearest: Odrun Vale"),
        (("check", BNB, "--character", "Bob"), "Bob"),
        (("check", BNB, "--controls", "nonsense"), "nonsense"),
        (("check", BNB, "--state", "on fire"), "no hit state of this game"),
        (("check", BNB, "--gauge", "lots"), "no amount of a gauge"),
        (("check", BNB, "--distance", "far"), "is no distance"),
        (("check", BNB, "--distance", "nan"), "is no distance"),
        (("check", BNB, "--game", "no such game"), "no packaged game"),
        (("find", "5MP"), "Name a character with --character, or as in “Odrun Vale: 5LP”."),
        (("find", "Odrun: 5QQ"), "I cannot read “5QQ” as a move"),
        (("find", "Odrun: 5MP", "--with", "5QQ"), "I cannot read “5QQ” as a move"),
        (("find", "Odrun: 5MP", "--want", "glory"), "invalid choice"),
        (("find", "Odrun: 5MP", "--moves", "1"), "2 to 10 moves"),
        (("find", "Odrun: 5MP", "--moves", "99999"), "2 to 10 moves"),
        (("find", "Odrun: 5MP", "--at-least", "-5"), "is no whole number"),
        (("find", "Odrun: 5MP", "--picture", "no/such/folder.png"), "cannot be written"),
    ],
)
def test_what_cannot_be_read_exits_with_2_and_says_why(
    argv: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, *argv)
    assert code == 2
    assert said in err
    assert "Traceback" not in out + err


def test_the_json_of_a_check_has_its_documented_keys(capsys: pytest.CaptureFixture[str]) -> None:
    told = values(capsys, "check", BNB)
    assert set(told) == names(CHECK_KEYS)
    assert (told["answer"], told["route"], told["damage"], told["hits"]) == ("yes", BNB[7:], 1710, 3)
    assert (told["frames"], told["seconds"]) == (93, 1.55)
    assert (told["spent"], told["presses"], told["directions"]) == ({"glow": 0, "salt": 0}, 3, 4)
    assert (told["effect"], told["lead_frames"], told["distance"]) == ("stand", 1, 1.9)
    assert told["chance"] == pytest.approx(0.8723)
    assert told["failing"] is None
    assert told["reasons"] == []
    first, link, cancel = told["steps"]
    assert (first["move"], first["means"], first["window_frames"]) == ("5MP", None, None)
    assert (link["means"], link["first_gap_frames"], link["last_gap_frames"]) == ("link", 28, 32)
    assert (link["window_frames"], link["accepted_frames"]) == (2, 5)
    assert link["reasons"][0]["code"] == "link-in-time"
    assert (cancel["means"], cancel["window_frames"], cancel["damage"]) == ("cancel", None, 510)


def test_the_json_of_a_route_that_fails_has_the_same_keys(capsys: pytest.CaptureFixture[str]) -> None:
    told = values(capsys, "check", "Odrun: 5MP, 5HP")
    assert set(told) == names(CHECK_KEYS)
    assert (told["answer"], told["failing"], told["damage"], told["chance"]) == ("no", 1, None, None)
    assert told["reasons"][0]["code"] == "link-too-late"
    assert told["repairs"][0] == {"kind": "move", "step": 1, "route": "5MP, 5MP", "works": True}


def test_found_routes_exit_with_0_and_none_with_1(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "find", "Odrun: 5MP", "--gauge", "none")
    assert (code, err) == (0, "")
    assert out.startswith("The most damage from 5MP is")
    assert "You spend no gauge." in out
    code, out, err = run(capsys, "find", "Odrun: 5MP", "--at-least", "99999")
    assert (code, err) == (1, "")
    assert "ask for less damage" in out


def test_the_json_of_found_routes_has_its_documented_keys(capsys: pytest.CaptureFixture[str]) -> None:
    told = values(capsys, "find", "Odrun: CH 5MP", "--want", "surest", "--gauge", "salt 40, glow 0")
    assert set(told) == names(FIND_KEYS)
    assert (told["aim"], told["starter"], told["complete"]) == ("reliable", "counter hit 5MP", True)
    assert (told["game"], told["character"]) == ("Saltglass", "Odrun Vale")
    best, *others = told["routes"]
    assert set(best) == {
        "route", "damage", "chance", "expected_damage", "seconds", "spent", "hard", "role"
    }  # fmt: skip
    assert best["role"] == "surest"
    assert all(one["chance"] <= best["chance"] for one in others)
    assert all(set(one["spent"]) <= {"salt"} for one in told["routes"])
    assert values(capsys, "find", "Odrun: 5MP", "--at-least", "99999")["routes"] == []


def test_every_option_of_find_is_kept_to(capsys: pytest.CaptureFixture[str]) -> None:
    told = values(
        capsys, "find", "5MP", "--character", "odrun", "--want", "shortest", "--at-least", "1500",
        "--knockdown", "--with", "623HP", "--without", "2MP, 2MK", "--moves", "4", "--gauge", "none",
    )  # fmt: skip
    assert told["routes"]
    for one in told["routes"]:
        assert one["damage"] >= 1500
        assert "623HP" in one["route"]
        assert "2M" not in one["route"]
        assert one["spent"] == {}


def test_a_picture_of_the_routes_is_written(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "front.png"
    assert run(capsys, "find", "Odrun: 5MP", "--picture", str(file))[0] == 0
    assert file.read_bytes().startswith(PNG)
    none = tmp_path / "none.png"
    assert run(capsys, "find", "Odrun: 5MP", "--at-least", "99999", "--picture", str(none))[0] == 1
    assert not none.exists()


@pytest.mark.parametrize(("command", "keys"), [("check", CHECK_KEYS), ("find", FIND_KEYS)])
def test_the_help_documents_every_key_and_exit_code(
    command: str, keys: dict[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run(capsys, command, "--help")
    assert code == 0
    for key in keys:
        assert f"  {key}: " in out
    assert "exit code: 0 " in out


def test_a_question_about_what_to_learn_is_answered_with_routes(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = shell.run(capsys, "ask", "what should I learn from Odrun's 5MP?")
    assert (code, err) == (0, "")
    assert out.startswith("What brings most on average from 5MP is 5MP")
    assert "You spend no gauge." in out  # as in chat
    told = json.loads(shell.run(capsys, "ask", "what should I learn from Odrun's 5MP?", "--json")[1])
    assert set(told) == {key for keys in FIND_KEYS for key in keys.split(", ")}
    assert all(route["route"].startswith("5MP") for route in told["routes"])
