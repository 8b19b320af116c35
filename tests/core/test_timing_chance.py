"""The chance of one press: against integrals, simulation and published formulas."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from core.timing import Chance, Window, best_chance, chance
from core.timing.chance import WIDE_FRAMES, below

FRAME_MS = 1000 / 60
spreads = st.floats(0, 50)
means = st.floats(-20, 80)


def integrated(mean: float, spread: float, low: float, high: float) -> float:
    """P(low <= phase + x < high) by integrating over the phase."""

    def at(phase: float) -> float:
        return float(stats.norm.cdf(high, mean + phase, spread) - stats.norm.cdf(low, mean + phase, spread))

    return float(integrate.quad(at, 0, 1, epsabs=1e-12)[0])


@pytest.mark.parametrize("spread", [0.05, 0.5, 1.4, 4.0, 30.0, 2000.0])
@pytest.mark.parametrize("mean", [18.0, 23.7, 25.5, 31.2])
def test_the_closed_form_is_the_integral_over_the_phase(mean: float, spread: float) -> None:
    found = chance(mean, spread, 24, 27)
    assert found.early == pytest.approx(integrated(mean, spread, -np.inf, 24), abs=1e-10)
    assert found.hit == pytest.approx(integrated(mean, spread, 24, 28), abs=1e-10)
    assert found.late == pytest.approx(integrated(mean, spread, 28, np.inf), abs=1e-10)


@pytest.mark.parametrize(("mean", "spread"), [(25.5, 1.4), (23.0, 2.5), (27.9, 0.4)])
def test_a_million_presses_land_as_often_as_the_closed_form_says(mean: float, spread: float) -> None:
    rng = np.random.default_rng(20)
    n = 1_000_000
    gaps = np.floor(rng.random(n) + rng.normal(mean, spread, n))
    found = chance(mean, spread, 24, 27)
    for expected, seen in (
        (found.early, gaps < 24),
        (found.hit, (gaps >= 24) & (gaps <= 27)),
        (found.late, gaps > 27),
    ):
        assert seen.mean() == pytest.approx(expected, abs=5 * math.sqrt(expected * (1 - expected) / n) + 1e-9)


@pytest.mark.parametrize(
    ("mean", "expected"),
    [
        (24.0, Chance(0, 1, 0)),
        (23.5, Chance(0.5, 0.5, 0)),
        (22.9, Chance(1, 0, 0)),
        (25.25, Chance(0, 0.75, 0.25)),
        (26.0, Chance(0, 0, 1)),
    ],
)
def test_without_spread_only_the_frame_clock_is_left_to_chance(mean: float, expected: Chance) -> None:
    found = chance(mean, 0.0, 24, 25)
    assert (found.early, found.hit, found.late) == pytest.approx(
        (expected.early, expected.hit, expected.late), abs=1e-12
    )


@pytest.mark.parametrize("mean", [24.0, 24.5, 23.3, 26.0])
def test_a_spread_too_small_to_matter_is_as_good_as_none(mean: float) -> None:
    exact = chance(mean, 0.0, 24, 25)
    for spread in (1e-320, 1e-300, 1e-12):
        assert chance(mean, spread, 24, 25).hit == pytest.approx(exact.hit, abs=1e-10)


def test_a_spread_without_end_leaves_early_and_late_alone() -> None:
    for spread in (1e12, 1e300, math.inf):
        found = chance(25, spread, 24, 27)
        assert (found.early, found.hit, found.late) == pytest.approx((0.5, 0, 0.5), abs=1e-9)


@pytest.mark.parametrize("spread", [1e6, 1e9, 1e14])
def test_a_huge_spread_is_the_bare_normal_curve(spread: float) -> None:
    found = chance(0.7 * spread, spread, 24, 27)
    assert found.early == pytest.approx(stats.norm.cdf(23.5, 0.7 * spread, spread), abs=1e-11)
    assert found.late == pytest.approx(stats.norm.sf(27.5, 0.7 * spread, spread), abs=1e-11)


def test_wide_spreads_go_on_where_the_narrow_formula_stops() -> None:
    for distance in (-WIDE_FRAMES, -3.0, 0.2, 0.9, 5e4):
        narrow, wide = below(distance, WIDE_FRAMES), below(distance, WIDE_FRAMES * (1 + 1e-12))
        assert narrow == pytest.approx(wide, abs=1e-10)


@pytest.mark.parametrize("spread", [-0.1, math.nan])
def test_a_spread_that_is_none_is_refused(spread: float) -> None:
    with pytest.raises(ValueError, match="spread must be 0 frames or more"):
        chance(25, spread, 24, 27)


@pytest.mark.parametrize("mean", [math.inf, math.nan])
def test_a_mean_that_is_none_is_refused(mean: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        chance(mean, 1, 24, 27)


@given(means, spreads, st.integers(0, 60), st.integers(0, 12))
def test_early_hit_and_late_are_chances_that_add_up_to_one(
    mean: float, spread: float, first: int, more: int
) -> None:
    found = chance(mean, spread, first, first + more)
    assert all(-1e-12 <= part <= 1 + 1e-12 for part in (found.early, found.hit, found.late))
    assert found.early + found.hit + found.late == pytest.approx(1, abs=1e-10)


@given(means, spreads, st.integers(0, 60), st.integers(0, 12), st.floats(0, 5))
def test_pressing_later_is_never_more_often_early_nor_less_often_late(
    mean: float, spread: float, first: int, more: int, later: float
) -> None:
    now, then = chance(mean, spread, first, first + more), chance(mean + later, spread, first, first + more)
    assert then.early <= now.early + 1e-10
    assert then.late >= now.late - 1e-10


@given(means, spreads, st.integers(0, 60), st.integers(0, 12))
def test_a_wider_window_is_never_worse(mean: float, spread: float, first: int, more: int) -> None:
    narrow = chance(mean, spread, first, first + more).hit
    assert chance(mean, spread, first, first + more + 1).hit >= narrow - 1e-10
    assert chance(mean, spread, first - 1, first + more).hit >= narrow - 1e-10


@given(spreads, st.floats(0, 5), st.integers(0, 12))
def test_steadier_hands_land_more_at_the_best_aim(spread: float, shakier: float, more: int) -> None:
    window = Window(24, 24 + more)
    assert best_chance(spread + shakier, window).hit <= best_chance(spread, window).hit + 1e-10


@given(means, spreads, st.integers(0, 12))
def test_no_aim_beats_the_middle_of_the_window(mean: float, spread: float, more: int) -> None:
    window = Window(24, 24 + more)
    assert chance(mean, spread, 24, 24 + more).hit <= best_chance(spread, window).hit + 1e-10


@given(means, spreads, st.integers(0, 60), st.integers(0, 12))
def test_the_chance_is_a_mirror_about_the_middle(mean: float, spread: float, first: int, more: int) -> None:
    window = Window(first, first + more)
    there = chance(mean, spread, first, first + more)
    back = chance(2 * window.middle_gap - mean, spread, first, first + more)
    assert there.early == pytest.approx(back.late, abs=1e-10)
    assert there.hit == pytest.approx(back.hit, abs=1e-10)


def test_without_a_frame_clock_it_is_the_published_formula_for_temporal_pointing() -> None:
    """Lee & Oulasvirta 2016 (CHI, doi 10.1145/2858036.2858143; formula from memory): with aim c_mu W
    into a window of W ms and a spread of c_sigma D, D = 1000, W = 100, c_mu = .5, c_sigma = .1, the
    error rate is .617075 (computed from the formula, not published)."""
    frames_per_ms = 10_000
    window = 100 * frames_per_ms
    found = chance(0.5 * window - 0.5, 0.1 * 1000 * frames_per_ms, 0, window - 1)
    assert 1 - found.hit == pytest.approx(0.617075, abs=5e-7)


def test_the_frame_clock_rounds_each_press_by_4811_microseconds() -> None:
    """60 frames/s: 16.6667 ms; uniform rounding has the SD frame/sqrt(12) = 4.811 ms. A gap is rounded at
    both of its ends, so that its variance grows by two of them."""
    assert pytest.approx(16.6667, abs=5e-5) == FRAME_MS
    mean, spread = 25.3, 2.0
    gaps = range(51)
    shares = [chance(mean, spread, gap, gap).hit for gap in gaps]
    centre = sum(share * gap for share, gap in zip(shares, gaps, strict=True))
    variance = sum(share * (gap - centre) ** 2 for share, gap in zip(shares, gaps, strict=True))
    rounding_ms = math.sqrt((variance - spread**2) / 2) * FRAME_MS
    assert centre == pytest.approx(mean, abs=1e-9)
    assert rounding_ms == pytest.approx(4.811, abs=5e-4)
