"""The values behind the one-sentence diagnosis."""

from __future__ import annotations

import pytest

from core.timing import (
    TYPICAL,
    WEAK,
    Diagnosis,
    Estimate,
    Fit,
    Hands,
    Spread,
    TapAdvice,
    TapCode,
    TapReason,
    Tendency,
    Window,
    bottleneck,
    diagnose,
    in_rhythm,
    press_chance,
    route_chance,
    tendency,
)
from core.verdict import Answer, Code, Facts, Reason

LINK = Window(22, 25, start_gap=24)
SAFE = TapAdvice(Answer.YES, (TapReason(TapCode.NOTHING_REPEATS),))
REPEATS = TapAdvice(Answer.NO, (TapReason(TapCode.REPEATS, Facts(move="2MP")),))
UNKNOWN = TapAdvice(Answer.UNKNOWN, (), (Reason(Code.NUMBER_MISSING),))


def player(bias: float, scale: float = 1.0, sure: float = 0.3) -> Fit:
    """A player whose timing is known to within `sure` frames."""
    estimate = Estimate(bias, bias - sure, bias + sure)
    return Fit(120, estimate, Estimate(scale, scale * 0.9, scale * 1.1), WEAK, (Hands(bias, scale, 1.0),))


def diagnosis(
    bias: float, advice: TapAdvice = SAFE, spacing: float = 3.0, window: Window = LINK
) -> Diagnosis:
    return diagnose(player(bias), window, 60, advice, spacing)


def test_an_early_player_is_told_by_how_many_frames_and_milliseconds() -> None:
    """60 frames/s: 16.6667 ms."""
    found = diagnosis(-1.3)
    assert found.tendency is Tendency.EARLY
    assert found.bias_frames.value == -1.3
    assert found.bias_ms.value == pytest.approx(-21.6667, abs=1e-3)
    assert found.aim_shift_frames == 1.3
    assert found.tries == 120
    assert found.spread_ms.value == pytest.approx(TYPICAL.frames(23.5) * 16.6667, rel=1e-5)
    assert found.spread_frames.low < found.spread_frames.value < found.spread_frames.high


def test_the_aim_is_told_from_the_press_and_from_the_end_of_the_move_before() -> None:
    found = diagnosis(-1.3)
    assert (found.aim_gap, found.aim_from_start_frames, found.two_aim_gap) == (23.5, -0.5, 22.0)
    assert diagnosis(-1.3, window=Window(22, 25)).aim_from_start_frames is None


def test_the_chances_are_those_of_the_players_bias_and_of_none() -> None:
    found, spread = diagnosis(-1.3), TYPICAL.frames(23.5)
    assert found.one == press_chance(22.2, spread, LINK)
    assert found.one_mended == press_chance(23.5, spread, LINK)
    assert found.two == press_chance(20.7, TYPICAL.frames(22.0), LINK, 3.0)
    assert found.two_mended == press_chance(22.0, TYPICAL.frames(22.0), LINK, 3.0)
    assert found.one.hit < found.one_mended.hit < found.two_mended.hit


@pytest.mark.parametrize(
    ("bias", "sure", "expected"),
    [
        (-1.3, 0.3, Tendency.EARLY),
        (1.3, 0.3, Tendency.LATE),
        (0.1, 0.3, Tendency.ON_TIME),
        (0.4, 0.3, Tendency.LATE),
        (-0.4, 1.5, Tendency.NOT_CLEAR),
    ],
)
def test_a_tendency_is_named_only_where_the_interval_bears_it(
    bias: float, sure: float, expected: Tendency
) -> None:
    assert tendency(player(bias, sure=sure).bias_frames) is expected


def test_a_double_tap_that_is_safe_and_helps_is_advised() -> None:
    found = diagnosis(-1.3)
    assert found.two.hit > found.one.hit + 0.02
    assert found.two_advised == SAFE


def test_a_double_tap_that_repeats_the_move_is_not_advised_however_it_helps() -> None:
    assert diagnosis(-1.3, REPEATS).two_advised == REPEATS


def test_a_double_tap_that_adds_nothing_is_not_advised() -> None:
    wide = Window(10, 40, start_gap=20)
    advised = diagnosis(0.0, window=wide).two_advised
    assert advised.answer is Answer.NO
    assert [reason.code for reason in advised.reasons] == [TapCode.NO_GAIN]
    assert advised.reasons[0].facts["one_chance"] == pytest.approx(1, abs=1e-6)


def test_what_the_rules_leave_out_stays_unknown() -> None:
    assert diagnosis(-1.3, UNKNOWN).two_advised == UNKNOWN


def test_a_slow_double_tap_shows_its_hole() -> None:
    assert diagnosis(-1.3, spacing=7.0).hole_frames == 3
    assert diagnosis(-1.3, spacing=4.0).hole_frames == 0


def test_the_bottleneck_of_a_route_and_what_it_costs() -> None:
    windows = (LINK, Window(30, 30, start_gap=30), LINK)
    found = bottleneck(player(0.0), windows)
    route = route_chance(in_rhythm(windows, TYPICAL, 0.0))
    assert (found.step, found.steps, found.whole) == (1, route.steps, route.whole)
    assert found.whole_without == pytest.approx(route.whole / route.steps[1].hit)


@pytest.mark.parametrize("bias", [-1.5, 1.5])
def test_a_bias_adds_up_over_presses_that_are_held(bias: float) -> None:
    held = Window(20, 25, start_gap=25)
    steady = Spread(0.5, 0.0)
    on_time = route_chance(in_rhythm((held, held), steady, 0.0)).steps
    biased = route_chance(in_rhythm((held, held), steady, bias)).steps
    assert on_time[1].hit > 0.99
    assert biased[0].hit > 0.95
    assert biased[1].hit < 0.6
    assert (biased[1].early > biased[1].late) is (bias < 0)


def test_two_possible_timings_are_weighed_by_their_shares() -> None:
    hands = (Hands(-2.0, 1.0, 0.75), Hands(2.0, 1.0, 0.25))
    torn = Fit(50, Estimate(-1.0, -2.5, 2.5), Estimate(1.0, 0.8, 1.2), WEAK, hands)
    early, late = player(-2.0).predict(LINK), player(2.0).predict(LINK)
    assert torn.predict(LINK).early == pytest.approx(0.75 * early.early + 0.25 * late.early)
    assert torn.likeliest == hands[0]
    assert bottleneck(torn, (LINK,)).whole == pytest.approx(early.hit, abs=1e-9)
