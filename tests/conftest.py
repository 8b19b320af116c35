"""What all tests share: a repeatable hypothesis profile, and the games they ask about."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from core.model import Game

DATA = Path(__file__).parent / "data"

settings.register_profile(
    "repeatable",
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("repeatable")


@pytest.fixture(scope="session")
def trade_game() -> Game:
    """The trade's cancel rules as a rule set, with two invented players."""
    from bot.gamefiles import read_game

    return read_game(DATA / "games" / "trade")
