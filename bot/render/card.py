"""An answer laid out, wherever it is shown: one sentence, numbers by question, reasons, the source."""

from __future__ import annotations

from dataclasses import dataclass

from bot.render.wording import say
from core.model import Character, Game

WHY = "Why?"
"""What stands above the reasons."""


@dataclass(frozen=True, slots=True)
class Group:
    """Lines that answer one question of the reader's."""

    question: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """One answer: the advice in one sentence, groups of numbers, the reasons, the game and version."""

    lead: str
    groups: tuple[Group, ...]
    reasons: tuple[str, ...]
    source: str


def source_of(game: Game, character: Character | None = None) -> str:
    """Whose moves it is about, the game, and the version of its file."""
    who = character.name if character else None
    return say("pieces", "version", game=game.name, version=game.version, character=who)


def as_text(card: Card) -> str:
    """The card as plain text."""
    parts = [card.lead]
    parts += ["\n".join([group.question, *(f"  {line}" for line in group.lines)]) for group in card.groups]
    if card.reasons:
        parts.append("\n".join([WHY, *(f"  {line}" for line in card.reasons)]))
    return "\n\n".join([*parts, card.source])
