"""`cornerman room` as a program: it opens, listens to its terminal and closes cleanly."""

from __future__ import annotations

import signal
import socket
import subprocess
import time
import urllib.request
from pathlib import Path

import pytest
from room.running import RunningRoom, start_room

from bot.__main__ import main


def test_it_prints_where_its_page_is_and_serves_it_there(room: RunningRoom) -> None:
    assert room.greeting.startswith("The Breakwater is open: http://127.0.0.1:")
    with urllib.request.urlopen(room.address) as page:
        assert page.status == 200


def test_its_terminal_goes_from_place_to_place_and_lets_time_pass(room: RunningRoom) -> None:
    assert "#drills" in room.type("go #drills")
    assert "Ivo's direct messages" in room.type("go dm ivo")
    assert "#windsock" in room.type("go windsock")
    assert "02 January 2026" in room.type("day")
    assert "09 January 2026" in room.type("week")
    assert "#ask-the-corner" in room.type("go nowhere")
    with urllib.request.urlopen(room.address) as page:  # still at the same address
        assert page.status == 200
    assert "closed" in room.type("quit")
    code, _, errors = room.end()
    assert (code, errors) == (0, "")


@pytest.mark.parametrize("by", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_closes_it_without_a_word_of_error(room: RunningRoom, by: signal.Signals) -> None:
    code, out, errors = room.stop(by)
    assert (code, errors) == (0, "")
    assert out == "The room is closed.\n"


def test_it_stays_open_without_a_terminal(tmp_path: Path) -> None:
    room = start_room(tmp_path, "--port", "0", stdin=subprocess.DEVNULL)
    with urllib.request.urlopen(room.address) as page:
        assert page.status == 200
    code, _, errors = room.stop(signal.SIGINT)
    assert (code, errors) == (0, "")


def test_it_opens_its_page_in_the_browser_unless_told_not_to(tmp_path: Path) -> None:
    browser, opened = tmp_path / "browser", tmp_path / "opened"
    browser.write_text(f'#!/bin/sh\nprintf %s "$1" > {opened}.part && mv {opened}.part {opened}\n', "utf-8")
    browser.chmod(0o755)
    room = start_room(tmp_path, "--port", "0", browser=browser)
    for _ in range(100):
        if opened.exists():
            break
        time.sleep(0.1)
    assert room.stop(signal.SIGINT)[0] == 0
    assert opened.read_text("utf-8") == room.address


def test_a_port_that_is_taken_is_replaced_and_it_says_so(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        room = start_room(tmp_path, "--port", str(port))
        assert f"Port {port} is taken" in room.greeting
        assert f":{port}/" not in room.address
        assert room.stop(signal.SIGINT)[0] == 0


def test_without_the_extra_one_sentence_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("bot.__main__.ROOM_NEEDS", ("a_module_nobody_has",))
    assert main(["room", "--no-browser"]) == 2
    said = capsys.readouterr()
    assert (said.out, said.err) == ("", "The room needs one more install: pip install 'cornerman[room]'\n")


@pytest.mark.parametrize("port", ["x", "-1", "65536", "８０"])
def test_a_port_must_be_a_port(port: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["room", "--port", port]) == 2
    assert "a port is a number from 0 to 65535" in capsys.readouterr().err
