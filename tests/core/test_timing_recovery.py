"""500 simulated players with known bias and spread: does the fit find them, and know how sure it is?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from core.timing import TYPICAL, Fit, Tally, Window, edges, fit
from core.timing.double_tap import best_aim

PLAYERS = 500
WINDOWS = (Window(22, 23), Window(24, 27), Window(30, 30), Window(18, 22))


@dataclass(frozen=True)
class Recovered:
    """True and fitted timing of all players."""

    bias: np.ndarray
    scale: np.ndarray
    fits: tuple[Fit, ...]

    @property
    def bias_errors(self) -> np.ndarray:
        return np.array([found.bias_frames.value for found in self.fits]) - self.bias

    @property
    def scale_errors(self) -> np.ndarray:
        return np.array([found.scale.value for found in self.fits]) / self.scale - 1

    @property
    def bias_coverage(self) -> float:
        inside = [
            found.bias_frames.low <= true <= found.bias_frames.high
            for found, true in zip(self.fits, self.bias, strict=True)
        ]
        return float(np.mean(inside))

    @property
    def scale_coverage(self) -> float:
        inside = [
            found.scale.low <= true <= found.scale.high
            for found, true in zip(self.fits, self.scale, strict=True)
        ]
        return float(np.mean(inside))


@cache
def recovered(
    tries_each: int, spacing: float = 0.0, gaps: bool = False, sides: bool = True, players: int = PLAYERS
) -> Recovered:
    rng = np.random.default_rng(25)
    biases, scales = rng.uniform(-2.5, 2.5, players), np.exp(rng.uniform(-0.5, 0.7, players))
    fits = []
    for bias, scale in zip(biases, scales, strict=True):
        tallies = []
        for window in WINDOWS:
            aim = best_aim(TYPICAL.frames(window.middle_gap), window, spacing)
            spread = scale * TYPICAL.frames(aim)
            seen = np.floor(rng.random(tries_each) + rng.normal(aim + bias, spread, tries_each))
            edge = edges(window, spacing)
            early = int((seen < edge.early_end).sum())
            hole = (seen >= edge.hole_start) & (seen < edge.hole_end)
            late = int(((seen >= edge.late_start) | hole).sum())
            hit = tries_each - early - late
            read = tuple(int(gap) for gap in seen) if gaps else ()
            noted = (early, late) if sides else (0, 0)
            tallies.append(Tally(window, tries_each, hit, *noted, spacing_frames=spacing, gaps=read))
        found = fit(tallies)
        assert isinstance(found, Fit)
        fits.append(found)
    return Recovered(biases, scales, tuple(fits))


@pytest.mark.parametrize("tries_each", [25, 100])
def test_bias_is_found_within_015_frames_and_spread_within_a_tenth(tries_each: int) -> None:
    """Mean errors over 500 players of 100 and of 400 tries."""
    found = recovered(tries_each)
    assert abs(found.bias_errors.mean()) < 0.15
    assert abs(found.scale_errors.mean()) < 0.10
    assert np.median(np.abs(found.bias_errors)) < 0.15


@pytest.mark.parametrize("tries_each", [25, 100])
def test_the_95_percent_intervals_hold_the_truth_for_92_to_98_percent(tries_each: int) -> None:
    found = recovered(tries_each)
    assert 0.92 <= found.bias_coverage <= 0.98
    assert 0.92 <= found.scale_coverage <= 0.98


def test_measured_gaps_find_the_spread_twice_as_well_as_counts() -> None:
    read, counted = recovered(25, gaps=True), recovered(25)
    assert np.abs(read.scale_errors).mean() < 0.7 * np.abs(counted.scale_errors).mean()
    assert 0.92 <= read.bias_coverage <= 0.98
    assert 0.92 <= read.scale_coverage <= 0.98


@pytest.mark.parametrize(("spacing", "sides"), [(3.0, True), (6.0, True), (0.0, False)])
def test_where_early_and_late_look_alike_the_intervals_still_hold_the_truth(
    spacing: float, sides: bool
) -> None:
    """100 players each: double taps with a hole, and counts without a side. Binomial noise: +- 4.3 points."""
    found = recovered(25, spacing=spacing, sides=sides, players=100)
    assert found.bias_coverage >= 0.90
    assert found.scale_coverage >= 0.90
    assert abs(found.scale_errors.mean()) < 0.15


def test_the_predicted_chance_of_a_link_never_tried_is_right_on_average() -> None:
    new, found = Window(40, 42), recovered(100)
    errors = []
    for bias, scale, player in zip(found.bias, found.scale, found.fits, strict=True):
        spread = scale * TYPICAL.frames(new.middle_gap)
        rng = np.random.default_rng(26)
        gaps = np.floor(rng.random(4000) + rng.normal(new.middle_gap + bias, spread, 4000))
        errors.append(player.predict(new).hit - ((gaps >= 40) & (gaps <= 42)).mean())
    assert abs(np.mean(errors)) < 0.02
    assert math.sqrt(np.mean(np.square(errors))) < 0.05
