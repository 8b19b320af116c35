"""Reading a move's input as a game file writes it: 5MP, j.HP, 236PP, [4]6LP, LP+LK, 66."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from core.gamefile.cells import CellError
from core.gamefile.problems import nearest, one_of, shown
from core.model import Button, Stance

_INPUT = re.compile(r"(?P<air>[jJ]\.)?(?:\[(?P<held>[1-9])\])?(?P<directions>[1-9]*)(?P<buttons>.*)")


@dataclass(frozen=True, slots=True)
class MoveInput:
    """The parts of an input. `held`: a charged direction; `buttons`: names, or a group's letters."""

    airborne: bool
    held: str
    directions: str
    buttons: tuple[str, ...]

    @property
    def motion(self) -> str:
        """The digits a motion's form must have; empty for a plain direction."""
        digits = self.held + self.directions
        return digits if len(digits) > 1 else ""

    @property
    def stance(self) -> Stance:
        """The stance that the input speaks of."""
        if self.airborne:
            return Stance.AIRBORNE
        crouching = self.buttons and self.directions in ("1", "2", "3")
        return Stance.CROUCHING if crouching else Stance.STANDING

    @property
    def key(self) -> tuple[bool, str, str, tuple[str, ...]]:
        """The same for two spellings of one input: 5MP and MP, LP+LK and LK+LP."""
        directions = "" if self.directions == "5" else self.directions
        return self.airborne, self.held, directions, tuple(sorted(self.buttons))


def read_input(written: str, buttons: Mapping[str, Button] | None) -> MoveInput:
    """The parts of an input. Raises CellError, also for a button the game does not have;
    `buttons` is None where the game's buttons are not known.

    >>> read_input("[4]6A", {"A": Button("A")})
    MoveInput(airborne=False, held='4', directions='6', buttons=('A',))
    """
    found = _INPUT.fullmatch(written)
    if (
        not found
        or not (found["directions"] or found["buttons"])
        or (found["held"] and not found["directions"])
    ):
        raise CellError(f"{shown(written)} is not an input", "write it as 5MP, j.HP, 236HP, [4]6LP or 66")
    parts = tuple(part.strip() for part in found["buttons"].split("+")) if found["buttons"] else ()
    if buttons is not None:
        for part in parts:
            if part not in buttons and not _group_members(part, buttons):
                raise _unknown_button(part, written, buttons)
    return MoveInput(found["air"] is not None, found["held"] or "", found["directions"], parts)


def strength_of(given: MoveInput, buttons: Mapping[str, Button]) -> str | None:
    """The strength of the input's buttons, where they all have the same one."""
    strengths = {buttons[part].strength if part in buttons else None for part in given.buttons}
    return strengths.pop() if len(strengths) == 1 else None


def _group_members(letters: str, buttons: Mapping[str, Button]) -> int:
    """How many buttons the group has that letters such as P or KK stand for; 0 for no group or
    for more letters than it has buttons."""
    if not letters or letters != letters[0] * len(letters):
        return 0
    groups = [
        button.group for button in buttons.values() if button.group and button.group[0].upper() == letters[0]
    ]
    one_group = len(set(groups)) == 1
    return len(groups) if one_group and len(letters) <= len(groups) else 0


def _unknown_button(part: str, written: str, buttons: Mapping[str, Button]) -> CellError:
    near = nearest(part, buttons)
    if near is not None:
        right = f"the nearest is {near}"
    else:
        right = f"use {one_of(buttons)}" if buttons else "name the game's buttons in [buttons]"
    return CellError(f"{shown(part)} in {shown(written)} is no button of this game", right)
