"""What is typed in the room's terminal is understood, or answered with what there is."""

from __future__ import annotations

import pytest

from bot.room.commands import Command, GoChannel, GoMember, LetPass, Next, PatchDay, Quit, Say, understand
from bot.room.community import read_community

COMMUNITY = read_community()


@pytest.mark.parametrize(
    ("line", "command"),
    [
        ("go #drills", GoChannel("drills")),
        ("go drills", GoChannel("drills")),
        ("  GO   #Drills ", GoChannel("drills")),
        ("go #windsock", GoChannel("windsock")),
        ("go dm Ivo", GoMember("Ivo")),
        ("go dm ivo", GoMember("Ivo")),
        ("day", LetPass(1)),
        ("week", LetPass(7)),
        ("Next", Next()),
        ("patch", PatchDay()),
        ("quit", Quit()),
    ],
)
def test_a_command_is_understood_in_any_case_and_spacing(line: str, command: Command) -> None:
    assert understand(line, COMMUNITY) == command


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("go #nowhere", "#drills"),
        ("go", "#drills"),
        ("go dm", "Ivo"),
        ("go dm nobody", "Ivo"),
        ("go dm #drills", "Ivo"),
        ("nap", "help"),
        ("day week", "help"),
        ("next week", "help"),
        ("go #drills now", "help"),
        ("", "help"),
        ("\x1b[A", "help"),
    ],
)
def test_what_is_not_understood_says_what_there_is(line: str, offered: str) -> None:
    command = understand(line, COMMUNITY)
    assert isinstance(command, Say)
    assert offered in command.text
    assert "\x1b" not in command.text


def test_help_names_every_channel_and_member() -> None:
    command = understand("help", COMMUNITY)
    assert isinstance(command, Say)
    for name in (*COMMUNITY.channel_names, *COMMUNITY.member_names):
        assert name in command.text
