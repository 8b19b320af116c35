"""Which few of the routes found are given: the best, and others that nobody would call duplicates."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from core.model import Game, Move, MoveKind
from core.notation import Step
from core.routes.query import Aim
from core.routes.state import RouteState

NEAR_CHANCE = 0.02
NEAR_DAMAGE = 0.02
"""Routes whose chances differ by no more, and whose damage by no more of the greater, are worth the same."""


@dataclass(frozen=True, slots=True)
class End:
    """A route that may be given. `frames` is infinite where not known or not asked for."""

    steps: tuple[Step, ...]
    state: RouteState
    damage: int
    chance: float
    expected: float
    frames: float

    def worth(self, aim: Aim) -> tuple[float, ...]:
        """The more the better: first what is aimed at, then the rest."""
        match aim:
            case Aim.DAMAGE:
                return self.damage, self.chance, -self.frames
            case Aim.EXPECTED:
                return self.expected, self.damage, -self.frames
            case Aim.RELIABLE:
                return self.chance, self.damage, -self.frames
            case Aim.SHORTEST:
                return -self.frames, self.damage, self.chance


def choose(game: Game, aim: Aim, ends: Sequence[End], most: int) -> tuple[End, ...]:
    """The best, then others on the front of damage against chance, most damage first.

    Each of these is the one on the front that is farthest from all taken before it.
    """
    if not ends:
        return ()
    best = max(ends, key=lambda end: end.worth(aim))
    chosen = [best]
    others = [end for end in front(ends) if end is not best]
    top = max(end.damage for end in ends) or 1

    def apart(end: End) -> float:
        return min(
            math.hypot((end.damage - other.damage) / top, end.chance - other.chance) for other in chosen
        )

    while len(chosen) < most:
        others = [end for end in others if not any(alike(game, end, other) for other in chosen)]
        if not others:
            break
        chosen.append(max(others, key=apart))
    return (best, *sorted(chosen[1:], key=lambda end: (-end.damage, -end.chance)))


def front(ends: Sequence[End]) -> tuple[End, ...]:
    """The routes that no other beats in damage or chance without losing in the other; most damage first."""
    kept: list[End] = []
    for end in sorted(ends, key=lambda end: (-end.damage, -end.chance)):
        if not kept or end.chance > kept[-1].chance:
            kept.append(end)
    return tuple(kept)


def alike(game: Game, one: End, other: End) -> bool:
    """Whether two routes are near duplicates.

    They are where their moves are the same but for the strength of specials and supers and for how often
    one is repeated; where their chances are about the same and one is the beginning of the other, or
    their damage is about the same too.
    """
    mine, theirs = _shape(game, one.steps), _shape(game, other.steps)
    if mine == theirs:
        return True
    if abs(one.chance - other.chance) > NEAR_CHANCE:
        return False
    shorter = min(len(mine), len(theirs))
    near = NEAR_DAMAGE * max(one.damage, other.damage)
    return mine[:shorter] == theirs[:shorter] or abs(one.damage - other.damage) <= near


def _shape(game: Game, steps: Sequence[Step]) -> tuple[object, ...]:
    """The route's moves without strengths and repeats, each with how it follows."""
    families = [(_family(game, step.move), step.joined) for step in steps]
    return tuple(one for one, _ in groupby(families))


def _family(game: Game, move: Move) -> tuple[MoveKind, str]:
    """What moves have in common that differ in strength alone; normals of two strengths are two moves."""
    written = move.input
    if move.kind is not MoveKind.NORMAL:
        for button in sorted(game.buttons, key=lambda button: -len(button.name)):
            if button.strength is not None:
                written = written.replace(button.name, button.group or "*")
    return move.kind, written
