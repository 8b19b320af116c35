"""The nine directions as numpad digits (5 is neutral), seen by a player who faces right."""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum

NEUTRAL = 5


class Facing(StrEnum):
    """The side the player looks to."""

    RIGHT = "right"
    LEFT = "left"


HAT = {8: 0, 9: 1, 6: 2, 3: 3, 2: 4, 1: 5, 4: 6, 7: 7, 5: 8}
"""Each direction as a hat switch: up is 0, then clockwise; 8 is none (USB HID usage 0x39)."""

GAMEPAD = {8: 12, 2: 13, 4: 14, 6: 15}
"""The directional buttons of a standard gamepad: up, down, left, right (W3C Gamepad)."""

NAMES = {
    1: "down-back",
    2: "down",
    3: "down-forward",
    4: "back",
    5: "neutral",
    6: "forward",
    7: "up-back",
    8: "up",
    9: "up-forward",
}
"""Each direction by name, the same on both sides."""

_MIRRORED = {1: 3, 3: 1, 4: 6, 6: 4, 7: 9, 9: 7}


def mirrored(direction: int) -> int:
    """The direction as the other side sees it.

    >>> [mirrored(direction) for direction in (2, 3, 6)]
    [2, 1, 4]
    """
    return _MIRRORED.get(direction, direction)


def facing(direction: int, side: Facing) -> int:
    """A direction seen facing right, as it is entered on this side (and back again)."""
    return mirrored(direction) if side is Facing.LEFT else direction


def gamepad_buttons(direction: int) -> frozenset[int]:
    """The numbers of the standard gamepad's directional buttons that give this direction.

    >>> sorted(gamepad_buttons(3))
    [13, 15]
    """
    return frozenset(GAMEPAD[part] for part in _PARTS[direction])


def of_gamepad(pressed: Collection[int]) -> int:
    """The direction that the pressed buttons give; opposite ones cancel out.

    >>> of_gamepad({12, 15}), of_gamepad({14, 15})
    (9, 5)
    """
    across = (GAMEPAD[6] in pressed) - (GAMEPAD[4] in pressed)
    upward = (GAMEPAD[8] in pressed) - (GAMEPAD[2] in pressed)
    return NEUTRAL + across + 3 * upward


_PARTS = {1: (2, 4), 2: (2,), 3: (2, 6), 4: (4,), 5: (), 6: (6,), 7: (8, 4), 8: (8,), 9: (8, 6)}
