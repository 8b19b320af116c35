"""What differs between two versions of a game, in lines of words."""

from __future__ import annotations

from collections.abc import Iterator

from bot.render.limits import first_lines
from bot.render.wording import field_name, say
from core.patches import CharacterPatch, NumberChange, Patch, RuleChange, number_changes, rule_changes

SEVERAL = ("tags", "aliases")
"""Fields that hold more than one thing."""


def change_lines(patch: Patch, game_name: str) -> tuple[str, ...]:
    """All that changed, a line each: characters and moves that came, went or are called otherwise, then
    numbers, then rules; one line where only words or the order differ, and none where nothing does."""
    lines = [
        *(say("game-changes", "character-added", character=one.name) for one in patch.added),
        *(say("game-changes", "character-removed", character=one.name) for one in patch.removed),
    ]
    for character in patch.characters:
        lines += _moves(character)
    lines += [number_line(one, game_name) for one in number_changes(patch)]
    lines += [_rule(one) for one in rule_changes(patch)]
    others = [one for one in patch.changes if one.field != "version"]
    if not lines and (patch.characters or patch.order or others):
        lines.append(say("game-changes", "other"))
    return tuple(lines)


def shown_changes(patch: Patch, game_name: str, most: int) -> tuple[str, ...]:
    """The first of these lines, and how many more there are."""
    return first_lines(change_lines(patch, game_name), most, "game-changes")


def number_line(change: NumberChange, game_name: str) -> str:
    """One number that changed."""
    one = "numbers" if change.field in SEVERAL else "number"
    how = "" if change.old and change.new else "-given" if change.new else "-left-out"
    return say(
        "game-changes",
        one + how,
        whose=_whose(change, game_name),
        field=field_name(change.field),
        old=change.old,
        new=change.new,
    )


def changes_in_all(patch: Patch) -> str:
    """How much changed, in one line; there must be something."""
    counted = {
        "characters-new": len(patch.added),
        "characters-gone": len(patch.removed),
        "moves-new": sum(len(one.added) for one in patch.characters),
        "moves-gone": sum(len(one.removed) for one in patch.characters),
        "moves-renamed": sum(len(one.renamed) for one in patch.characters),
        "numbers": len(number_changes(patch)),
        "rules": len(rule_changes(patch)),
    }
    parts = [say("game-counts", key, count=count) for key, count in counted.items() if count]
    return say("game-counts", "in-all", parts=", ".join(parts))


def _whose(change: NumberChange, game_name: str) -> str:
    if not change.input:
        return change.character or game_name
    key = "of-move" if change.scheme is None else "of-move-scheme"
    return say("game-changes", key, character=change.character, input=change.input, scheme=change.scheme)


def _moves(patch: CharacterPatch) -> Iterator[str]:
    for key, moves in (("move-added", patch.added), ("move-removed", patch.removed)):
        for move in moves:
            yield say("game-changes", key, character=patch.name, input=move.input, name=move.name)
    for pair in patch.renamed:
        old, new = pair.old.input, pair.new.input
        yield say("game-changes", "renamed", character=patch.name, old=old, new=new)


def _rule(change: RuleChange) -> str:
    how = "rule-changed" if change.old and change.new else "rule-added" if change.new else "rule-removed"
    key = "rule-of" if change.character else "rule"
    return say(
        "game-changes",
        key,
        character=change.character,
        name=change.name,
        how=say("game-changes", how),
    )
