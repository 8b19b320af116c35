"""How much is let through at a time: counted in numbers of our own making, not in time that passes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.client.pace import LIMITS, MEMBER, SERVER, TYPING, Limit, Pace
from bot.client.policy import too_fast

ANN, BO, HALL, YARD = 1, 2, 10, 11
MONDAY = 1_234_567.8
"""The loop's time begins anywhere."""


def let_through(
    pace: Pace, times: int, now: float = MONDAY, member: int = ANN, server: int | None = HALL
) -> int:
    return sum(pace.wait_seconds(now, member, server) == 0.0 for _ in range(times))


def test_a_member_may_do_20_things_at_once_and_then_one_a_second() -> None:
    pace = Pace()
    assert let_through(pace, 30) == 20
    assert pace.wait_seconds(MONDAY, ANN, HALL) == pytest.approx(1.0, abs=1e-6)
    assert let_through(pace, 5, MONDAY + 0.5) == 0
    assert let_through(pace, 5, MONDAY + 1) == 1
    assert let_through(pace, 5, MONDAY + 4) == 3
    assert let_through(pace, 30, MONDAY + 60) == 20


def test_a_clock_that_is_set_back_makes_nobody_wait_for_long() -> None:
    pace = Pace()
    let_through(pace, 20)
    assert pace.wait_seconds(MONDAY - 3_600, ANN, HALL) == pytest.approx(1.0, abs=1e-6)
    assert let_through(pace, 5, MONDAY - 3_595) == 5


def test_what_is_refused_costs_nothing() -> None:
    """However often somebody tries, they wait no longer for it."""
    pace = Pace()
    let_through(pace, 20)
    assert {round(pace.wait_seconds(MONDAY, ANN, HALL), 6) for _ in range(1_000)} == {1.0}


def test_one_members_haste_is_nobody_elses() -> None:
    pace = Pace()
    let_through(pace, 30)
    assert let_through(pace, 30, member=BO) == 20


def test_a_server_may_do_200_things_at_once_and_then_20_a_second_and_others_are_not_held_up() -> None:
    pace = Pace()
    through = sum(let_through(pace, 1, member=100 + number) for number in range(300))
    assert through == 200
    assert pace.wait_seconds(MONDAY, ANN, HALL) == pytest.approx(1 / 20, abs=1e-6)
    assert let_through(pace, 1, member=ANN, server=YARD) == 1
    assert let_through(pace, 1, member=ANN, server=None) == 1
    later = sum(let_through(pace, 1, MONDAY + 1, 500 + number) for number in range(100))
    assert later == 20


def test_who_is_held_up_by_their_server_loses_nothing_of_their_own() -> None:
    pace = Pace()
    for number in range(200):
        let_through(pace, 1, member=100 + number)
    assert let_through(pace, 50) == 0
    assert let_through(pace, 50, server=YARD) == 20


def test_typing_has_a_pace_of_its_own() -> None:
    pace = Pace()
    offered = sum(pace.wait_seconds(MONDAY, ANN, HALL, typing=True) == 0.0 for _ in range(100))
    assert offered == 60
    assert let_through(pace, 30) == 20
    again = sum(pace.wait_seconds(MONDAY + 1, ANN, HALL, typing=True) == 0.0 for _ in range(100))
    assert again == 6


def test_who_goes_on_is_told_once_until_they_pause() -> None:
    pace = Pace()
    told = 0
    for step in range(400):  # four messages a second
        if pace.wait_seconds(MONDAY + step / 4, ANN, None):
            told += pace.is_to_be_told(ANN)
    assert told == 1
    assert let_through(pace, 20, MONDAY + 200) == 20
    assert pace.is_to_be_told(ANN)


def test_what_is_remembered_is_bounded_and_who_was_quiet_longest_is_forgotten() -> None:
    pace = Pace(most=100)
    let_through(pace, 20)
    for number in range(1_000, 1_098):
        let_through(pace, 1, member=number, server=None)
        pace.is_to_be_told(number)
    assert let_through(pace, 1) == 0
    for number in range(2_000, 3_000):
        let_through(pace, 1, member=number, server=None)
        pace.is_to_be_told(number)
    assert len(pace._rested_at) == len(pace._told) == 100
    assert let_through(pace, 30) == 20


@given(
    st.lists(st.tuples(st.floats(0, 5), st.integers(1, 3)), max_size=120),
    st.floats(0, 1e7),
)
def test_in_no_stretch_of_time_is_more_let_through_than_the_limit(
    moves: list[tuple[float, int]], begin: float
) -> None:
    """The definition of such a limit: at most `at_once` + seconds * `per_second` in any stretch."""
    pace, now, through = Pace(), begin, list[float]()
    for pause, times in moves:
        now += pause
        through += [now] * let_through(pace, times, now)
    for first, start in enumerate(through):
        for last in range(first, len(through)):
            allowed = MEMBER.at_once + (through[last] - start) * MEMBER.per_second
            assert last - first + 1 <= allowed + 1e-3


def test_the_limits_are_those_that_were_decided() -> None:
    assert (Limit(20, 1.0), Limit(200, 20.0), Limit(60, 6.0)) == (MEMBER, SERVER, TYPING)
    assert {"member": MEMBER, "server": SERVER, "typing": TYPING} == LIMITS


@pytest.mark.parametrize(
    ("seconds", "says"),
    [
        (0.05, "in a second."),
        (1.0000001, "in a second."),
        (1.2, "in 2 seconds."),
        (90, "in 90 seconds."),
        (91, "in 2 minutes."),
    ],
)
def test_the_time_to_wait_is_said_in_words(seconds: float, says: str) -> None:
    assert too_fast(seconds).endswith(says)
