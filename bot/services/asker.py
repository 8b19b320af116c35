"""Who asks, and what they asked about before."""

from __future__ import annotations

from dataclasses import dataclass

from core.model import Character


@dataclass(frozen=True, slots=True)
class Recent:
    """What somebody asked about last: the game, the character and the moves' inputs, by name."""

    game: str
    character: str
    moves: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Asker:
    """What stands in where a question does not say: the asker's own character and controls, whose
    moves the question is about, and the moves asked about before."""

    mine: Character | None = None
    scheme: str | None = None
    owner: Character | None = None
    recent: Recent | None = None
