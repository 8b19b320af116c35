"""The ask service of each game that the tests ask about, and a place for the command line."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import cache
from pathlib import Path

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


@pytest.fixture
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No config.toml of the developer's, no settings from the environment."""
    monkeypatch.chdir(tmp_path)
    for name in os.environ:
        if name.startswith("CORNERMAN_"):
            monkeypatch.delenv(name)
