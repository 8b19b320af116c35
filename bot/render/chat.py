"""What is said in chat about settings, old buttons and what a move did."""

from __future__ import annotations

from collections.abc import Sequence

from bot.render.card import Card, Group, source_of
from bot.render.wording import say
from core.model import Character, Game
from core.text import quoted


def gone_card(game: Game) -> Card:
    """For a button that an older version made."""
    return Card(say("chat", "gone"), (), (), source_of(game))


def own_card(game: Game, character: Character | None, controls: str | None) -> Card:
    """A member's own character and controls."""
    lead = say("chat", "character", character=character.name) if character else say("chat", "no-character")
    own = (say("chat", "controls", controls=controls),) if controls else ()
    how = Group(say("chat", "how"), (*own, say("chat", "how-character")))
    return Card(lead, (how,), (), source_of(game))


def no_touch_card(game: Game, typed: str, touches: Sequence[str]) -> Card:
    """For something that a first move cannot have done."""
    lead = say("chat", "no-touch", typed=quoted(typed), touches=", ".join(touches))
    return Card(lead, (), (), source_of(game))


def zone_card(zone: str, game: Game) -> Card:
    """A server's time zone."""
    how = Group(say("chat", "how"), (say("chat", "how-zone"),))
    return Card(say("chat", "zone", zone=zone), (how,), (), source_of(game))


def no_zone_card(typed: str, near: Sequence[str], game: Game) -> Card:
    """For a time zone that there is not; `near`: some that are spelt like it."""
    meant = ", ".join(near[:3])
    lead = say("chat", "no-zone", typed=quoted(typed), near=meant or None)
    return Card(lead, (), (), source_of(game))
