"""One move's input as a game file writes it: strict numpad notation.

An input is, in this order: `j.` for an airborne move; a held direction in brackets for a charge
([4]6LP); directions as numpad digits seen by a player facing right, or a whole turn (360, 720);
buttons by name, joined by `+` where several are pressed at once (LP+LK), or the short form of a
group, once for any of its buttons (236P) and more often for as many of them at once (236PP).
Buttons in brackets are held (5[HP]), in turned brackets released (5]HP[). Case does not matter, and
`j` needs no dot in a game without a button that begins so.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from core.model import Button, Stance
from core.notation.errors import NotationError
from core.text import clipped, nearest, one_of, shown

MOVE_LIMIT = 80
TURNS = ("360", "720")
EXAMPLES = "write it as 5MP, j.HP, 236HP, [4]6LP or 66"

_SHAPE = re.compile(
    r"(?P<charge>\[[1-9]\])?(?P<turn>360|720)?(?P<digits>[0-9]*)(?P<open>[\[\]])?"
    r"(?P<buttons>[^\[\]]*)(?P<close>[\[\]])?"
)
_BLANK = re.compile(r"\s")


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
    many of its buttons are pressed at once. Two spellings of one input are equal (5MP and mp).
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

    @property
    def pressed(self) -> bool:
        """Whether there is a button in it."""
        return bool(self.buttons or self.group)

    @property
    def motion(self) -> str:
        """The directions that a motion's form must have; nothing for a plain direction."""
        return self.directions if len(self.directions) > 1 else ""


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


def read_input(text: str, buttons: Sequence[Button] | None) -> ParsedInput:
    """Take one input apart. `buttons` are the game's; None where they are not known, so that any
    names are taken, casefolded. Raises NotationError, with what would be right, for anything else.

    >>> read_input("2MP", (Button("LP"), Button("MP"))).buttons
    ('MP',)
    """
    if len(text) > MOVE_LIMIT:
        reason, right = f"the input has {len(text):,} characters", f"write at most {MOVE_LIMIT}"
        raise NotationError(text, MOVE_LIMIT, len(text), reason, right=right)
    if blank := _BLANK.search(text):
        right = f"write {clipped(_BLANK.sub('', text))}" if text.strip() else EXAMPLES
        raise NotationError(text, blank.start(), len(text), f"{shown(text)} holds a blank", right=right)
    after_air = _after_air(text, buttons)
    shape = _SHAPE.fullmatch(text, after_air)
    if shape is None or not (shape["charge"] or shape["turn"] or shape["digits"] or shape["buttons"]):
        raise NotationError(text, 0, len(text), f"{shown(text)} is not an input", right=EXAMPLES)
    if "0" in shape["digits"] or (shape["turn"] and shape["digits"]):
        wrong = f"{shown((shape['turn'] or '') + shape['digits'])} in {shown(text)} is no row of directions"
        right = "write the digits 1 to 9, or a turn alone: 360 or 720"
        raise NotationError(text, *shape.span("digits"), wrong, right=right)
    press = _press(text, shape["open"], shape["close"])
    names, group, group_count = _read_buttons(text, *shape.span("buttons"), buttons)
    pressed = bool(names or group)
    if press is not Press.TAP and not pressed:
        reason = f"{shown(text)} has no button between its brackets"
        raise NotationError(text, *shape.span("buttons"), reason, right="write a held button as 5[HP]")
    directions = (shape["charge"] or "").strip("[]") + (shape["turn"] or "") + shape["digits"]
    if shape["charge"] and len(directions) == 1:
        reason = f"{shown(text)} has no direction after the held one"
        raise NotationError(text, *shape.span("charge"), reason, right="write a charge as [4]6LP")
    return ParsedInput(
        stance=stance_of(bool(after_air), directions, pressed),
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


def _after_air(text: str, buttons: Sequence[Button] | None) -> int:
    """Where the input goes on after `j.`, or after `j` where no button begins with it; else 0."""
    if text[:1].casefold() != "j":
        return 0
    if text[1:2] == ".":
        return 2
    begins_a_button = buttons is None or any(button.name[:1].casefold() == "j" for button in buttons)
    return 0 if begins_a_button else 1


def _press(text: str, opening: str | None, closing: str | None) -> Press:
    match opening, closing:
        case None, None:
            return Press.TAP
        case "[", "]":
            return Press.HOLD
        case "]", "[":
            return Press.RELEASE
    right = "write a held button as [HP] and a released one as ]HP["
    raise NotationError(text, 0, len(text), f"the brackets in {shown(text)} make no pair", right=right)


def _read_buttons(
    text: str, start: int, end: int, buttons: Sequence[Button] | None
) -> tuple[tuple[str, ...], str | None, int]:
    """Names of the buttons in the game's order; or the group, and how many of it."""
    written = text[start:end].casefold()
    if buttons is None:
        return tuple(sorted(filter(None, written.split("+")))), None, 0
    names = {button.name.casefold(): button.name for button in buttons if button.name}
    if written not in names:
        for short, group in group_shorts(buttons).items():
            count, rest = divmod(len(written), len(short))
            if count and not rest and written == short * count:
                if count > (size := sum(button.group == group for button in buttons)):
                    reason = f"{shown(text)} needs {count} buttons of the group {group}, which has {size}"
                    right = f"write {(short * size).upper()} at most"
                    raise NotationError(text, start, end, reason, right=right)
                return (), group, count
    found: list[str] = []
    by_length = sorted(names, key=len, reverse=True)
    place = 0
    while place < len(written):
        name = next((name for name in by_length if written.startswith(name, place)), None)
        if name is None:
            raise _no_button(text, start + place, end, tuple(names.values()))
        if names[name] in found:
            reason = f"{names[name]} is twice in {shown(text)}"
            raise NotationError(text, start + place, end, reason, right="name each button once")
        found.append(names[name])
        place += len(name)
        if place < len(written) - 1 and written[place] == "+":
            place += 1
    order = [button.name for button in buttons]
    return tuple(sorted(found, key=order.index)), None, 0


def _no_button(text: str, start: int, end: int, known: tuple[str, ...]) -> NotationError:
    """The error for buttons that cannot be read from `start` on."""
    part = text[start:end].split("+")[0] or text[start:end]
    near = nearest(part, known)
    if near is not None:
        right = f"the nearest is {near}"
    else:
        right = f"use {one_of(known)}" if known else "this game has no buttons"
    named = shown(part) if part == text else f"{shown(part)} in {shown(text)}"
    reason = f"{named} is no button of this game"
    return NotationError(text, start, end, reason, right=right)
