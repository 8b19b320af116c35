"""Readings of one move's shorthand: a stance, directions, buttons, in that order.

Text comes folded and without blanks and dashes, so that "quarter circle forward + HP", "qcf hp"
and "qcfhp" read alike. The longest word that leads to a move wins; words that mean two things
(`c` as crouching and as a button) are read both ways, unless a dot marks the one (c.HP is
crouching) or a plus the other (C+D are buttons). The number of words is bounded, and with it the
number of readings.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from core.model import Game, Move, Stance
from core.notation import words
from core.notation.inputs import TURNS, Press, group_shorts
from core.notation.tokens import fold, name_key

DIRECTION_WORDS = 8
SLOTS = 4

_DIGITS = re.compile(r"[0-9]+")


@dataclass(frozen=True, slots=True)
class Slot:
    """One press: the buttons it may be; `group` where it is any button of that group."""

    buttons: tuple[str, ...]
    group: str | None = None


@dataclass(frozen=True, slots=True)
class Directions:
    """Directions as digits; `charge`: the first one is held."""

    digits: str = ""
    charge: bool = False


Word = Stance | Directions | Slot


@dataclass(frozen=True, slots=True)
class Reading:
    """What has been read so far. `closer` is the bracket that is still to come."""

    stance: Stance | None = None
    directions: str = ""
    direction_words: int = 0
    charge: bool = False
    slots: tuple[Slot, ...] = ()
    press: Press = Press.TAP
    closer: str = ""

    def plus(self, word: Word) -> Reading | None:
        """This reading with one more word; None where that word cannot come now."""
        if isinstance(word, Slot):
            done = len(self.slots) == SLOTS or (self.press is not Press.TAP and not self.closer)
            return None if done else replace(self, slots=(*self.slots, word))
        if self.slots or self.closer:
            return None
        if isinstance(word, Stance):
            return None if self.stance or self.direction_words else replace(self, stance=word)
        if self.direction_words == DIRECTION_WORDS:
            return None
        return replace(
            self,
            directions=self.directions + word.digits,
            direction_words=self.direction_words + 1,
            charge=self.charge or word.charge,
        )

    def bracketed(self, bracket: str) -> Reading | None:
        """This reading with a bracket that opens or closes held or released buttons."""
        if self.closer:
            return replace(self, closer="") if bracket == self.closer and self.slots else None
        if self.slots:
            return None
        held = bracket == "["
        return replace(self, press=Press.HOLD if held else Press.RELEASE, closer="]" if held else "[")


class Grammar:
    """The words of one game, and how they make up a move."""

    def __init__(self, game: Game) -> None:
        self._words = _vocabulary(game)
        self._longest = max(map(len, self._words))

    def read(self, text: str, moves_of: Callable[[Reading], list[Move]]) -> tuple[list[Move], int]:
        """The moves that the text can mean, and how far it could be read at all.

        `moves_of` gives the moves of a whole reading.
        """
        furthest = 0

        def follow(place: int, reading: Reading) -> list[Move]:
            nonlocal furthest
            furthest = max(furthest, place)
            if place == len(text):
                return [] if reading.closer else moves_of(reading)
            for end, meanings in self._meanings(text, place):
                longer = [after for word in meanings if (after := reading.plus(word)) is not None]
                found = [move for after in longer for move in follow(end, after)]
                if found:
                    return found
            if text[place] in "[]":
                after_bracket = reading.bracketed(text[place])
                return follow(place + 1, after_bracket) if after_bracket is not None else []
            return []

        return follow(0, Reading()), furthest

    def slot(self, word: str) -> Slot | None:
        """The press a word or phrase names, if it names one."""
        return next((meaning for meaning in self._words.get(word, ()) if isinstance(meaning, Slot)), None)

    def _meanings(self, text: str, place: int) -> Iterator[tuple[int, list[Word]]]:
        """Where each word that begins here ends, the longest first, with its meanings."""
        if text[place] == "[":
            close = text.find("]", place)
            held = text[place + 1 : close] if close > 0 else ""
            for meaning in self._words.get(held, _digits(held)):
                if isinstance(meaning, Directions) and len(meaning.digits) == 1:
                    yield close + 1, [replace(meaning, charge=True)]
            return
        digits = _DIGITS.match(text, place)
        if digits:
            yield from _joined(text, digits.end(), _digits(digits.group()))
        for end in range(min(len(text), place + self._longest), place, -1):
            meanings = self._words.get(text[place:end])
            if meanings:
                yield from _joined(text, end, meanings)


def _joined(text: str, end: int, meanings: tuple[Word, ...]) -> Iterator[tuple[int, list[Word]]]:
    """The word with a dot or a plus after it, and the meanings which that leaves."""
    after = text[end : end + 1]
    pressed: list[Word] = [meaning for meaning in meanings if isinstance(meaning, Slot)]
    if after == ".":
        yield end + 1, [meaning for meaning in meanings if not isinstance(meaning, Slot)]
    elif after == "+" and end + 1 < len(text):
        yield end + 1, pressed or list(meanings)
    else:
        yield end, list(meanings)


def _digits(run: str) -> tuple[Word, ...]:
    plain = run.isascii() and run.isdigit() and "0" not in run
    return (Directions(run),) if run in TURNS or plain else ()


def _vocabulary(game: Game) -> dict[str, tuple[Word, ...]]:
    """Every word with its meanings; a game's own motions and buttons replace the trade's words."""
    before: dict[str, list[Word]] = {words.CHARGE: [Directions(charge=True)]}
    for digits, names in (words.DIRECTIONS | words.MOTIONS).items():
        before |= {name: [Directions(digits)] for name in names}
    for motion in game.motions:
        if motion.forms:
            before[name_key(fold(motion.name).chars)] = [
                Directions(motion.forms[0], bool(motion.charge_frames))
            ]
    for stance, names in words.STANCES.items():
        for name in names:
            before.setdefault(name, []).insert(0, stance)
    presses = _presses(game)
    every = before.keys() | presses.keys()
    return {
        word: (*before.get(word, ()), *((presses[word],) if word in presses else ()))
        for word in every
        if word
    }


def _presses(game: Game) -> dict[str, Slot]:
    """Words for buttons: names before strengths, and those before groups, where two would be alike."""
    presses: dict[str, Slot] = {}
    groups: dict[str, tuple[str, ...]] = {}
    for button in game.buttons:
        if button.group:
            groups[button.group] = (*groups.get(button.group, ()), button.name)
    called = {group: [name_key(fold(group).chars)] for group in groups}
    for short, group in group_shorts(game.buttons).items():
        called[group].append(short)
    for group, names in groups.items():
        presses |= {word: Slot(names, group) for word in called[group]}
    for strength in dict.fromkeys(button.strength for button in game.buttons if button.strength):
        strong = [button for button in game.buttons if button.strength == strength]
        word = name_key(fold(strength).chars)
        presses[word] = Slot(tuple(button.name for button in strong))
        for group in groups:
            names = tuple(button.name for button in strong if button.group == group)
            if names:
                presses |= {word + of_group: Slot(names) for of_group in called[group]}
    return presses | {fold(button.name).chars: Slot((button.name,)) for button in game.buttons}
