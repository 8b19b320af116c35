"""A player's timing from tallies: edge cases, evidence of each kind, and the same answer as an optimiser."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize, stats

from core.timing import TYPICAL, WEAK, Fit, Tally, TooFew, Window, best_aim, fit, press_chance
from core.timing.likelihood import LAPSE, cells, score
from core.timing.tally import grouped

TWO, FOUR, ONE = Window(22, 23), Window(24, 27), Window(30, 30)
EARLY_PLAYER = (
    Tally(TWO, 40, 14, early=23, late=3),
    Tally(FOUR, 40, 30, early=9, late=1),
    Tally(ONE, 30, 5, early=22, late=3),
)


def fitted(*tallies: Tally) -> Fit:
    found = fit(tallies)
    assert isinstance(found, Fit)
    return found


def log_posterior(tallies: tuple[Tally, ...], bias: Any, log_scale: Any) -> Any:
    """The same likelihood and prior written out again, on scipy's normal distribution; numbers or arrays."""

    def below(edge: float, mean: Any, spread: Any) -> Any:
        def h(a: float) -> Any:
            z = (mean - a) / spread
            return spread * (stats.norm.pdf(z) + z * stats.norm.cdf(z))

        return 1 - (h(edge - 1) - h(edge))

    total = stats.norm.logpdf(bias, 0, WEAK.bias_sd_frames)
    total = total + stats.norm.logpdf(log_scale, 0, WEAK.log_scale_sd)
    for tally in tallies:
        aim = tally.window.middle_gap - tally.spacing_frames / 2
        spread = np.exp(log_scale) * math.hypot(TYPICAL.motor_frames, TYPICAL.weber * aim)
        early = below(tally.window.first_gap - tally.spacing_frames, aim + bias, spread)
        late = 1 - below(tally.window.last_gap + 1, aim + bias, spread)
        missed = tally.tries - tally.hit - tally.early - tally.late
        for count, p, share in (
            (tally.hit, 1 - early - late, 1 / 3),
            (tally.early, early, 1 / 3),
            (tally.late, late, 1 / 3),
            (missed, early + late, 2 / 3),
        ):
            total = total + count * np.log((1 - LAPSE) * p + LAPSE * share)
    return total


@pytest.mark.parametrize(
    "tallies",
    [
        EARLY_PLAYER,
        (Tally(FOUR, 12, 12),),
        (Tally(FOUR, 50, 2, early=0, late=48),),
        (Tally(FOUR, 60, 50, early=9, late=1, spacing_frames=3.0), Tally(TWO, 40, 14, 23, 3)),
    ],
)
def test_the_fit_is_where_scipys_optimiser_ends_on_the_same_likelihood(tallies: tuple[Tally, ...]) -> None:
    best = optimize.minimize(
        lambda at: -log_posterior(tallies, at[0], at[1]),
        x0=[0.0, 0.3],
        method="Nelder-Mead",
        options={"xatol": 1e-7, "fatol": 1e-11, "maxiter": 2000},
    )
    found = fitted(*tallies)
    assert found.bias_frames.value == pytest.approx(best.x[0], abs=1e-3)
    assert found.scale.value == pytest.approx(math.exp(best.x[1]), rel=1e-3)


def test_counts_without_a_side_give_the_same_posterior_as_integrating_it_whole() -> None:
    tallies = (Tally(TWO, 40, 14), Tally(FOUR, 40, 30))
    found = fitted(*tallies)
    biases, log_scales = np.linspace(-10, 10, 401), np.linspace(-3, 3, 301)
    logs = log_posterior(tallies, *np.meshgrid(biases, log_scales, indexing="ij"))
    mass = np.exp(logs - logs.max())
    by_bias = integrate.cumulative_trapezoid(mass.sum(axis=1), biases, initial=0)
    by_scale = integrate.cumulative_trapezoid(mass.sum(axis=0), log_scales, initial=0)
    for share, bias, scale in (
        (0.025, found.bias_frames.low, found.scale.low),
        (0.975, found.bias_frames.high, found.scale.high),
    ):
        assert bias == pytest.approx(np.interp(share, by_bias / by_bias[-1], biases), abs=0.02)
        expected = np.interp(share, by_scale / by_scale[-1], log_scales)
        assert math.log(scale) == pytest.approx(expected, abs=0.12)


