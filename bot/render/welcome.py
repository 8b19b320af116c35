"""The first screen and the help: what can be asked here, with examples that work."""

from __future__ import annotations

from bot.render.card import Card, Group, source_of
from bot.render.wording import say
from bot.results.ask import Welcome

_FIRST_WAYS = ("way-mention", "way-commands", "way-practice")
_WAYS = (*_FIRST_WAYS, "way-moves", "way-own", "way-it")


def welcome_card(welcome: Welcome) -> Card:
    """A greeting with questions to try and what to type; short enough for a phone's screen."""
    return _card(welcome, _FIRST_WAYS)


def help_card(welcome: Welcome) -> Card:
    """Questions to try, and every way to ask."""
    return _card(welcome, _WAYS)


def _card(welcome: Welcome, ways: tuple[str, ...]) -> Card:
    how = Group(say("welcome", "ways"), tuple(say("welcome", way) for way in ways))
    lead = say("welcome", "lead", game=welcome.game.name)
    return Card(lead, (*_examples(welcome), how), (), source_of(welcome.game))


def _examples(welcome: Welcome) -> tuple[Group, ...]:
    return (Group(say("welcome", "try"), welcome.examples),) if welcome.examples else ()
