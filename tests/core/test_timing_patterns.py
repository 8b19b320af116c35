"""Gaps read off a game's rules, whether a second press is safe there, mashing, and spread."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from builders import game_of, move, row, solo

from core.links import link
from core.model import Contact, ContactKind, Game, Means
from core.timing import (
    Mashing,
    Spread,
    TapAdvice,
    TapCode,
    Window,
    cancel_window,
    from_clock_and_motor,
    link_window,
    mashing,
    period_frames,
    tap_advice,
)
from core.verdict import Answer, Code, Verdict

MOVES = [
    row("5LP", 4, 3, 8, "+5", "+1"),
    row("5MP", 6, 3, 12, "+7", "-1"),
    row("2MP", 6, 3, 12, "+3", "-1"),
    row("5HP", 12, 4, 18, "+2", "-4"),
    row("5HK", 9, "2(6)3", 18, "+2", "-4", cancellable_hits=""),
    row("236LP", 14, 3, 20, "+1", "-6", kind="special"),
]
SPECIAL = {
    "name": "special cancel",
    "from": {"kinds": ["normal"]},
    "into": {"kinds": ["special"]},
    "contact": ["hit", "block"],
}
RAPID = {
    "name": "rapid lights",
    "from": {"strengths": ["light"]},
    "into": {"strengths": ["light"]},
    "contact": ["hit", "block", "whiff"],
    "first_frame": 1,
    "last_frame": 6,
}
TWICE = {
    "name": "medium twice",
    "from": {"strengths": ["medium"]},
    "into": {"strengths": ["medium"]},
    "contact": ["hit"],
    "first_frame": 1,
    "last_frame": 6,
}


def game(*chains: dict[str, Any]) -> Game:
    return game_of(*MOVES, cancel=[SPECIAL], chain=list(chains))


def window(of: Game, first: str, second: str) -> Window | Verdict:
    return link_window(of, solo(of), move(of, first), move(of, second), Contact())


def test_a_links_gaps_count_from_the_first_press_with_hitstop_and_buffer() -> None:
    """5MP: total 6 - 1 + 3 + 12 = 20, hitstop 10, free on frame 31, which is gap 30; +7 into startup 6
    leaves W = 2 frames, and the buffer of 3 opens 3 before."""
    assert window(game(), "5MP", "2MP") == Window(27, 31, start_gap=30)


def test_presses_that_would_chain_are_clipped_from_the_early_side() -> None:
    of = game(TWICE | {"last_frame": 30})
    verdict = link(of, solo(of), move(of, "5MP"), move(of, "2MP"), Contact())
    assert verdict.has(Code.EARLY_PRESS_CANCELS)
    found = window(of, "5MP", "2MP")
    assert isinstance(found, Window)
    assert found.early_chains
    assert (found.first_gap, found.last_gap, found.start_gap) == (30, 31, 30)


def test_a_buffer_longer_than_the_move_opens_after_its_press() -> None:
    long = {"link_frames": 60, "cancel_frames": 60, "cancel_window_frames": 2}
    of = game_of(*MOVES, cancel=[SPECIAL], buffers=long)
    assert window(of, "5MP", "2MP") == Window(1, 31, start_gap=30)
    found = cancel_window(of, solo(of), move(of, "5HP"), move(of, "236LP"), Contact())
    assert found == Window(1, 26, start_gap=24)


def test_what_does_not_link_has_no_gaps_but_its_verdict() -> None:
    found = window(game(), "5LP", "5HP")
    assert isinstance(found, Verdict)
    assert found.answer is Answer.NO


def test_without_a_known_buffer_the_gaps_are_unknown() -> None:
    of = game_of(*MOVES, buffers={"cancel_frames": 4, "cancel_window_frames": 2})
    found = window(of, "5MP", "2MP")
    assert isinstance(found, Verdict)
    assert found.answer is Answer.UNKNOWN


def test_a_cancels_gaps_run_from_its_buffer_to_its_last_frame() -> None:
    """5HP touches on frame 12, gap 11; the buffer opens 4 before; hitstop 12, so that the move starts
    at 11 + 13 = 24 at the earliest, and the window of 2 lets it start up to 26. Hitstun of 5HP is
    2 + 3 + 18 = 23: startup 14 would combo for longer."""
    of = game()
    found = cancel_window(of, solo(of), move(of, "5HP"), move(of, "236LP"), Contact())
    assert found == Window(7, 26, start_gap=24)


def test_a_cancel_that_no_rule_allows_has_no_gaps() -> None:
    of = game()
    found = cancel_window(of, solo(of), move(of, "236LP"), move(of, "5HP"), Contact())
    assert isinstance(found, Verdict)
    assert found.answer is Answer.NO


def tap(
    of: Game, second: str, means: Means = Means.LINK, within: Window | None = None
) -> tuple[Answer, list[TapCode], TapAdvice]:
    advice = tap_advice(of, solo(of), move(of, second), means, within)
    return advice.answer, [reason.code for reason in advice.reasons], advice


def test_a_second_press_is_safe_where_the_move_follows_itself_by_no_rule() -> None:
    assert tap(game(), "2MP")[:2] == (Answer.YES, [TapCode.NOTHING_REPEATS])


def test_a_second_press_is_unwanted_where_the_move_chains_into_itself() -> None:
    answer, codes, advice = tap(game(TWICE), "2MP")
    assert (answer, codes) == (Answer.NO, [TapCode.REPEATS])
    facts = advice.reasons[0].facts
    assert facts == {"move": "2MP", "rule": "medium twice", "means": "chain", "contact": "hit"}


def test_a_move_that_may_follow_others_of_its_kind_but_not_itself_may_be_pressed_twice() -> None:
    assert tap(game(TWICE | {"same_move": False}), "2MP")[0] is Answer.YES


def test_a_rule_that_ends_after_a_link_does_not_speak_against_a_linked_move() -> None:
    of = game(TWICE | {"not_after": ["link"]})
    assert tap(of, "2MP", Means.LINK)[0] is Answer.YES
    assert tap(of, "2MP", Means.CANCEL)[0] is Answer.NO


@pytest.mark.parametrize("means", [Means.LINK, Means.CHAIN])
def test_linked_and_chained_lights_are_not_pressed_twice(means: Means) -> None:
    """Common practice, no source."""
    assert tap(game(), "5LP", means)[:2] == (Answer.NO, [TapCode.LIGHT])


def test_a_light_that_repeats_on_whiff_too_says_so() -> None:
    _, codes, advice = tap(game(RAPID), "5LP")
    assert codes == [TapCode.LIGHT, *[TapCode.REPEATS] * 3]
    assert [reason.facts["contact"] for reason in advice.reasons[1:]] == [str(kind) for kind in ContactKind]


def test_in_a_game_of_one_strength_no_move_is_a_light() -> None:
    buttons = {"LP": {"group": "punch", "strength": "light"}}
    of = game_of(MOVES[0], strengths=["light"], buttons=buttons, hitstop={"light": 8})
    assert tap(of, "5LP")[0] is Answer.YES


def test_a_light_special_is_no_light() -> None:
    assert tap(game(), "236LP")[0] is Answer.YES


def test_where_an_early_press_chains_a_second_one_is_no_help() -> None:
    chained = Window(27, 31, 30, early_chains=True)
    assert tap(game(), "2MP", within=chained)[:2] == (Answer.NO, [TapCode.EARLY_CHAINS])


def test_a_permission_that_the_file_leaves_out_makes_it_unknown() -> None:
    of = game(TWICE)
    medium = move(of, "2MP")
    unsaid = replace(medium, hits=tuple(replace(hit, cancellable=None) for hit in medium.hits))
    advice = tap_advice(of, solo(of), unsaid, Means.LINK)
    assert advice.answer is Answer.UNKNOWN
    assert [reason.code for reason in advice.missing] == [Code.NUMBER_MISSING]
    assert advice.missing[0].facts["move"] == "2MP"


def test_a_move_whose_hits_are_not_known_is_unknown_too() -> None:
    of = game(TWICE)
    advice = tap_advice(of, solo(of), replace(move(of, "2MP"), hits=()), Means.LINK)
    assert (advice.answer, advice.missing[0].facts["field"]) == (Answer.UNKNOWN, "active")


@pytest.mark.parametrize(
    ("accepted", "period", "start", "stop", "expected"),
    [
        (Window(24, 25), 5.0, 14, None, Mashing(0.4, 2.4, 2.0)),
        (Window(24, 25), 2.0, 14, None, Mashing(1.0, 6.0, 5.0)),
        (Window(24, 25), 5.0, 14, 30, Mashing(0.4, 3.2, 2.8)),
        (Window(24, 25), 5.0, 14, 25, Mashing(0.2, 2.2, 2.0)),
        (Window(24, 25), 5.0, 25, None, Mashing(0.2, 0.2, 0.0)),
        (Window(24, 25), 5.0, 14, 20, Mashing(0.0, 1.2, 1.2)),
        (Window(24, 25, 24, early_chains=True), 5.0, 14, None, Mashing(0.0, 2.4, 2.4)),
        (Window(24, 25, 24, early_chains=True), 5.0, 20, None, Mashing(0.2, 1.2, 1.0)),
    ],
)
def test_mashing_works_as_often_as_a_press_falls_in_the_window(
    accepted: Window, period: float, start: float, stop: float | None, expected: Mashing
) -> None:
    found = mashing(accepted, period, start, stop)
    assert (found.works, found.presses, found.unwanted) == pytest.approx(
        (expected.works, expected.presses, expected.unwanted)
    )


@pytest.mark.parametrize("chains", [False, True])
@pytest.mark.parametrize(("period", "start"), [(3.3, 20.0), (5.0, 21.5), (7.0, 10.0), (1.5, 23.0)])
def test_mashing_agrees_with_simulated_phases(period: float, start: float, chains: bool) -> None:
    accepted = Window(24, 25, 24, chains)
    first = start + np.random.default_rng(23).random(1_000_000) * period
    times = first[:, None] + period * np.arange(math.ceil((26 - start) / period) + 1)
    inside = (times >= 24) & (times < 26)
    works = inside.any(axis=1) & ((first >= 24) | (not chains))
    found = mashing(accepted, period, start)
    assert works.mean() == pytest.approx(found.works, abs=0.003)
    assert (times < 26).sum(axis=1).mean() == pytest.approx(found.presses, abs=0.003)


def test_a_rate_is_a_period_in_frames() -> None:
    assert period_frames(60, 10) == 6
    with pytest.raises(ValueError, match="rate"):
        period_frames(60, 0)


def test_mashing_that_makes_no_sense_is_refused() -> None:
    with pytest.raises(ValueError, match="period"):
        mashing(Window(24, 25), 0, 10)
    with pytest.raises(ValueError, match="before it begins"):
        mashing(Window(24, 25), 5, 10, 9)


def test_variance_is_a_line_in_the_squared_interval() -> None:
    """Ivry & Hazeltine 1995: variance linear in interval squared; slope w^2, intercept motor^2."""
    spread = Spread(0.7, 0.05)
    squares = [spread.frames(interval) ** 2 for interval in (0, 10, 20, 40)]
    slopes = [
        (square - squares[0]) / interval**2
        for square, interval in zip(squares[1:], (10, 20, 40), strict=True)
    ]
    assert squares[0] == pytest.approx(0.49)
    assert slopes == pytest.approx([0.0025] * 3)
    assert spread.times(2).frames(30) == pytest.approx(2 * spread.frames(30))


def test_intervals_of_a_clock_and_two_presses_scatter_as_published() -> None:
    """Wing & Kristofferson 1973 (formula from memory): Var(I) = sc^2 + 2 sm^2, lag-1 autocovariance -sm^2."""
    rng = np.random.default_rng(24)
    clock, motor, n = 1.2, 0.5, 1_000_000
    delays = rng.normal(0, motor, n + 1)
    intervals = rng.normal(24, clock, n) + np.diff(delays)
    assert from_clock_and_motor(clock, motor) ** 2 == pytest.approx(1.44 + 0.5)
    assert intervals.std() == pytest.approx(from_clock_and_motor(clock, motor), rel=0.005)
    centred = intervals - intervals.mean()
    assert (centred[1:] * centred[:-1]).mean() == pytest.approx(-(motor**2), abs=0.01)