@pytest.mark.parametrize("spacing", [0.0, 3.0, 6.0])
def test_the_slopes_of_the_score_are_its_differences(spacing: float) -> None:
    tallies = [
        Tally(TWO, 20, 8, 7, 3, spacing_frames=spacing),
        Tally(FOUR, 20, 8, gaps=(20, 25, 31), spacing_frames=spacing),
    ]
    ready, step = cells(grouped(tallies), WEAK), 1e-5
    here = score(ready, WEAK, 0.4, 0.1)
    by_bias = score(ready, WEAK, 0.4 + step, 0.1).value - score(ready, WEAK, 0.4 - step, 0.1).value
    by_scale = score(ready, WEAK, 0.4, 0.1 + step).value - score(ready, WEAK, 0.4, 0.1 - step).value
    assert here.by_bias == pytest.approx(by_bias / (2 * step), rel=1e-5, abs=1e-6)
    assert here.by_scale == pytest.approx(by_scale / (2 * step), rel=1e-5, abs=1e-6)


def test_an_early_player_is_found_early() -> None:
    bias = fitted(*EARLY_PLAYER).bias_frames
    assert bias.signed
    assert -2.5 < bias.low < bias.value < bias.high < -0.4


def test_early_and_late_mirror_each_other() -> None:
    late = tuple(replace(tally, early=tally.late, late=tally.early) for tally in EARLY_PLAYER)
    there, back = fitted(*EARLY_PLAYER), fitted(*late)
    assert back.bias_frames.value == pytest.approx(-there.bias_frames.value, abs=1e-5)
    assert back.scale.value == pytest.approx(there.scale.value, abs=1e-5)


