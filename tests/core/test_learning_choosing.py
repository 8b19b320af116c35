"""When a question of the quiz comes again, which one is next, and what one chooses between."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import pytest

from core.learning.choosing import (
    BREAKS_DAYS,
    MOST_CHOICES,
    SLOW_BREAK,
    WRONG_BREAK,
    Asked,
    answered,
    choices,
    in_order,
    next_of,
)

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)
LIMIT = 3


def days(number: float) -> timedelta:
    return timedelta(days=number)


def test_a_course_of_answers_worked_out_by_hand() -> None:
    """Right, right, right but slow, right, wrong, right: each given on the day that it came due."""
    course = [
        # seconds, right -> step, days or minutes until it comes again
        (2.0, True, 1, days(1)),
        (2.9, True, 2, days(3)),
        (4.0, True, 2, timedelta(minutes=10)),
        (1.0, True, 3, days(7)),
        (1.0, False, 0, timedelta(minutes=1)),
        (3.0, True, 1, days(1)),
    ]
    step, now, due = 0, NOON, None
    for seconds, right, next_step, wait in course:
        step, due = answered(step, right, seconds, LIMIT, now, due)
        assert (step, due - now) == (next_step, wait)
        now = due
    assert now == NOON + days(1 + 3 + 7 + 1) + timedelta(minutes=11)


@pytest.mark.parametrize("step", range(len(BREAKS_DAYS) + 1))
def test_the_breaks_grow_with_each_right_answer_and_the_last_one_goes_on(step: int) -> None:
    """That longer-lasting knowledge wants longer breaks: the direction of Cepeda et al. 2008."""
    up, due = answered(step, True, 1, LIMIT, NOON)
    assert up == min(step + 1, len(BREAKS_DAYS))
    again, later = answered(up, True, 1, LIMIT, due, due)
    assert later - due > due - NOON or again == up == len(BREAKS_DAYS)


@pytest.mark.parametrize("step", range(len(BREAKS_DAYS) + 1))
def test_wrong_comes_sooner_than_slow_and_slow_sooner_than_right(step: int) -> None:
    wrong, slow, right = (
        answered(step, is_right, seconds, LIMIT, NOON)
        for is_right, seconds in ((False, 1), (True, 3.1), (True, 3.0))
    )
    assert wrong[1] < slow[1] < right[1]
    assert (wrong[0], slow[0]) == (0, step)
    assert (wrong[1] - NOON, slow[1] - NOON) == (WRONG_BREAK, SLOW_BREAK)


def test_a_wrong_answer_is_wrong_however_slow() -> None:
    assert answered(3, False, 60, LIMIT, NOON) == answered(3, False, 1, LIMIT, NOON)


def test_a_right_answer_ahead_of_its_day_changes_nothing_and_a_wrong_one_does() -> None:
    due = NOON + days(5)
    assert answered(3, True, 1, LIMIT, NOON, due) == (3, due)
    assert answered(3, True, 1, LIMIT, due, due)[0] == 4
    assert answered(3, False, 1, LIMIT, NOON, due) == (0, NOON + WRONG_BREAK)


def test_what_is_due_comes_first_then_what_is_new_then_what_is_due_soonest() -> None:
    cards = [
        Asked(1, 2, NOON + days(3)),
        Asked(2),
        Asked(3, 1, NOON - days(1)),
        Asked(4, 1, NOON + days(1)),
        Asked(5, 4, NOON - days(2)),
        Asked(6),
        Asked(7, 1, NOON),
    ]
    assert [card.number for card in in_order(cards, NOON)] == [5, 3, 7, 2, 6, 4, 1]
    first = next_of(cards, NOON)
    assert first is not None
    assert first.number == 5
    assert next_of([], NOON) is None


def test_one_chooses_between_the_right_answer_and_at_most_three_others_none_twice() -> None:
    told = choices("right", ["a", "b"], ["c", "d", "e"], list)
    assert told == ("right", "a", "b", "c")
    assert len(told) == MOST_CHOICES
    assert choices("right", [], ["c"], list) == ("right", "c")


def test_the_order_is_what_is_drawn_and_those_alike_come_before_others() -> None:
    def backwards(answers: Sequence[str]) -> list[str]:
        return list(reversed(answers))

    assert choices("right", ["a", "b"], ["c", "d", "e"], backwards) == ("e", "a", "b", "right")
