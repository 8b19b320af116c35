"""A character's moves by everything that calls them: inputs, names, aliases, readings of shorthand."""

from __future__ import annotations

import re
from collections.abc import Hashable, Iterator
from dataclasses import dataclass, replace
from itertools import product
from math import prod
from typing import TypeVar

from core.model import Character, Game, Move, Stance
from core.notation import words
from core.notation.errors import NotationError
from core.notation.grammar import Grammar, Reading, Slot
from core.notation.inputs import ParsedInput, Press, read_input, stance_of
from core.notation.tokens import Folded, fold, name_key
from core.text import nearest_few

NEAR = 3
CHOICES = 500

_ARROWS = str.maketrans(words.ARROWS)

Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Found:
    """What shorthand can mean: its moves, and what the hand does. Without moves: how far the text
    could be read (as a place in `read`), and the input it reads as, if it is whole."""

    moves: tuple[Move, ...]
    press: Press
    read: Folded
    furthest: int
    closest: str


class Lookup:
    """One character's moves as one control scheme has them.

    Every move is given as the scheme has it. Inputs under the scheme are looked up before those
    that moves have without one.
    """

    def __init__(self, game: Game, character: Character, scheme: str | None) -> None:
        self._grammar = Grammar(game)
        self._order = {button.name: place for place, button in enumerate(game.buttons)}
        self._groups = {button.name: button.group for button in game.buttons}
        self._motions = tuple(motion.forms for motion in game.motions)
        self._place = {move.under(scheme).input: place for place, move in enumerate(character.moves)}
        self._shape_of: dict[str, ParsedInput] = {}
        self._names: dict[str, list[Move]] = {}
        self._known: dict[str, tuple[str, Move]] = {}
        # By the scheme's inputs first, then by the inputs without a scheme.
        self._written: tuple[dict[str, list[Move]], ...] = ({}, {})
        self._shapes: tuple[dict[ParsedInput, list[Move]], ...] = ({}, {})
        for base in character.moves:
            move = base.under(scheme)
            for place, called in enumerate((move, base)):
                self._add_input(place, called.input, move, game)
                for name in (called.name, *called.aliases):
                    self._add_name(name, move)

    def press_of(self, move: Move) -> Press:
        """What the hand does by the move's own input."""
        shape = self._shape_of.get(move.input)
        return shape.press if shape else Press.TAP

    def held(self, move: Move) -> Move:
        """What holding this move's buttons gives: the move of its own for that, where there is one."""
        shape = self._shape_of.get(move.input)
        if shape is None:
            return move
        held = replace(shape, press=Press.HOLD)
        return next((moves[0] for table in self._shapes if (moves := table.get(held))), move)

    def called(self, text: str) -> tuple[Move, ...]:
        """The moves with just this input, or else this name or alias; `text` is folded."""
        written = _without_blanks(text)
        for table in self._written:
            if written in table:
                return tuple(table[written])
        return tuple(self._names.get(name_key(text)) or self._names.get(self._plain_key(text)) or ())

    def read(self, text: Folded) -> Found:
        """What the text can mean as shorthand."""
        press, closest = Press.TAP, ""

        def moves_of(reading: Reading) -> list[Move]:
            nonlocal press, closest
            press = reading.press
            if reading.slots:
                closest = closest or _as_text(reading)
            return self._of_reading(reading)

        tight = text.without("-_'")
        tight = tight.part(0, len(tight.chars.rstrip(".")))
        moves, furthest = self._grammar.read(tight.chars.translate(_ARROWS), moves_of)
        if not moves:
            moves = self._of_name_with_button(text.chars)
        moves = sorted(
            {move.input: move for move in moves}.values(), key=lambda move: self._place[move.input]
        )
        return Found(tuple(moves), press if moves else Press.TAP, tight, furthest, closest)

    def near(self, *texts: str) -> tuple[str, ...]:
        """The nearest known inputs and names to folded texts, one for a move."""
        found: dict[str, str] = {}
        for text in texts:
            for key in nearest_few(text, self._known, NEAR):
                known, move = self._known[key]
                found.setdefault(move.input, known)
        return tuple(found.values())[:NEAR]

    def _add_input(self, place: int, written: str, move: Move, game: Game) -> None:
        folded = fold(written).chars
        _add(self._written[place], _without_blanks(folded), move)
        self._known.setdefault(folded, (written, move))
        try:
            shape = read_input(written, game.buttons)
        except NotationError:
            return  # Such a move is still found by its input letter by letter, and by name.
        _add(self._shapes[place], shape, move)
        self._shape_of[written] = shape

    def _add_name(self, name: str, move: Move) -> None:
        folded = fold(name).chars
        self._known.setdefault(folded, (name, move))
        for key in {name_key(folded), self._plain_key(folded)}:
            _add(self._names, key, move)

    def _plain_key(self, text: str) -> str:
        """The name with shorts written out and buttons by their names: "cl. medium punch" is "close mp"."""
        if not text.isascii():
            return name_key(text)
        parts = re.findall(r"[^\W_]+", text)
        plain: list[str] = []
        while parts:
            for count in (2, 1):
                slot = self._grammar.slot("".join(parts[:count]))
                if slot and len(slot.buttons) == 1:
                    plain.append(fold(slot.buttons[0]).chars)
                    break
            else:
                count = 1
                plain.append(words.NAME_SHORTS.get(parts[0], parts[0]))
            del parts[:count]
        return "".join(plain) or text

    def _of_reading(self, reading: Reading) -> list[Move]:
        """The moves of a reading: by the scheme's inputs first, by the exact input before other forms."""
        airborne, pressed = reading.stance is Stance.AIRBORNE, bool(reading.slots)
        for table in self._shapes:
            for directions, charge in self._directions(reading):
                for press in dict.fromkeys((reading.press, Press.TAP)):
                    stance = stance_of(airborne, directions, pressed)
                    moves = self._of_slots(
                        table, ParsedInput(stance, directions, charge, press=press), reading.slots
                    )
                    if moves:
                        return moves
        return []

    def _directions(self, reading: Reading) -> Iterator[tuple[str, bool]]:
        """The directions a reading may stand for and whether they are a charge, the exact ones first."""
        given = reading.directions
        if reading.stance is Stance.CROUCHING:
            if given not in ("", "1", "2", "3"):
                return
            given = given or "2"
        elif reading.stance is Stance.STANDING and given in ("1", "2", "3"):
            return
        if reading.charge and len(given) == 1:
            given = words.OPPOSITE.get(given, "") + given
        given = given or "5"
        forms = [form for motion in self._motions if given in motion for form in motion]
        for directions in dict.fromkeys((given, *forms)):
            yield directions, reading.charge
        if not reading.charge and len(given) > 1:
            yield given, True

    def _of_slots(
        self, table: dict[ParsedInput, list[Move]], shape: ParsedInput, slots: tuple[Slot, ...]
    ) -> list[Move]:
        """The moves of this shape with these presses at once."""
        if not slots:
            return table.get(shape, [])
        whole = _of_group(table, shape, [slot.group for slot in slots])
        if whole:
            return whole
        if prod(len(slot.buttons) for slot in slots) > CHOICES:
            return []
        choices = {
            tuple(sorted(names, key=self._order.__getitem__))
            for names in product(*(slot.buttons for slot in slots))
            if len(set(names)) == len(names)
        }
        exact = [move for names in choices for move in table.get(replace(shape, buttons=names), ())]
        if exact:
            return exact
        return [
            move for names in choices for move in _of_group(table, shape, [self._groups[n] for n in names])
        ]

    def _of_name_with_button(self, text: str) -> list[Move]:
        """A name that several moves share, with the button that tells them apart: "heavy lantern"."""
        parts = re.findall(r"[^\W_]+", text)
        for count in range(1, min(3, len(parts))):
            for button, name in ((parts[:count], parts[count:]), (parts[-count:], parts[:-count])):
                slot = self._grammar.slot("".join(button))
                shared = self._names.get("".join(name), ()) if slot else ()
                moves = [move for move in shared if slot and self._has_button(move, slot)]
                if moves:
                    return moves
        return []

    def _has_button(self, move: Move, slot: Slot) -> bool:
        shape = self._shape_of.get(move.input)
        return shape is not None and len(shape.buttons) == 1 and shape.buttons[0] in slot.buttons


def _add(table: dict[Key, list[Move]], key: Key, move: Move) -> None:
    moves = table.setdefault(key, [])
    if all(other is not move for other in moves):
        moves.append(move)


def _of_group(
    table: dict[ParsedInput, list[Move]], shape: ParsedInput, groups: list[str | None]
) -> list[Move]:
    """The moves of this shape with any buttons of a group, where all the presses are of that one."""
    group = groups[0] if len(set(groups)) == 1 else None
    return table.get(replace(shape, group=group, group_count=len(groups)), []) if group else []


def _without_blanks(text: str) -> str:
    return "".join(text.split())


def _as_text(reading: Reading) -> str:
    """A whole reading as numpad notation, to compare with known inputs."""
    buttons = "+".join(slot.buttons[0] for slot in reading.slots).casefold()
    if reading.stance is Stance.AIRBORNE:
        return f"j.{reading.directions}{buttons}"
    return (reading.directions or ("2" if reading.stance is Stance.CROUCHING else "5")) + buttons
