"""The room's clock."""

from __future__ import annotations

from datetime import timedelta
from types import SimpleNamespace
from typing import cast

import pytest
import simcord

from bot.room import world
from bot.room.world import BEGIN, RoomClock


def test_it_goes_on_as_any_clock_does_between_the_days_that_are_let_pass(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    real = 50.0
    monkeypatch.setattr(world, "_real_seconds", lambda: real)
    clock = RoomClock()
    assert clock.now() == BEGIN  # the simulator has not started
    simulated = BEGIN
    clock.env = cast(simcord.Env, SimpleNamespace(now=lambda: simulated))
    real += 4
    assert clock.now() == BEGIN + timedelta(seconds=4)
    simulated += timedelta(days=1)
    assert clock.now() == BEGIN + timedelta(days=1, seconds=4)


def test_it_shows_the_simulators_time_again_when_that_is_moved_to_where_it_was(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    real, simulated = 50.0, BEGIN
    monkeypatch.setattr(world, "_real_seconds", lambda: real)
    clock = RoomClock()
    clock.env = cast(simcord.Env, SimpleNamespace(now=lambda: simulated))
    real += 90
    shown = clock.now()
    clock.hand_over()
    simulated = shown
    assert clock.now() == shown == BEGIN + timedelta(seconds=90)
    real += 4
    assert clock.now() == BEGIN + timedelta(seconds=94)
