"""Work for one question is bounded, however its words were put together and however large the game is."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import product

import pytest
from demo import demo

from bot.results.ask import Asked, TwoQuestions
from bot.services import ask
from bot.services.ask import AskService
from bot.services.resolve import Resolver
from core.gamefile.characters import MAX_CHARACTERS
from core.model import Game

SEED = 20260101
WORDS = (
    "does",
    "is",
    "safe",
    "link",
    "into",
    "cancel",
    "on",
    "hit",
    "block",
    "meaty",
    "and",
    "what",
    "5MP",
    "2MP",
)


def crowded() -> Game:
    """As many characters as a game may have, each with the same moves."""
    game = demo("saltglass")
    who = game.characters[0]
    names = [f"Wick {one}{other}o" for one, other in product("bdfgklm", "aeiouyw")] + ["Wick"]
    everybody = (replace(who, name=name, aliases=()) for name in names)
    crowd = replace(game, characters=tuple(everybody))
    assert len(crowd.characters) == MAX_CHARACTERS
    return crowd


def test_a_question_put_together_by_chance_is_looked_at_only_so_often(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    looked = 0
    listed = Resolver._listed

    def counted(self: Resolver, *args: object) -> object:
        nonlocal looked
        looked += 1
        return listed(self, *args)  # type: ignore[arg-type]

    monkeypatch.setattr(Resolver, "_listed", counted)
    service, chance = AskService(crowded()), random.Random(SEED)
    most = 0
    for _ in range(15):
        looked = 0
        service.ask(" ".join(chance.choices(WORDS, k=12)))
        most = max(most, looked)
    assert MAX_CHARACTERS < most < ask.MOST_LOOKS + MAX_CHARACTERS


def test_who_asks_properly_is_answered_in_the_largest_game_as_well() -> None:
    service = AskService(crowded())
    who = service.game.characters[-2].name
    asked = service.ask(f"hey, does {who}'s 5MP link into 2MP on counter hit?")
    assert isinstance(asked, Asked)
    assert asked.character.name == who
    both = service.ask("does 5MP link into 2MP? and what punishes 5HP?", who)
    assert isinstance(both, TwoQuestions)
