"""A patch's numbers and rules, one by one and as the game file writes them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

from core.model import CancelRule, Move, MoveKind
from core.patches.patch import Change, CharacterPatch, MoveChange, Patch
from core.patches.written import cells_of, written

KEYS = {
    "link_buffer_frames": "link_frames",
    "cancel_buffer_frames": "cancel_frames",
}
"""Keys of the game file that are not the field's own name."""
NAMED = {
    "buttons": "button",
    "hit_states": "hit_state",
    "gauges": "gauge",
    "motions": "motion",
    "schemes": "scheme",
}
"""Fields that hold entries with names, and what the game file calls one."""
FOLLOWS = {
    "hitstun": {"on_hit", "active", "recovery", "hitstop"},
    "blockstun": {"on_block", "active", "recovery", "hitstop"},
}
"""The last hit's stun follows from these columns: that it changed beside one of them says nothing more."""


@dataclass(frozen=True, slots=True)
class NumberChange:
    """One value that changed, as the game file writes it: empty where that version leaves it out.

    `field`: the game file's column (startup, recovery, on_hit, on_counter_hit, active, damage ...), or its
    key for a value of the game or of the character ("link_frames", "bonus_frames of counter hit"). `input`
    is empty there, and `character` for the game's own; moves are called by their new inputs. `scheme`: the
    control scheme under which the move is changed so; None for the move itself.
    """

    character: str
    input: str
    field: str
    old: str
    new: str
    scheme: str | None = None


@dataclass(frozen=True, slots=True)
class RuleChange:
    """A cancel or chain rule in both versions; None in the one that lacks it.

    `character`: whose own rule it is; empty for the game's.
    """

    character: str
    old: CancelRule | None
    new: CancelRule | None

    @property
    def name(self) -> str:
        """The rule's name."""
        rule = self.new or self.old
        return rule.name if rule else ""


def number_changes(patch: Patch) -> tuple[NumberChange, ...]:
    """The values that changed, names of games, versions and other names of a thing aside: the game's, then by
    character, each move's in the order of the columns.

    Not only numbers: a move's kind, tags and the like are among them. What belongs to moves that only one
    version has is not; what belongs to renamed ones is.
    """
    found = [NumberChange("", "", *one) for change in patch.changes for one in _of_game(change)]
    for who in patch.characters:
        found += [NumberChange(who.name, "", *one) for change in who.changes for one in _of_game(change)]
        found += [one for change in who.moves for one in _of_move(who, change)]
        found += [one for renamed in who.renamed for one in _between(who.name, renamed.old, renamed.new)]
    return tuple(found)


def rule_changes(patch: Patch) -> tuple[RuleChange, ...]:
    """The rules that were added, removed or changed: the game's, then by character; in the new order, those
    that are gone last."""
    found = _rules("", patch.changes)
    for who in patch.characters:
        found += _rules(who.name, who.changes)
    return tuple(found)


def _rules(character: str, changes: Iterable[Change]) -> list[RuleChange]:
    found: list[RuleChange] = []
    for change in changes:
        if change.field == "rules":
            old, new = _by_name(change.old), _by_name(change.new)
            found += [
                RuleChange(character, old.get(name), new.get(name))
                for name in dict.fromkeys((*new, *old))
                if old.get(name) != new.get(name)
            ]
    return found


def _of_move(who: CharacterPatch, change: MoveChange) -> Iterator[NumberChange]:
    """Both versions of the move as far as they differ; the rest of it is not in the patch."""
    # A movement is a move whose input names no button: its recovery is its whole length.
    pressed = any(sign.isalpha() for sign in change.input.removeprefix("j."))
    blank = Move(change.input, "", MoveKind.NORMAL if pressed else MoveKind.MOVEMENT)
    old: dict[str, Any] = {one.field: one.old for one in change.changes}
    new: dict[str, Any] = {one.field: one.new for one in change.changes}
    return _between(who.name, replace(blank, **old), replace(blank, **new))


def _between(character: str, old: Move, new: Move) -> Iterator[NumberChange]:
    """What differs between two versions of a move, and what differs under control schemes in another way."""
    changed = _cells_changed(old, new)
    for column, before, after in changed:
        yield NumberChange(character, new.input, column, before, after)
    schemes_before, schemes_after = dict(old.by_scheme), dict(new.by_scheme)
    for scheme in dict.fromkeys((*schemes_before, *schemes_after)):
        first, then = schemes_before.get(scheme), schemes_after.get(scheme)
        if first is None or then is None:
            before, after = ("" if move is None else move.input for move in (first, then))
            yield NumberChange(character, new.input, "input", before, after, scheme)
            continue
        for column, before, after in _cells_changed(first, then, inputs=True):
            if (column, before, after) not in changed:
                yield NumberChange(character, new.input, column, before, after, scheme)


def _cells_changed(old: Move, new: Move, inputs: bool = False) -> list[tuple[str, str, str]]:
    first, then = cells_of(old), cells_of(new)
    if inputs:
        first, then = {"input": old.input, **first}, {"input": new.input, **then}
    columns = [column for column in dict.fromkeys((*first, *then)) if first.get(column) != then.get(column)]
    for column, others in FOLLOWS.items():
        if column in columns and others & set(columns) and _last_alone(first[column], then[column]):
            columns.remove(column)
    return [(column, first.get(column, ""), then.get(column, "")) for column in columns]


def _last_alone(old: str, new: str) -> bool:
    """Whether two cells with a value for each hit differ in the last alone."""
    return old.split("; ")[:-1] == new.split("; ")[:-1]


def _of_game(change: Change) -> Iterator[tuple[str, str, str]]:
    """Key, old and new value for each value that differs in a field of a game or a character."""
    field, old, new = change.field, change.old, change.new
    if field in ("name", "version", "aliases", "rules"):
        return
    if field in NAMED:
        yield from _of_entries(NAMED[field], _by_name(old), _by_name(new))
    elif is_dataclass(old) or is_dataclass(new):
        yield from _of_fields(old, new, f" of {field}")
    elif field == "keeps_newest_press":
        yield "held_press", "newest" if old else "first", "newest" if new else "first"
    else:
        yield KEYS.get(field, field), written(old), written(new)


def _of_entries(
    section: str, old: Mapping[str, Any], new: Mapping[str, Any]
) -> Iterator[tuple[str, str, str]]:
    for name in dict.fromkeys((*old, *new)):
        if name in old and name in new:
            yield from _of_fields(old[name], new[name], f" of {name}")
        else:
            yield section, name if name in old else "", name if name in new else ""


def _of_fields(old: Any, new: Any, tail: str) -> Iterator[tuple[str, str, str]]:
    """Each field that differs; where one version has nothing, each that says anything in the other."""
    for field in fields(old if new is None else new):
        before, after = (written(getattr(one, field.name, None)) for one in (old, new))
        if field.name != "aliases" and before != after:
            yield field.name + tail, before, after


def _by_name(entries: Any) -> dict[str, Any]:
    return {entry.name: entry for entry in entries}