@pytest.mark.parametrize(("tries", "enough"), [(0, False), (9, False), (10, True)])
def test_below_ten_tries_there_is_nothing_to_tell(tries: int, enough: bool) -> None:
    found = fit([Tally(FOUR, tries, tries // 2)])
    assert isinstance(found, Fit) if enough else found == TooFew(tries)


def test_ten_tries_over_several_links_are_enough() -> None:
    assert isinstance(fit([Tally(FOUR, 5, 3), Tally(TWO, 5, 1)]), Fit)


def test_tallies_that_no_longer_weigh_anything_do_not_count() -> None:
    assert fit([Tally(FOUR, 50, 25, weight=0.0)]) == TooFew(0)


def test_equal_tallies_count_the_same_apart_or_added_up() -> None:
    apart = fitted(*[Tally(FOUR, 4, 2, 1, 1)] * 10)
    together = fitted(Tally(FOUR, 40, 20, 10, 10))
    assert apart.bias_frames == together.bias_frames
    assert apart.scale == together.scale


def test_a_tally_of_half_the_weight_is_worth_half_the_tries() -> None:
    half = fitted(Tally(FOUR, 80, 40, 26, 14, weight=0.5))
    full = fitted(Tally(FOUR, 40, 20, 13, 7))
    assert half.bias_frames.value == pytest.approx(full.bias_frames.value, abs=1e-6)
    assert half.bias_frames.high == pytest.approx(full.bias_frames.high, abs=1e-6)


def test_a_gap_read_long_ago_is_worth_less_too() -> None:
    gaps = (23, 24, 24, 25, 26, 22, 24, 25, 24, 23)
    half = fitted(Tally(FOUR, 20, 10, gaps=gaps * 2, weight=0.5))
    full = fitted(Tally(FOUR, 10, 5, gaps=gaps))
    assert half.bias_frames.high == pytest.approx(full.bias_frames.high, abs=1e-6)
    assert half.scale.low == pytest.approx(full.scale.low, abs=1e-6)


def test_old_tallies_pull_less() -> None:
    recent = Tally(FOUR, 40, 20, early=20)
    old = Tally(FOUR, 40, 20, late=20)
    faded = fitted(recent, replace(old, weight=0.1)).bias_frames
    assert faded.value < -0.8
    assert abs(fitted(recent, old).bias_frames.value) < 0.01


def test_more_tries_make_it_surer() -> None:
    few, many = fitted(Tally(FOUR, 20, 10, 6, 4)), fitted(Tally(FOUR, 200, 100, 60, 40))
    assert many.bias_frames.high - many.bias_frames.low < (few.bias_frames.high - few.bias_frames.low) / 2
    assert many.scale.high / many.scale.low < few.scale.high / few.scale.low


def test_counts_without_a_side_leave_the_bias_open_and_narrow_the_spread() -> None:
    found = fitted(Tally(FOUR, 200, 120), Tally(TWO, 200, 70))
    assert not found.bias_frames.signed
    assert found.bias_frames.value == pytest.approx(0, abs=0.1)
    prior_width = 2 * 1.96 * WEAK.log_scale_sd
    assert math.log(found.scale.high / found.scale.low) < prior_width / 2


def test_no_side_and_many_misses_keep_an_early_and_a_late_player_apart() -> None:
    found = fitted(Tally(FOUR, 400, 20))
    assert abs(found.likeliest.bias_frames) > 1
    assert found.predict(FOUR).hit == pytest.approx(20 / 400, abs=0.03)


def test_all_hits_still_give_a_finite_answer() -> None:
    found = fitted(Tally(FOUR, 500, 500))
    assert found.scale.high < 1
    assert abs(found.bias_frames.value) < 0.5


def test_all_early_does_not_run_away() -> None:
    found = fitted(Tally(FOUR, 500, 0, early=500))
    assert -20 < found.bias_frames.value < -3
    assert found.predict(FOUR).early > 0.95


def test_measured_gaps_are_surer_than_counts_of_the_same_tries() -> None:
    gaps = (22, 23, 23, 24, 24, 24, 25, 25, 26, 23, 24, 22, 25, 24, 23, 24, 26, 21, 24, 23)
    counts = Tally(FOUR, 20, 13, early=7)
    read, counted = fitted(replace(counts, gaps=gaps)), fitted(counts)
    assert read.bias_frames.value == pytest.approx(np.mean(gaps) - FOUR.middle_gap, abs=0.1)
    spread = read.spread_frames(FOUR.middle_gap)
    assert spread.value == pytest.approx(np.std(gaps), rel=0.15)
    assert spread.high - spread.low < counted.spread_frames(FOUR.middle_gap).high


def test_a_gap_takes_its_try_out_of_the_counts() -> None:
    tally = Tally(FOUR, 10, 6, early=3, late=1, gaps=(23, 25, 30))
    left = tally.counts_without_gaps()
    assert [left[drop] for drop in left] == [5, 2, 0, 0]


def test_a_gap_whose_side_was_not_noted_takes_a_miss_and_one_that_fits_nothing_takes_any() -> None:
    left = Tally(FOUR, 10, 6, gaps=(23, 30)).counts_without_gaps()
    assert [left[drop] for drop in left] == [6, 0, 0, 2]
    left = Tally(FOUR, 2, 2, gaps=(23, 22)).counts_without_gaps()
    assert sum(left.values()) == 0


def test_one_odd_gap_does_not_decide_the_spread() -> None:
    gaps = (24, 25, 26, 25, 25, 24, 26, 25, 25, 24) * 3
    calm = fitted(Tally(FOUR, 30, 30, gaps=gaps))
    odd = fitted(Tally(FOUR, 31, 30, late=1, gaps=(*gaps, 70)))
    assert odd.scale.value == pytest.approx(calm.scale.value, rel=0.1)


def test_the_aim_that_was_given_is_where_the_bias_counts_from() -> None:
    told = fitted(*(replace(tally, aim_gap=tally.window.middle_gap - 1) for tally in EARLY_PLAYER))
    assert told.bias_frames.value == pytest.approx(fitted(*EARLY_PLAYER).bias_frames.value + 1, abs=0.05)


def test_a_double_tap_and_one_press_tell_of_the_same_hands() -> None:
    bias, scale, tries, spacing = -0.8, 1.3, 100_000, 3.0
    aim = best_aim(1.0, FOUR, spacing)
    expected = press_chance(aim + bias, scale * TYPICAL.frames(aim), FOUR, spacing)
    early, late = round(expected.early * tries), round(expected.late * tries)
    found = fitted(Tally(FOUR, tries, tries - early - late, early, late, spacing_frames=spacing))
    assert found.bias_frames.value == pytest.approx(bias, abs=0.05)
    assert found.scale.value == pytest.approx(scale, rel=0.05)


@pytest.mark.parametrize(
    ("numbers", "sentence"),
    [
        ({"tries": 5, "hit": 4, "early": 2}, "more than 5 tries"),
        ({"tries": -1, "hit": 0}, "below 0"),
        ({"tries": 5, "hit": 5, "early": -1}, "below 0"),
        ({"tries": 1, "hit": 1, "gaps": (24, 25)}, "2 gaps are more than 1 tries"),
        ({"tries": 5, "hit": 1, "weight": -1.0}, "weight"),
        ({"tries": 5, "hit": 1, "weight": math.nan}, "weight"),
    ],
)
def test_numbers_that_cannot_be_are_refused(numbers: dict[str, int], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        Tally(FOUR, **numbers)


def test_one_miss_without_a_side_among_thousands_changes_next_to_nothing() -> None:
    noted = Tally(FOUR, 4000, 2500, early=1200, late=300)
    clear, open_ = fitted(noted), fitted(replace(noted, tries=4001))
    assert open_.bias_frames.value == pytest.approx(clear.bias_frames.value, abs=0.02)
    assert open_.scale.value == pytest.approx(clear.scale.value, rel=0.02)
    width = clear.bias_frames.high - clear.bias_frames.low
    assert open_.bias_frames.high - open_.bias_frames.low == pytest.approx(width, rel=0.15)


@st.composite
def any_tally(draw: st.DrawFn) -> Tally:
    first, more = draw(st.integers(1, 60)), draw(st.integers(0, 40))
    hit, early, late, missed = (draw(st.sampled_from([0, 1, 3, 20, 100_000])) for _ in range(4))
    tries = hit + early + late + missed
    gaps = draw(st.lists(st.integers(0, 200), max_size=min(4, tries)))
    return Tally(
        Window(first, first + more, early_chains=draw(st.booleans())),
        tries,
        hit,
        early,
        late,
        spacing_frames=draw(st.sampled_from([0.0, 3.0, 6.5, 20.0])),
        gaps=tuple(gaps),
        aim_gap=draw(st.sampled_from([None, 0.0, 12.5, 300.0])),
        weight=draw(st.sampled_from([0.0, 1e-6, 0.5, 1.0])),
    )


@settings(max_examples=60)
@given(st.lists(any_tally(), max_size=4))
def test_whatever_was_logged_the_answer_is_finite_and_inside_its_interval(tallies: list[Tally]) -> None:
    found = fit(tallies)
    if isinstance(found, TooFew):
        assert found.tries < found.needed
        return
    for estimate in (found.bias_frames, found.scale, found.spread_frames(25)):
        assert math.isfinite(estimate.low)
        assert estimate.low - 1e-2 <= estimate.value <= estimate.high + 1e-2
        assert math.isfinite(estimate.high)
    assert sum(hands.share for hands in found.hands) == pytest.approx(1, abs=1e-9)
    chance = found.predict(FOUR, 3.0)
    assert chance.early + chance.hit + chance.late == pytest.approx(1, abs=1e-9)
