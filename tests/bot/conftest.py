"""The ask service of each game that the tests ask about."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import pytest
from demo import demo

from bot.services.ask import AskService
from core.model import Game


@pytest.fixture(scope="session")
def service(trade_game: Game) -> Callable[[str], AskService]:
    """The service of a game, by the game's name."""

    @cache
    def of(name: str) -> AskService:
        return AskService(trade_game if name == "trade" else demo(name))

    return of
