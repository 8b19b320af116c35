"""Making the new version of a game of the old one and a patch."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from core.model import Character, Game
from core.patches.patch import Change, CharacterPatch, Patch, default_order


def apply(patch: Patch, old: Game) -> Game:
    """The new version: equal to the one that the patch was made from, order included."""
    patches = {one.name: one for one in patch.characters}
    gone = {who.name for who in patch.removed}
    kept = {
        who.name: _character(patches[who.name], who) if who.name in patches else who
        for who in old.characters
        if who.name not in gone
    }
    whole = kept | {who.name: who for who in patch.added}
    order = patch.order or default_order(kept, kept, {}, [who.name for who in patch.added])
    return replace(old, **_values(patch.changes), characters=tuple(whole[name] for name in order))


def _character(patch: CharacterPatch, old: Character) -> Character:
    changed = {one.input: _values(one.changes) for one in patch.moves}
    gone = {move.input for move in patch.removed} | {one.old.input for one in patch.renamed}
    kept = {
        move.input: replace(move, **changed[move.input]) if move.input in changed else move
        for move in old.moves
        if move.input not in gone
    }
    come = [one.new for one in patch.renamed] + list(patch.added)
    whole = kept | {move.input: move for move in come}
    moved = {one.old.input: one.new.input for one in patch.renamed}
    before = [move.input for move in old.moves]
    order = patch.order or default_order(before, kept, moved, [move.input for move in patch.added])
    return replace(old, **_values(patch.changes), moves=tuple(whole[name] for name in order))


def _values(changes: Iterable[Change]) -> Mapping[str, Any]:
    return {change.field: change.new for change in changes}
