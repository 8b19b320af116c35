"""The room leaves to `cornerman run` what is for a host: its port and its log."""

from __future__ import annotations

import logging
from pathlib import Path

import pytest

from bot.client.shards import SINGLE, Shards
from bot.config import Settings
from bot.room import open as opening


class BuiltError(Exception):
    """The room would open now."""


def test_the_room_serves_no_metrics_and_has_a_database_of_its_own(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    built: list[Settings] = []

    def build(settings: Settings, _clock: object, shards: Shards) -> None:
        assert shards == SINGLE
        built.append(settings)
        raise BuiltError

    monkeypatch.setattr(opening, "build", build)
    mine = tmp_path / "cornerman.db"
    with pytest.raises(BuiltError):
        opening.open_room(Settings.model_construct(database=mine, metrics_port=9464), 0, False)
    (settings,) = built
    assert settings.metrics_port == 0
    assert settings.database != mine
    assert not mine.exists()
    assert logging.getLogger("bot").level == logging.NOTSET  # what it logs is left to its own few words
