"""A character's moves as the game reads them from the hands: buttons, and a motion or a held direction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

from core.model import Button, Character, Game, Motion, Move, Stance
from core.notation import NotationError, ParsedInput, Press, read_input

STEP_FRAMES = 10
BUTTON_FRAMES = 10
"""Windows of a motion whose file gives none (common practice, no source)."""

LONGEST_WINDOW = 126
"""A longer window counts as this many frames: two seconds."""

_STANDING = frozenset({4, 5, 6})
_CROUCHING = frozenset({1, 2, 3})
_ANY = frozenset(range(1, 10))


@dataclass(frozen=True, slots=True)
class Command:
    """One move and what makes it come out.

    `choices`: the sets of buttons of which one must be pressed on one frame; none for movement.
    `motion`: what must be entered before, `place` its place among the game's motions; without one,
    `directions` are those that may be held at the press, `direction` the one it is written with.
    """

    move: Move
    order: int
    airborne: bool
    choices: tuple[frozenset[str], ...]
    direction: int
    directions: frozenset[int]
    motion: Motion | None = None
    place: int = 0

    @property
    def button_count(self) -> int:
        """How many buttons it takes."""
        return len(self.choices[0]) if self.choices else 0

    def fits(self, pressed: frozenset[str], airborne: bool) -> bool:
        """Whether these buttons, pressed anew on one frame, are enough of them for it."""
        return self.airborne == airborne and any(choice <= pressed for choice in self.choices)


def commands_of(game: Game, character: Character, scheme: str | None = None) -> tuple[Command, ...]:
    """The character's moves as this control scheme has them, in the file's order.

    Left out are moves whose input cannot be read, whose motion the game file does not have, and
    those of a released button. A held button is read as a pressed one where that is no other move.
    """
    forms = {form: (place, motion) for place, motion in enumerate(game.motions) for form in motion.forms}
    read: list[tuple[Move, ParsedInput]] = []
    for base in character.moves:
        move = base.under(scheme)
        try:
            read.append((move, read_input(move.input, game.buttons)))
        except NotationError:
            continue
    tapped = {given for _, given in read if given.press is Press.TAP}
    found: list[Command] = []
    for order, (move, given) in enumerate(read):
        if given.press is Press.RELEASE or (given.held and replace(given, press=Press.TAP) in tapped):
            continue
        command = _command(move, order, given, game.buttons, forms)
        if command is not None:
            found.append(command)
    return tuple(found)


def command_of(
    game: Game, commands: Sequence[Command], move: Move, scheme: str | None = None
) -> Command | None:
    """What must be entered for this move; for a held button, the press. None where it cannot be read."""
    wanted = move.under(scheme)
    for command in commands:
        if command.move.input == wanted.input:
            return command
    try:
        given = read_input(wanted.input, game.buttons)
        tapped = replace(given, press=Press.TAP)
        if given.held:
            return next((c for c in commands if read_input(c.move.input, game.buttons) == tapped), None)
    except NotationError:
        pass
    return None


def _command(
    move: Move,
    order: int,
    given: ParsedInput,
    buttons: Sequence[Button],
    forms: dict[str, tuple[int, Motion]],
) -> Command | None:
    airborne = given.stance is Stance.AIRBORNE
    choices = _choices(given, buttons)
    if not given.motion:
        direction = int(given.directions)
        return Command(move, order, airborne, choices, direction, _held(direction, airborne, bool(choices)))
    place, motion = forms.get(given.motion, (len(forms), None))
    if motion is None and not choices:
        # Twice the same direction is one that is let go between.
        motion = Motion(given.motion, (_with_neutral(given.motion),), priority=-1)
    if motion is None:
        return None
    return Command(move, order, airborne, choices, int(given.motion[-1]), _ANY, motion, place)


def _choices(given: ParsedInput, buttons: Sequence[Button]) -> tuple[frozenset[str], ...]:
    if given.group:
        names = [button.name for button in buttons if button.group == given.group]
        return tuple(map(frozenset, combinations(names, given.group_count)))
    return (frozenset(given.buttons),) if given.buttons else ()


def _held(direction: int, airborne: bool, pressed: bool) -> frozenset[int]:
    """The directions with which a move without a motion comes out, where none has a closer move."""
    if not pressed:
        return frozenset({direction})
    if direction == 5:
        return _ANY if airborne else _STANDING
    return _CROUCHING if direction == 2 else frozenset({direction})


def _with_neutral(digits: str) -> str:
    """The digits, with neutral between two that are the same.

    >>> _with_neutral("66")
    '656'
    """
    return digits[0] + "".join("5" + b if a == b else b for a, b in pairwise(digits))
