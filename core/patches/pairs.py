"""The moves that two versions share, and moves alike put together, so that what holds for two holds for all.

Every pair of moves asked one by one would take far too long. What a link or a cancel can tell of a move is
made into a key; moves with one key in the old version and one in the new are a group, and one question
for two groups answers for all their pairs.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass
from typing import Generic, TypeVar

from core.model import Character, Game, Move
from core.patches.patch import Patch

Key = TypeVar("Key", bound=Hashable)


class Numbers(Generic[Key]):
    """A short number for each of many equal keys, quicker to compare and to look up than the keys."""

    def __init__(self) -> None:
        self._numbers: dict[Key, int] = {}

    def __call__(self, key: Key) -> int:
        return self._numbers.setdefault(key, len(self._numbers))


@dataclass(frozen=True, slots=True)
class Twins:
    """A character in both versions, and the moves of both in the old order, renamed ones followed."""

    place: int
    old: Character
    new: Character
    moves: tuple[tuple[Move, Move], ...]


@dataclass(frozen=True, slots=True)
class Group(Generic[Key]):
    """Moves alike in both versions, by their places; the first stands for all."""

    old: Key
    new: Key
    places: tuple[int, ...]

    @property
    def changed(self) -> bool:
        """Whether the patch changed what is told of them."""
        return self.old != self.new


def twins(old: Game, new: Game, patch: Patch) -> Iterator[Twins]:
    """The characters that both versions have."""
    renamed = {(who.name, one.old.input): one.new.input for who in patch.characters for one in who.renamed}
    for place, first in enumerate(old.characters):
        then = new.character(first.name)
        if then is not None:
            moves = {move.input: move for move in then.moves}
            names = ((move, renamed.get((first.name, move.input), move.input)) for move in first.moves)
            shared = tuple((move, moves[name]) for move, name in names if name in moves)
            yield Twins(place, first, then, shared)


def grouped(keys: Iterable[tuple[Key, Key]]) -> list[Group[Key]]:
    """The places of equal pairs of an old and a new key together, in the order of their first."""
    found: dict[tuple[Key, Key], list[int]] = {}
    for place, pair in enumerate(keys):
        found.setdefault(pair, []).append(place)
    return [Group(old, new, tuple(places)) for (old, new), places in found.items()]
