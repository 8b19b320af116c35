"""What differs between two versions of a game, as values: enough to make the new version of the old."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass

from core.model import Character, Move


@dataclass(frozen=True, slots=True)
class Change:
    """A field of a `Game`, a `Character` or a `Move`, and its values in the two versions."""

    field: str
    old: object
    new: object


@dataclass(frozen=True, slots=True)
class MoveChange:
    """What differs in a move that has the same input in both versions."""

    input: str
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Renamed:
    """What is likely one move: `old` under the input that only the old version has, `new` under the one that
    only the new has (see `core.patches.renames` for the rule). Its numbers may differ as well."""

    old: Move
    new: Move


@dataclass(frozen=True, slots=True)
class CharacterPatch:
    """What differs in a character that both versions have; moves are told apart by their inputs.

    `changes`: of the character's own fields, its moves aside. `order`: the inputs as the new version lists
    them; None where they follow from the old order, with renamed moves in their places and added ones last.
    """

    name: str
    changes: tuple[Change, ...] = ()
    added: tuple[Move, ...] = ()
    removed: tuple[Move, ...] = ()
    renamed: tuple[Renamed, ...] = ()
    moves: tuple[MoveChange, ...] = ()
    order: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class Patch:
    """All that differs; characters are told apart by their names.

    `changes`: of the game's own fields (version, buffers, rules ...), its characters aside. `characters`:
    those of both versions that differ, in the old order. `order`: the names as the new version lists them;
    None where they follow from the old order, added ones last.
    """

    changes: tuple[Change, ...] = ()
    added: tuple[Character, ...] = ()
    removed: tuple[Character, ...] = ()
    characters: tuple[CharacterPatch, ...] = ()
    order: tuple[str, ...] | None = None

    @property
    def empty(self) -> bool:
        """Whether the two versions are the same."""
        return self == Patch()

    def of(self, character: str) -> CharacterPatch:
        """What differs in this character; nothing where the patch does not speak of it."""
        return next((one for one in self.characters if one.name == character), CharacterPatch(character))


def default_order(
    old: Iterable[str], kept: Container[str], renamed: Mapping[str, str], added: Iterable[str]
) -> tuple[str, ...]:
    """The order that needs no telling: the old one without what is gone, renamed ones in their places (by old
    name the new), added ones last.

    >>> default_order(["a", "b", "c"], {"a"}, {"c": "C"}, ["d"])
    ('a', 'C', 'd')
    """
    names = (renamed.get(name, name) for name in old if name in renamed or name in kept)
    return (*names, *added)
