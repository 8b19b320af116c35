"""What all tests share: a repeatable hypothesis profile, a game, and what may not be skipped."""

from __future__ import annotations

import os
from collections.abc import Generator
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


MARKERS = {
    "browser": "opens the room in Debian's Chromium; skipped where it is not installed",
    "api_document": "checks against the platform's published API document; skipped where it is not at hand",
}
NEEDED = {name for name in os.environ.get("CORNERMAN_NEEDS", "").split(",") if name}
"""Markers of tests that must run here: .ci/run names them, and a skip of one fails."""


def pytest_configure(config: pytest.Config) -> None:
    unknown = NEEDED - MARKERS.keys()
    if unknown:
        raise pytest.UsageError(f"CORNERMAN_NEEDS: no tests are marked {', '.join(sorted(unknown))}")
    for name, what in MARKERS.items():
        config.addinivalue_line("markers", f"{name}: {what}")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    needed = sorted(NEEDED & {mark.name for mark in item.iter_markers()})
    if report.skipped and needed:
        report.outcome = "failed"
        report.longrepr = f"skipped, but CORNERMAN_NEEDS names {needed[0]}: {report.longrepr}"
    return report
