"""Taking a move's written input apart, and writing a held button."""

from __future__ import annotations

import pytest
from movebooks import SIX_BUTTONS

from core.model import Stance
from core.notation import NotationError, Press, format_input, read_input


@pytest.mark.parametrize(
    ("written", "stance", "directions", "buttons", "group_count", "press"),
    [
        ("5MP", Stance.STANDING, "5", ("MP",), 0, Press.TAP),
        ("MP", Stance.STANDING, "5", ("MP",), 0, Press.TAP),
        ("2HK", Stance.CROUCHING, "2", ("HK",), 0, Press.TAP),
        ("3HP", Stance.CROUCHING, "3", ("HP",), 0, Press.TAP),
        ("j.2HP", Stance.AIRBORNE, "2", ("HP",), 0, Press.TAP),
        ("236HP", Stance.STANDING, "236", ("HP",), 0, Press.TAP),
        ("22HP", Stance.STANDING, "22", ("HP",), 0, Press.TAP),
        ("236PP", Stance.STANDING, "236", (), 2, Press.TAP),
        ("LK+LP", Stance.STANDING, "5", ("LP", "LK"), 0, Press.TAP),
        ("360HP", Stance.STANDING, "360", ("HP",), 0, Press.TAP),
        ("66", Stance.STANDING, "66", (), 0, Press.TAP),
        ("2", Stance.STANDING, "2", (), 0, Press.TAP),
        ("2[MK]", Stance.CROUCHING, "2", ("MK",), 0, Press.HOLD),
        ("5]MK[", Stance.STANDING, "5", ("MK",), 0, Press.RELEASE),
    ],
)
def test_an_input_is_taken_apart(
    written: str,
    stance: Stance,
    directions: str,
    buttons: tuple[str, ...],
    group_count: int,
    press: Press,
) -> None:
    parsed = read_input(written, SIX_BUTTONS)
    assert (parsed.stance, parsed.directions, parsed.buttons) == (stance, directions, buttons)
    assert (parsed.group_count, parsed.press, parsed.charge) == (group_count, press, False)


def test_a_charge_holds_its_first_direction() -> None:
    parsed = read_input("[4]6LP", SIX_BUTTONS)
    assert (parsed.charge, parsed.directions, parsed.buttons) == (True, "46", ("LP",))


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("", ""),
        ("5QQ", "QQ"),
        ("50HP", "50"),
        ("LP+LP", "LP"),
        ("LP+", "+"),
        ("[4]LP", "[4]"),
        ("[HP", "[HP"),
        ("PPPP", "PPPP"),
        ("j.", "j."),
        ("5 MP", " MP"),
    ],
)
def test_an_input_that_is_not_numpad_notation_is_pointed_at(written: str, words: str) -> None:
    with pytest.raises(NotationError) as raised:
        read_input(written, SIX_BUTTONS)
    assert written[raised.value.start : raised.value.end] == words


@pytest.mark.parametrize(
    ("written", "held"),
    [
        ("236HP", "236[HP]"),
        ("j.HP", "j.[HP]"),
        ("jHP", "j[HP]"),
        ("J", "[J]"),
        ("J+K", "[J+K]"),
        ("66", "66"),
    ],
)
def test_a_held_button_is_written_in_brackets(written: str, held: str) -> None:
    assert format_input(written, Press.HOLD) == held
