"""Two versions of a game: what changed, and what follows from it. Import from here."""

from core.patches.apply import apply
from core.patches.consequences import consequences
from core.patches.diff import compare
from core.patches.effects import (
    CancelChange,
    Consequences,
    LinkChange,
    LinkEffect,
    RouteChange,
    RouteEffect,
    SavedText,
)
from core.patches.numbers import NumberChange, RuleChange, number_changes, rule_changes
from core.patches.patch import Change, CharacterPatch, MoveChange, Patch, Renamed
from core.patches.routes import route_changes

__all__ = [
    "CancelChange",
    "Change",
    "CharacterPatch",
    "Consequences",
    "LinkChange",
    "LinkEffect",
    "MoveChange",
    "NumberChange",
    "Patch",
    "Renamed",
    "RouteChange",
    "RouteEffect",
    "RuleChange",
    "SavedText",
    "apply",
    "compare",
    "consequences",
    "number_changes",
    "route_changes",
    "rule_changes",
]
