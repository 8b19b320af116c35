"""How long a server keeps tallies, in words."""

from __future__ import annotations

from bot.render.card import Card, Group, source_of
from bot.render.wording import say
from core.model import Game


def keeping_card(days: int | None, least: int, most: int, game: Game) -> Card:
    """What is chosen, and how it is changed."""
    lead = say("keeping", "for-ever") if days is None else say("keeping", "days", days=days)
    groups = [Group(say("keeping", "how"), (say("keeping", "change", least=least, most=most),))]
    if days is not None:
        groups.insert(0, Group(say("keeping", "then"), (say("keeping", "daily"),)))
    return Card(lead, tuple(groups), (), source_of(game))


def both_card(game: Game) -> Card:
    """Why nothing was chosen where both were named."""
    return Card(say("keeping", "both"), (), (), source_of(game))


def ask_keep_card(days: int, count: int, game: Game) -> Card:
    """Asks once more: it deletes `count` tallies."""
    lead = say("keeping", "ask" if count else "ask-none", days=days, count=count)
    then = (say("keeping", "daily"), say("keeping", "again"))
    return Card(lead, (Group(say("keeping", "then"), then),), (), source_of(game))
