"""Directions on both sides, as a hat switch and as gamepad buttons."""

from __future__ import annotations

import pytest

from core.inputs import GAMEPAD, HAT, NAMES, Facing, facing, gamepad_buttons, mirrored, of_gamepad


def test_a_hat_counts_clockwise_from_up() -> None:
    # USB HID usage tables, usage 0x39: 0 = up, clockwise to 7, 8 = none.
    assert [HAT[direction] for direction in (8, 9, 6, 3, 2, 1, 4, 7, 5)] == list(range(9))


def test_a_gamepads_directions_are_buttons_12_to_15() -> None:
    # W3C Gamepad, standard layout: 12 up, 13 down, 14 left, 15 right.
    assert GAMEPAD == {8: 12, 2: 13, 4: 14, 6: 15}
    assert gamepad_buttons(1) == {13, 14}


@pytest.mark.parametrize("direction", range(1, 10))
def test_every_direction_comes_back_from_the_pad_and_from_the_mirror(direction: int) -> None:
    assert of_gamepad(gamepad_buttons(direction)) == direction
    assert mirrored(mirrored(direction)) == direction
    assert facing(direction, Facing.RIGHT) == direction
    # A mirror turns the hat about its upright axis.
    assert HAT[mirrored(direction)] == (8 if direction == 5 else -HAT[direction] % 8)


def test_every_direction_has_a_name_of_its_own() -> None:
    assert len(set(NAMES.values())) == 9
    assert (NAMES[3], NAMES[4]) == ("down-forward", "back")
