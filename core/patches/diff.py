"""Comparing two versions of a game."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import fields

from core.model import Character, Game, Move
from core.patches.patch import Change, CharacterPatch, MoveChange, Patch, Renamed, default_order
from core.patches.renames import renamed_moves


def compare(old: Game, new: Game) -> Patch:
    """All that differs: `apply` makes the new version of the old one with it.

    As in any game that was loaded, no two characters of a game may share their name, and no two moves of a
    character their input.
    """
    before = {who.name: who for who in old.characters}
    after = {who.name: who for who in new.characters}
    added = tuple(who for who in new.characters if who.name not in before)
    both = (_character(who, after[who.name]) for who in old.characters if who.name in after)
    names = [who.name for who in new.characters]
    usual = default_order(before, after, {}, [who.name for who in added])
    return Patch(
        _changes(old, new, aside="characters"),
        added,
        tuple(who for who in old.characters if who.name not in after),
        tuple(patch for patch in both if patch != CharacterPatch(patch.name)),
        _order(names, usual),
    )


def _character(old: Character, new: Character) -> CharacterPatch:
    if old == new:
        return CharacterPatch(old.name)
    before = {move.input: move for move in old.moves}
    after = {move.input: move for move in new.moves}
    removed = [move for move in old.moves if move.input not in after]
    added = [move for move in new.moves if move.input not in before]
    renamed = renamed_moves(removed, added)
    gone, come = {move.input for move, _ in renamed}, {move.input for _, move in renamed}
    added = [move for move in added if move.input not in come]
    changed = (
        MoveChange(move.input, _changes(move, after[move.input], aside="input"))
        for move in old.moves
        if move.input in after and move != after[move.input]
    )
    inputs = [move.input for move in new.moves]
    moved = {first.input: then.input for first, then in renamed}
    usual = default_order(before, after, moved, [move.input for move in added])
    return CharacterPatch(
        old.name,
        _changes(old, new, aside="moves"),
        tuple(added),
        tuple(move for move in removed if move.input not in gone),
        tuple(Renamed(first, then) for first, then in renamed),
        tuple(changed),
        _order(inputs, usual),
    )


def _order(names: Sequence[str], usual: Iterable[str]) -> tuple[str, ...] | None:
    return None if list(usual) == list(names) else tuple(names)


def _changes(old: Game | Character | Move, new: Game | Character | Move, aside: str) -> tuple[Change, ...]:
    """The fields that differ, in their order; the one that is looked at by itself is left aside."""
    return tuple(
        Change(field.name, before, after)
        for field in fields(old)
        if field.name != aside and (before := getattr(old, field.name)) != (after := getattr(new, field.name))
    )
