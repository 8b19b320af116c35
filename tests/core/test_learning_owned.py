"""Owned: the lower bound passes the goal; and how many more reps it takes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.learning.owned import Ownership, ownership
from core.learning.rates import Rate, TooFew, interval, measure, tell


def passes(landed: float, tries: float, goal: float) -> bool:
    """Wilson's bound passes the goal, on enough tries."""
    return tries >= 10 and interval(landed, tries)[0] > goal


def counted_clean_more(landed: int, tries: int, goal: float) -> int:
    """The same number, counted up one clean rep at a time."""
    more = 0
    while not passes(landed + more, tries + more, goal):
        more += 1
    return more


def test_a_high_rate_on_few_tries_is_not_owned_and_on_many_it_is() -> None:
    # 9 of 10 has a lower bound of .596, 90 of 100 of .826.
    assert not ownership(measure(9, 10), 0.8).owned
    assert ownership(measure(90, 100), 0.8) == Ownership(True, 0.8, 0, 0)


def test_too_few_tries_are_never_owned_even_where_the_bound_would_pass() -> None:
    # 9 of 9 has a lower bound of .701.
    assert ownership(tell(9, 9), 0.6) == Ownership(False, 0.6, 1, None)
    assert ownership(tell(10, 10), 0.6).owned


def test_nothing_tried_takes_as_many_clean_reps_as_a_clean_record_needs() -> None:
    # n of n has the lower bound n / (n + z^2): above .8 from n = 16 on (16 / 19.84 = .806; 15 gives .796).
    assert ownership(TooFew(0, 0), 0.8).clean_more == 16


def test_more_reps_of_a_rate_below_the_goal_would_never_do() -> None:
    stuck = ownership(measure(70, 100), 0.8)
    assert stuck.more_at_this_rate is None
    assert stuck.clean_more > 0


def test_a_rate_above_the_goal_needs_more_of_the_same() -> None:
    # z^2 g (1 - g) / (.9 - .8)^2 = 61.46: 62 tries in all
    assert ownership(measure(36, 40), 0.8).more_at_this_rate == 22


@pytest.mark.parametrize("goal", [0.0, 1.0, -0.1, 80.0])
def test_a_goal_that_no_tries_can_prove_is_refused(goal: float) -> None:
    with pytest.raises(ValueError, match="goal lies above 0 % and below 100 %"):
        ownership(measure(9, 10), goal)


@given(st.integers(0, 150), st.integers(0, 80), st.sampled_from([0.3, 0.5, 0.6, 0.7, 0.75, 0.8, 0.9]))
def test_the_clean_reps_named_are_just_enough(landed: int, dropped: int, goal: float) -> None:
    tries = landed + dropped
    told = ownership(tell(landed, tries), goal)
    assert told.clean_more == counted_clean_more(landed, tries, goal)
    assert told.owned is (told.clean_more == 0)


@given(st.integers(10, 150), st.integers(0, 80), st.sampled_from([0.3, 0.5, 0.6, 0.7, 0.75, 0.8, 0.9]))
def test_the_reps_named_at_this_rate_are_just_enough(landed: int, dropped: int, goal: float) -> None:
    rate = measure(landed, landed + dropped)
    more = ownership(rate, goal).more_at_this_rate
    if more is None:
        assert rate.share <= goal
        return

    def after(count: int) -> bool:
        tries = rate.tries + count
        return interval(min(tries, rate.share * tries), tries)[0] > goal

    assert after(more)
    assert more == 0 or not after(more - 1)
    assert more >= 0


@given(st.integers(10, 300), st.floats(0, 1), st.floats(0.05, 0.95))
def test_one_more_clean_rep_never_takes_it_away(tries: int, share: float, goal: float) -> None:
    landed = int(tries * share)
    if ownership(measure(landed, tries), goal).owned:
        assert ownership(measure(landed + 1, tries + 1), goal).owned


def test_effective_counts_with_fractions_are_judged_too() -> None:
    low, high = interval(17.3, 19.1)
    told = ownership(Rate(17.3, 19.1, low, high), 0.8)
    assert not told.owned
    assert passes(17.3 + told.clean_more, 19.1 + told.clean_more, 0.8)
    assert not passes(17.3 + told.clean_more - 1, 19.1 + told.clean_more - 1, 0.8)
