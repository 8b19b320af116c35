"""Kinds of moves that a question names in place of one move: "a level 2", "a special", "qcf"."""

from __future__ import annotations

import re
from dataclasses import dataclass

from core.model import Character, Game, Move, MoveKind
from core.notation import words
from core.notation.tokens import fold, name_key

_ARTICLE = r"(?:(?:a|an|any|some|one|the|my|your|their) )?"
_LEVEL = re.compile(_ARTICLE + r"(?:super )?(?:level|lvl|lv)[ -]?(one|two|three|four|[1-9])(?: supers?)?")
_KIND = re.compile(_ARTICLE + r"(enhanced special|special|super|throw|normal)s?(?: moves?| attacks?)?")
_NUMBERS = {"one": 1, "two": 2, "three": 3, "four": 4}
_MOTION = re.compile(_ARTICLE + r"(.+?)(?: motion| specials?| moves?)?")
_STEPS = re.compile(r"(?:j\.?)?(?:\[[1-9]\])?([0-9]*)")


@dataclass(frozen=True, slots=True)
class MoveClass:
    """Moves that were named together, and what the question called them. `is_list`: they are so
    many different moves that a list of them answers best; else one of them is meant."""

    called: str
    moves: tuple[Move, ...]
    is_list: bool


def class_of(text: str, game: Game, character: Character) -> MoveClass | None:
    """The character's moves that the text names together; None where it names no kind of move."""
    folded = " ".join(fold(text).chars.split())
    if found := _LEVEL.fullmatch(folded):
        level = _NUMBERS.get(found[1]) or int(found[1])
        moves = [move for move in character.moves if move.kind is MoveKind.SUPER and move.level == level]
        return MoveClass(f"level {level}", tuple(moves), is_list=True)
    if found := _KIND.fullmatch(folded):
        moves = [move for move in character.moves if move.kind.value == found[1]]
        return MoveClass(found[1], tuple(moves), is_list=True)
    found = _MOTION.fullmatch(folded)
    digits = _motions(game).get(name_key(found[1])) if found else None
    if found is None or digits is None:
        return None
    moves = [move for move in character.moves if _is_done_with(move, digits)]
    return MoveClass(found[1], tuple(moves), is_list=False) if moves else None


def _motions(game: Game) -> dict[str, str]:
    """The digits of every motion by what it is called."""
    called = {name: digits for digits, names in words.MOTIONS.items() for name in (digits, *names)}
    for motion in game.motions:
        if motion.forms:
            called[name_key(fold(motion.name).chars)] = motion.forms[0]
            called[motion.forms[0]] = motion.forms[0]
    return called


def _is_done_with(move: Move, digits: str) -> bool:
    steps = _STEPS.match(move.input)
    return steps is not None and steps[1] == digits and steps.end() < len(move.input)
