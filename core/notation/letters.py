"""Moves in letters in place of numbers, for servers that want them so: 5MP as st.MP, 236HP as qcf+HP.

What it writes is read back by `parse` as the same move. What it has no letters for stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Sequence
from functools import lru_cache

from core.model import Button, Stance
from core.notation import words
from core.notation.inputs import group_shorts

STANDING, CROUCHING = Stance.STANDING, Stance.CROUCHING

DIRECTIONS = {
    digit: called[0] for digit, called in words.DIRECTIONS.items() if len(digit) == 1 and digit != "5"
}
MOTIONS = {digits: called[0] for digits, called in words.MOTIONS.items() if "0" not in digits}
MOTIONS |= {2 * digits: f"{called} {called}" for digits, called in MOTIONS.items() if 2 * digits in MOTIONS}
"""Whole turns stay as they are: there is no shorter word for one."""
STANCES = {digit: f"{words.STANCES[stance][0]}." for digit, stance in (("5", STANDING), ("2", CROUCHING))}
"""What a button with such a direction alone is called on the ground."""

Respell = Callable[[str], str]
"""Writes the moves in a text in letters."""


@lru_cache(maxsize=64)
def letters_for(buttons: tuple[Button, ...]) -> Respell:
    """How to write the moves of a game with these buttons. A word that begins like a button of the game would
    be read as that: such a direction stays a number.

    >>> write = letters_for((Button("LP", "punch"), Button("HP", "punch")))
    >>> write("5LP, 2HP xx 236HP, [4]6LP, j.2HP, 66 at 12:36")
    'st.LP, cr.HP xx qcf+HP, charge b f+LP, j.d+HP, 66 at 12:36'
    >>> letters_for((Button("A"), Button("B")))("4B, 6B, 236A")
    '4B, f+B, qcf+A'
    """
    shape = _shape(buttons)
    called = {button.name.casefold() for button in buttons}
    clear = {digits for digits, word in (DIRECTIONS | MOTIONS).items() if not _begins(word, called)}
    stances = {digit for digit, word in STANCES.items() if not _begins(word, called)}

    def letters(found: re.Match[str]) -> str:
        if found["address"] is not None:
            return found[0]
        air, charge, digits = found["air"] or "", found["charge"], found["digits"]
        pressed, plain = found["buttons"], found[0]
        if charge is not None:
            known = not air and {charge, digits} <= clear & DIRECTIONS.keys()
            return f"charge {DIRECTIONS[charge]} {DIRECTIONS[digits]}+{pressed}" if known else plain
        if digits in STANCES and not air:
            return f"{STANCES[digits]}{pressed}" if digits in stances else plain
        return f"{air}{(DIRECTIONS | MOTIONS)[digits]}+{pressed}" if digits in clear else plain

    return lambda text: shape.sub(letters, text)


def _begins(word: str, buttons: Collection[str]) -> bool:
    """Whether the word could be read as one that begins with a button."""
    return any(word.startswith(button) for button in buttons)


def _shape(buttons: Sequence[Button]) -> re.Pattern[str]:
    """An input with a direction and a button, as it stands in a text, its brackets escaped or not; or a web
    address, whose signs are no inputs."""
    names = {button.name for button in buttons} | {short.upper() for short in group_shorts(buttons)}
    button = "|".join(map(re.escape, sorted(names, key=len, reverse=True))) or r"(?!)"
    bracket = r"\\?[\[\]]"
    # The row of buttons is taken as it comes first, the longest names first, as `parse` takes it: where some
    # names begin like others, all the ways to cut it up would be more than there is time for.
    return re.compile(
        r"(?P<address>https?://\S+)|"
        rf"(?<![\w.:/|#@<=\\\]])(?P<air>j\.)?(?:\\?\[(?P<charge>[1-9])\\?\])?(?P<digits>[1-9]+)"
        rf"(?P<buttons>(?:{bracket})?(?>(?:{button})(?:\+?(?:{button}))*)(?:{bracket})?)(?!\w)"
    )
