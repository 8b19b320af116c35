"""One move's input as a game file writes it: strict numpad notation.

An input is, in this order: `j.` for an airborne move; a held direction in brackets for a charge
([4]6LP); directions as numpad digits seen by a player facing right, or a whole turn (360, 720);
buttons by name, joined by `+` where several are pressed at once (LP+LK), or the short form of a
group, once for any of its buttons (236P) and more often for as many of them at once (236PP).
Buttons in brackets are held (5[HP]), in turned brackets released (5]HP[). Case does not matter.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from core.model import Button, Stance
from core.notation.errors import NotationError, quoted

MOVE_LIMIT = 80
TURNS = ("360", "720")

_SHAPE = re.compile(
    r"(?P<air>j\.?)?(?P<charge>\[[1-9]\])?(?P<turn>360|720)?(?P<digits>[0-9]*)(?P<open>[\[\]])?"
    r"(?P<buttons>[^\[\]]*)(?P<close>[\[\]])?",
    re.IGNORECASE,
)


class Press(StrEnum):
    """What the hand does with the buttons: presses, holds down, or lets go of held ones."""

    TAP = "tap"
    HOLD = "hold"
    RELEASE = "release"


@dataclass(frozen=True, slots=True)
class ParsedInput:
    """An input taken apart.

    `stance` is what the input says of it: airborne after `j.`, crouching for a button with a lone
    1, 2 or 3, else standing. `directions` are numpad digits or a turn, "5" for a button alone; for
    a `charge` the first of them is held. `buttons` are names as the game has them, in its order.
    Where the input names a group in place of buttons, `group` is its name and `group_count` how
    many of its buttons are pressed at once.
    """

    stance: Stance
    directions: str
    charge: bool = False
    buttons: tuple[str, ...] = ()
    group: str | None = None
    group_count: int = 0
    press: Press = Press.TAP

    @property
    def held(self) -> bool:
        """Whether the buttons are held down."""
        return self.press is Press.HOLD


def group_shorts(buttons: Sequence[Button]) -> dict[str, str]:
    """The short forms of button groups, casefolded, with the group's name.

    A group's short forms are its first letter and the ending its buttons' names share. One that
    two groups would share belongs to neither.

    >>> group_shorts((Button("LP", "punch"), Button("HP", "punch"), Button("LK", "kick")))
    {'p': 'punch', 'k': 'kick'}
    """
    names: dict[str, list[str]] = {}
    for button in buttons:
        if button.group:
            names.setdefault(button.group, []).append(button.name.casefold())
    shorts: dict[str, set[str]] = {}
    for group, members in names.items():
        for short in (group[0].casefold(), _shared_ending(members)):
            shorts.setdefault(short, set()).add(group)
    return {short: groups.pop() for short, groups in shorts.items() if short and len(groups) == 1}


def _shared_ending(names: Sequence[str]) -> str:
    """What several names end in alike; nothing for a name alone."""
    shortest = min(map(len, names)) if len(names) > 1 else 0
    return next(
        (tail for i in range(shortest, 0, -1) if all(n.endswith(tail := names[0][-i:]) for n in names)), ""
    )


def read_input(text: str, buttons: Sequence[Button]) -> ParsedInput:
    """Take one input apart; `buttons` are the game's. Raises NotationError for anything else.

    >>> read_input("2MP", (Button("LP"), Button("MP"))).buttons
    ('MP',)
    """
    if len(text) > MOVE_LIMIT:
        raise NotationError(text, MOVE_LIMIT, len(text), f"an input has at most {MOVE_LIMIT} characters")
    shape = _SHAPE.fullmatch(text)
    if shape is None:
        raise NotationError(text, 0, len(text), f"{quoted(text)} is not an input such as 5MP, j.HP or [4]6LP")
    if "0" in shape["digits"] or (shape["turn"] and shape["digits"]):
        reason = "directions are the digits 1 to 9, or a turn: 360 or 720"
        raise NotationError(text, *shape.span("digits"), reason)
    if not text:
        raise NotationError(text, 0, 0, "the input is empty")
    press = _press(text, shape["open"], shape["close"])
    start, end = shape.span("buttons")
    names, group, group_count = _read_buttons(text, start, end, buttons)
    pressed = bool(names or group)
    if press is not Press.TAP and not pressed:
        raise NotationError(text, start, end, "brackets need a button between them")
    directions = (shape["charge"] or "").strip("[]") + (shape["turn"] or "") + shape["digits"]
    if not pressed and not directions:
        raise NotationError(text, 0, len(text), f"{quoted(text)} has neither a direction nor a button")
    if shape["charge"] and len(directions) == 1:
        raise NotationError(text, *shape.span("charge"), "a charge needs a direction after the held one")
    return ParsedInput(
        stance=stance_of(bool(shape["air"]), directions, pressed),
        directions=directions or "5",
        charge=bool(shape["charge"]),
        buttons=names,
        group=group,
        group_count=group_count,
        press=press,
    )


def stance_of(airborne: bool, directions: str, pressed: bool) -> Stance:
    """The stance an input speaks of: crouching for a button with a lone 1, 2 or 3."""
    if airborne:
        return Stance.AIRBORNE
    return Stance.CROUCHING if pressed and directions in ("1", "2", "3") else Stance.STANDING


def _press(text: str, opening: str | None, closing: str | None) -> Press:
    match opening, closing:
        case None, None:
            return Press.TAP
        case "[", "]":
            return Press.HOLD
        case "]", "[":
            return Press.RELEASE
    raise NotationError(text, 0, len(text), "a held button is written [HP] and a released one ]HP[")


def _read_buttons(
    text: str, start: int, end: int, buttons: Sequence[Button]
) -> tuple[tuple[str, ...], str | None, int]:
    """Names of the buttons in the game's order; or the group, and how many of it."""
    written = text[start:end].casefold()
    names = {button.name.casefold(): button.name for button in buttons}
    if written not in names:
        for short, group in group_shorts(buttons).items():
            count, rest = divmod(len(written), len(short))
            if count and not rest and written == short * count:
                if count > (size := sum(button.group == group for button in buttons)):
                    raise NotationError(text, start, end, f"the group {group} has only {size} buttons")
                return (), group, count
    found: list[str] = []
    by_length = sorted(names, key=len, reverse=True)
    place = 0
    while place < len(written):
        name = next((name for name in by_length if written.startswith(name, place)), None)
        if name is None or names[name] in found:
            known = ", ".join(names.values())
            what = quoted(text[start + place : end])
            reason = f"{what} is not a button" if name is None else f"{what} names one button twice"
            raise NotationError(text, start + place, end, f"{reason}; the buttons are {known}")
        found.append(names[name])
        place += len(name)
        if place < len(written) - 1 and written[place] == "+":
            place += 1
    order = [button.name for button in buttons]
    return tuple(sorted(found, key=order.index)), None, 0
