"""Questions about what to learn: which they are, and what routes to look for."""

from __future__ import annotations

from typing import TypeGuard

from bot.results.ask import Asked, Kind, NothingBefore, Refusal
from core.notation import Step, format_step
from core.verdict import Answer


def asks_to_learn(result: Asked | Refusal) -> TypeGuard[Asked]:
    """Whether somebody asks what to learn from a move, and something may follow it."""
    return isinstance(result, Asked) and result.kind is Kind.LEARN and result.answer is Answer.YES


def asks_what_next(result: Asked | Refusal) -> bool:
    """Whether somebody asks what to learn, of no move, and asked about none before."""
    return isinstance(result, NothingBefore) and result.question.kind is Kind.LEARN


def starter_of(asked: Asked) -> str:
    """The move that the question is about, as a search for routes takes it: whose it is, and how it hits."""
    said, move = asked.question.said, asked.moves[0]
    late = said.meaty or said.active_frame is not None
    step = Step(move, state=asked.contact.state, meaty=late, meaty_frame=said.active_frame)
    return f"{asked.character.name}: {format_step(step)}"
