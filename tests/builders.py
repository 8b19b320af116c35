"""Small invented games for tests, written as a coach writes them and loaded by the real loader."""

from __future__ import annotations

from typing import Any

from core.gamefile import load
from core.model import Character, Game, Move

BUTTONS = {
    f"{strength[0].upper()}{group[0].upper()}": {"group": group, "strength": strength}
    for group in ("punch", "kick")
    for strength in ("light", "medium", "heavy")
}

RULES: dict[str, Any] = {
    "name": "Test game",
    "version": "1",
    "fps": 60,
    "strengths": ["light", "medium", "heavy"],
    "buttons": BUTTONS,
    "buffers": {"link_frames": 3, "cancel_frames": 4, "cancel_window_frames": 2},
    "hitstop": {"light": 8, "medium": 10, "heavy": 12, "special": 10, "super": 14},
    "motion": [{"name": "quarter circle forward", "forms": ["236"]}],
}


def row(
    input: str, startup: int, active: str | int, recovery: int, on_hit: Any, on_block: Any, **more: Any
) -> Any:
    """One move as a row of a game file; `more` are further fields."""
    numbers = {"startup": startup, "active": str(active), "recovery": recovery}
    numbers |= {"on_hit": str(on_hit), "on_block": str(on_block)}
    return {"input": input, "name": f"Move {input}"} | numbers | more


def game_of(*rows: dict[str, Any], character: dict[str, Any] | None = None, **rules: Any) -> Game:
    """A game with one character, Solo, who has these moves; `rules` replace parts of the usual ones."""
    solo = {"name": "Solo", "move": list(rows)} | (character or {})
    return load(RULES | {"character": [solo]} | rules, {})


def solo(game: Game) -> Character:
    """The game's one character."""
    return game.characters[0]


def move(game: Game, text: str) -> Move:
    """The move with this input."""
    return next(move for move in solo(game).moves if move.input == text)
