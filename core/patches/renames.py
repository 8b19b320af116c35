"""Which removed and added moves of a character are likely one move under another input.

By the strongest sign there is: the same name (kind and strength the same too, else whatever they are); then
the one's input among the other's aliases, or an alias in common; then all numbers the same. A sign counts
only where it joins one removed move and one added move and no others: what could be several is not guessed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import replace

from core.model import Move, MoveKind

Signs = Callable[[Move], Iterable[Hashable]]


def renamed_moves(removed: Sequence[Move], added: Sequence[Move]) -> tuple[tuple[Move, Move], ...]:
    """The pairs of a removed and an added move that are likely one, in the order of the removed ones."""
    left, come = dict(enumerate(removed)), dict(enumerate(added))
    found: dict[int, Move] = {}
    for signs in (_name_and_weight, _name, _calls, _numbers):
        for first, then in _joined(left, come, signs):
            found[first] = come.pop(then)
            del left[first]
    return tuple((removed[first], found[first]) for first in sorted(found))


def _joined(removed: dict[int, Move], added: dict[int, Move], signs: Signs) -> list[tuple[int, int]]:
    """The numbers of those that share a sign with each other and with nothing else."""
    by_sign: dict[Hashable, list[int]] = defaultdict(list)
    for number, move in added.items():
        for sign in set(signs(move)):
            by_sign[sign].append(number)
    partners = {
        number: {other for sign in set(signs(move)) for other in by_sign.get(sign, ())}
        for number, move in removed.items()
    }
    wanted: dict[int, int] = defaultdict(int)
    for others in partners.values():
        for other in others:
            wanted[other] += 1
    return [
        (number, other)
        for number, others in partners.items()
        if len(others) == 1
        for other in others
        if wanted[other] == 1
    ]


def _name_and_weight(move: Move) -> Iterable[Hashable]:
    return [(move.name.casefold(), move.kind, move.strength)]


def _name(move: Move) -> Iterable[Hashable]:
    return [move.name.casefold()]


def _calls(move: Move) -> Iterable[Hashable]:
    return [word.casefold() for word in (move.input, move.name, *move.aliases)]


def _numbers(move: Move) -> Iterable[Hashable]:
    """All that the move does, where that is enough to tell it from others."""
    moving = move.kind is MoveKind.MOVEMENT and move.recovery_frames is not None
    if not moving and (move.startup_frames is None or not move.hits or move.on_hit is None):
        return []
    return [replace(move, input="", name="", aliases=(), by_scheme=())]
