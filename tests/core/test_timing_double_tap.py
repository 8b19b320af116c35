"""Pressing twice: spacing, hole, aim."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from core.timing import Window, best_aim, chance, edges, hole_chance, press_chance

FOUR = Window(24, 27)
SIMULATED = 1_000_000


def simulated(
    mean: float, spread: float, window: Window, spacing: float
) -> tuple[float, float, float, float]:
    """Early, hit, late (hole inside) and hole, press by press."""
    rng = np.random.default_rng(21)
    first = rng.random(SIMULATED) + rng.normal(mean, spread, SIMULATED)
    last = first + spacing
    inside = [(u >= window.first_gap) & (u < window.last_gap + 1) for u in (first, last)]
    hit = inside[0] | inside[1]
    early = last < window.first_gap
    hole = ~hit & (first < window.first_gap) & ~early
    return early.mean(), hit.mean(), (~hit & ~early).mean(), hole.mean()


@pytest.mark.parametrize("spacing", [1.0, 3.0, 4.0, 4.5, 7.0, 9.0])
@pytest.mark.parametrize(("mean", "spread"), [(24.0, 1.5), (21.0, 2.5), (19.5, 0.6)])
def test_two_presses_land_as_often_as_a_million_simulated_ones(
    mean: float, spread: float, spacing: float
) -> None:
    found = press_chance(mean, spread, FOUR, spacing)
    hole = hole_chance(mean, spread, FOUR, spacing)
    seen = simulated(mean, spread, FOUR, spacing)
    for expected, share in zip((found.early, found.hit, found.late, hole), seen, strict=True):
        error = math.sqrt(max(0.0, expected * (1 - expected)) / SIMULATED)
        assert share == pytest.approx(expected, abs=5 * error + 1e-9)


def test_while_there_is_no_hole_the_window_grows_by_the_spacing() -> None:
    assert edges(FOUR, 4.0).hole_frames == 0
    assert press_chance(22.5, 1.2, FOUR, 4.0).hit == pytest.approx(chance(22.5, 1.2, 20, 27).hit, abs=1e-12)


def test_past_the_width_of_the_window_a_hole_opens() -> None:
    assert edges(FOUR, 6.0).hole_frames == 2
    assert hole_chance(22.5, 0.0, FOUR, 6.0) == pytest.approx(1)
    assert press_chance(22.5, 0.0, FOUR, 6.0).late == pytest.approx(1)


@pytest.mark.parametrize(("spacing", "aim"), [(0.0, 25.5), (1.0, 25.0), (3.0, 24.0), (4.0, 23.5)])
def test_the_best_aim_moves_earlier_by_half_the_spacing(spacing: float, aim: float) -> None:
    assert best_aim(1.3, FOUR, spacing) == aim


@pytest.mark.parametrize("window", [Window(24, 24), Window(24, 25), FOUR])
@pytest.mark.parametrize("spacing", [2.0, 5.0, 6.5, 9.0])
@pytest.mark.parametrize("spread", [0.3, 1.0, 2.0, 5.0])
def test_the_best_aim_is_the_one_an_optimiser_finds(window: Window, spacing: float, spread: float) -> None:
    def miss(mean: float) -> float:
        return -press_chance(mean, spread, window, spacing).hit

    grid = np.linspace(window.first_gap - spacing - 2, window.last_gap + 3, 400)
    start = min(grid, key=miss)
    found = optimize.minimize_scalar(miss, bounds=(start - 0.1, start + 0.1), method="bounded")
    aimed = press_chance(best_aim(spread, window, spacing), spread, window, spacing).hit
    assert aimed == pytest.approx(-found.fun, abs=1e-6)


def test_round_a_hole_steady_hands_aim_the_first_press_into_the_window() -> None:
    aim = best_aim(0.3, FOUR, 9.0)
    assert aim == pytest.approx(FOUR.middle_gap, abs=0.3)


def test_of_equal_aims_round_a_hole_a_machine_takes_the_later() -> None:
    assert best_aim(0.0, FOUR, 9.0) == 25.5


def test_over_a_hole_shaky_hands_aim_at_its_middle() -> None:
    assert best_aim(6.0, FOUR, 6.0) == pytest.approx(22.5, abs=0.05)


@given(st.floats(10, 40), st.floats(0, 10), st.floats(0, 12), st.integers(0, 6))
def test_a_second_press_never_takes_a_hit_away(mean: float, spread: float, spacing: float, more: int) -> None:
    window = Window(24, 24 + more)
    one, two = press_chance(mean, spread, window), press_chance(mean, spread, window, spacing)
    assert two.hit >= one.hit - 1e-10
    assert two.early + two.hit + two.late == pytest.approx(1, abs=1e-10)


@given(st.floats(10, 40), st.floats(0, 10), st.integers(0, 6))
def test_no_spacing_is_one_press(mean: float, spread: float, more: int) -> None:
    assert press_chance(mean, spread, Window(24, 24 + more)) == chance(mean, spread, 24, 24 + more)


def test_where_an_early_press_chains_the_second_mends_nothing() -> None:
    chained = Window(24, 27, start_gap=26, early_chains=True)
    assert press_chance(23.0, 1.5, chained, 3.0) == press_chance(23.0, 1.5, chained)
    assert best_aim(1.5, chained, 3.0) == 25.5


def test_a_spacing_below_zero_is_refused() -> None:
    with pytest.raises(ValueError, match="spacing"):
        press_chance(24, 1, FOUR, -1)


def test_a_window_that_ends_before_it_begins_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot end"):
        Window(24, 23)
