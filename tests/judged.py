"""A small game whose numbers are known, and routes judged in it."""

from __future__ import annotations

from typing import Any

from builders import game_of, row, solo

from core.model import Game
from core.notation import parse_route
from core.routes import RouteCheck, Start, check
from core.verdict import Code

SPECIAL_CANCEL = {
    "name": "special cancel",
    "from": {"kinds": ["normal"]},
    "into": {"kinds": ["special", "super"]},
    "contact": ["hit"],
}
CHAIN = {
    "name": "chain",
    "from": {"kinds": ["normal"], "strengths": ["light"]},
    "into": {"kinds": ["normal"], "strengths": ["light"]},
    "contact": ["hit"],
    "first_frame": 2,
    "last_frame": 6,
    "per_route": 1,
}


def usual(**rules: Any) -> Game:
    """5LP links into itself with W = 2 and into 5MP with W = 1; 236LP is cancelled into."""
    return game_of(
        row("5LP", 4, 3, 7, 5, 2, damage=30, pushback_on_hit=0.5, reach=1.5, gain="salt 10"),
        row("5MP", 5, 3, 12, 3, 0, damage=60, pushback_on_hit=0.5, reach=1.2, gain="salt 10"),
        row("236LP", 8, 3, 20, -4, -8, damage=100, pushback_on_hit=0.7, reach=3, kind="special"),
        row("236MP", 8, 3, 20, "KD 40", -8, damage=200, kind="super", reach=3, cost="salt 30"),
        gauge=[{"name": "salt", "maximum": 40, "start": 20}],
        cancel=[SPECIAL_CANCEL],
        chain=[CHAIN],
        **rules,
    )


def judged(game: Game, text: str, start: Start | None = None) -> RouteCheck:
    return check(game, solo(game), parse_route(text, game, solo(game)), start)


def codes(found: RouteCheck) -> set[Code]:
    return {reason.code for reason in found.verdict.reasons}
