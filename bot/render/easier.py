"""An easier route in a homework's place, in words."""

from __future__ import annotations

from bot.render.card import Card, Group, source_of
from bot.render.reps import what_words
from bot.render.route_find import lands_words
from bot.render.wording import say
from bot.results.coaching import EasierRoute
from core.model import Game


def easier_card(found: EasierRoute, game: Game) -> Card:
    """What the student could ask the coach for."""
    why = (
        say(
            "easier",
            "route",
            chance=lands_words(found.chance),
            now=lands_words(found.chance_now),
            was=what_words(found.view.homework.subject),
        ),
        say("easier", "damage", damage=found.damage),
    )
    groups = (
        Group(say("easier-questions", "why"), why),
        Group(say("easier-questions", "next"), (say("easier", "next"),)),
    )
    return Card(say("easier", "lead", what=found.what), groups, (), source_of(game))
