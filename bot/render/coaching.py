"""Coaches and their students in words: who asks whom, how it ends, and why something cannot be."""

from __future__ import annotations

from bot.render.card import Card, source_of
from bot.render.log import log_refusal_card
from bot.render.wording import Fact, say
from bot.results.coaching import CoachRefusal, CoachRefusalCode
from bot.results.log import LogRefusal
from core.model import Game
from core.text import quoted


def coach_refusal_card(refusal: CoachRefusal | LogRefusal, game: Game) -> Card:
    """Why nothing was stored or changed."""
    if isinstance(refusal, LogRefusal):
        return log_refusal_card(refusal, game)
    facts: dict[str, Fact] = {name: fact for name, fact in refusal.facts.items() if fact != ""}
    if "typed" in refusal.facts:
        facts["typed"] = quoted(str(refusal.facts["typed"]))
    if "field" in facts:
        facts["field"] = say("coach-fields", str(facts["field"]))
    key = refusal.code.value
    if refusal.code is CoachRefusalCode.WRONG_STAGE:
        key = f"{key}-{facts.pop('stage')}"
    return Card(say("coach-refusals", key, 60, **facts), (), (), source_of(game))
