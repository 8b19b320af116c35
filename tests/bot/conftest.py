"""The ask service of each game that the tests ask about, and a place for the command line and the bot."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import pytest
from databases import new_database
from demo import demo
from examined import TOKEN

from bot import doctor
from bot.services.ask import AskService
from bot.storage import copying, held, postgresql, sqlite
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


@pytest.fixture
def healthy(monkeypatch: pytest.MonkeyPatch) -> None:
    """A place where all is well: a token, and room on the disk. The picture is drawn in one test only."""
    monkeypatch.setattr("bot.render.pictures.warm_up", lambda: None)
    monkeypatch.setenv("CORNERMAN_TOKEN", TOKEN)
    monkeypatch.setattr(doctor.shutil, "disk_usage", lambda _: SimpleNamespace(free=10_000 * doctor.MB))
    monkeypatch.setattr(doctor, "_font_list_folder", Path.cwd)


@pytest.fixture
def small_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    """Moving a table takes several transactions, and nobody waits long: not for a lock, not for the disk."""
    monkeypatch.setattr(sqlite, "PRAGMAS", ("synchronous=OFF", "foreign_keys=ON"))
    monkeypatch.setattr(copying, "PAGE", 3)
    monkeypatch.setattr(copying, "PAGES_AT_ONCE", 2)
    monkeypatch.setattr(postgresql, "LOCK_TIMEOUT_MS", 100)
    monkeypatch.setattr(held, "LOOKS", 2)


@pytest.fixture
def database(tmp_path: Path) -> Path:
    """A database as a bot that was stopped leaves it, beside the settings."""
    return new_database(tmp_path)
