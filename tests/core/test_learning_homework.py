"""Homework: targets worked by hand, and the way between student and coach."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.learning.homework import (
    STATUSES,
    STEPS,
    CleanReps,
    MatchAttempts,
    Progress,
    RateOver,
    Stage,
    Status,
    Step,
    Target,
    Time,
    after,
    progress,
    status,
)
from core.learning.rates import interval
from core.learning.tally import Context, Tally

SET_AT = datetime(2025, 3, 3, 18, tzinfo=UTC)
DUE = SET_AT + timedelta(days=7)


def tally(landed: int, tries: int, *, hour: float = 0, context: Context = Context.TRAINING) -> Tally:
    return Tally(SET_AT + timedelta(hours=hour), "5MP > 2MP", tries, landed, context)


def done(target: Target, *tallies: Tally) -> Progress:
    return progress(target, tallies, SET_AT, DUE)


def test_clean_reps_add_up_over_tallies_and_drops_cost_nothing() -> None:
    first, second = tally(8, 12), tally(12, 15, hour=2)
    assert done(CleanReps(20), first) == Progress(None, False, 0.4, 12, 8, 12)
    assert done(CleanReps(20), second, first) == Progress(second.when, False, 1.0, 0, 20, 27)


def test_match_attempts_count_landed_or_dropped_and_nothing_else_does() -> None:
    tallies = [
        tally(10, 10),
        tally(5, 5, hour=1, context=Context.SPARRING),
        tally(5, 5, hour=2, context=Context.REACTION),
        tally(0, 2, hour=3, context=Context.RANKED),
        tally(1, 1, hour=4, context=Context.TOURNAMENT),
    ]
    assert done(MatchAttempts(4), *tallies) == Progress(None, False, 0.75, 1, 21, 23)
    assert done(MatchAttempts(3), *tallies).done_at == tallies[-1].when


def test_without_a_tally_all_is_missing() -> None:
    assert done(CleanReps(20)) == Progress(None, False, 0.0, 20, 0, 0)
    assert done(MatchAttempts(3)) == Progress(None, False, 0.0, 3, 0, 0)
    # n of n has the lower bound n / (n + z^2): above .8 from 16 on; but 20 tries are asked.
    assert done(RateOver(0.8, 20)) == Progress(None, False, 0.0, 20, 0, 0)
    assert done(RateOver(0.8, 10)).missing == 16


@pytest.mark.parametrize(("landed", "tries", "low"), [(81, 263, 0.2553), (15, 148, 0.0624), (1, 29, 0.0061)])
def test_a_rate_is_reached_at_the_published_lower_bound(landed: int, tries: int, low: float) -> None:
    # Wilson 95 %: Newcombe 1998, Statistics in Medicine 17:857-872, Table I
    assert done(RateOver(low - 0.0001, tries), tally(landed, tries)).done
    assert not done(RateOver(low + 0.0001, tries), tally(landed, tries)).done


def test_a_rate_seen_is_not_yet_a_rate_that_the_bound_passes() -> None:
    # Of 20: 16 has the lower bound .584, 17 has .640.
    assert not done(RateOver(0.6, 20), tally(16, 20)).done
    assert done(RateOver(0.6, 20), tally(17, 20)).done


def test_what_is_missing_of_a_rate_is_the_clean_reps_that_would_do() -> None:
    # .4 n - 1.96 sqrt(.24 n) - 4 drops is 3.9999 - 4 at n = 21, and above 0 at 22; from nothing it takes 20.
    told = done(RateOver(0.6, 20), tally(16, 20))
    assert told.missing == 2
    assert told.share == pytest.approx(0.9)
    assert not done(RateOver(0.6, 20), tally(16, 20), tally(1, 1, hour=1)).done
    assert done(RateOver(0.6, 20), tally(16, 20), tally(2, 2, hour=1)).done


def test_too_few_tries_do_not_reach_a_rate_however_clean() -> None:
    assert done(RateOver(0.5, 20), tally(19, 19)).missing == 1
    assert done(RateOver(0.5, 20), tally(20, 20)).done


def test_drops_from_the_time_of_learning_do_not_count_for_ever() -> None:
    # 23 of 50 is nowhere near; the newest 20 of 20 have the lower bound .839.
    learnt = done(RateOver(0.8, 20), tally(3, 30), tally(20, 20, hour=30))
    assert (learnt.done, learnt.landed, learnt.tries) == (True, 23, 50)


def test_what_is_reached_stays_reached() -> None:
    reached, worse = tally(20, 20), tally(0, 40, hour=1)
    assert done(RateOver(0.8, 20), reached, worse).done_at == reached.when


def test_tallies_count_from_the_moment_it_was_set_and_also_after_it_was_due() -> None:
    assert done(CleanReps(5), tally(5, 5, hour=-0.01)).tries == 0
    assert done(CleanReps(5), tally(5, 5)).done
    in_time, at_due = tally(5, 5, hour=167.99), tally(5, 5, hour=168)
    assert (done(CleanReps(5), in_time).done, done(CleanReps(5), in_time).late) == (True, False)
    assert (done(CleanReps(5), at_due).done, done(CleanReps(5), at_due).late) == (True, True)
    assert not done(CleanReps(5), in_time, at_due).late


@pytest.mark.parametrize(
    ("make", "what"),
    [
        (lambda: CleanReps(0), "at least 1 clean rep"),
        (lambda: MatchAttempts(0), "at least 1 try in a match"),
        (lambda: RateOver(1.0, 20), "above 0 % and below 100 %, not at 100%"),
        (lambda: RateOver(0.0, 20), "above 0 % and below 100 %, not at 0%"),
        (lambda: RateOver(0.8, 9), "at least 10 tries, not 9"),
    ],
)
def test_a_target_that_cannot_be_is_refused(make: Callable[[], Target], what: str) -> None:
    with pytest.raises(ValueError, match=what):
        make()


TALLIES = st.lists(
    st.tuples(st.integers(0, 12), st.integers(0, 4), st.sampled_from(Context)).filter(
        lambda one: one[0] + one[1]
    ),
    max_size=15,
).map(
    lambda made: [
        tally(landed, landed + dropped, hour=hour, context=context)
        for hour, (landed, dropped, context) in enumerate(made)
    ]
)
TARGETS = st.one_of(
    st.builds(CleanReps, st.integers(1, 60)),
    st.builds(MatchAttempts, st.integers(1, 30)),
    st.builds(RateOver, st.sampled_from([0.3, 0.5, 0.7, 0.8, 0.9]), st.integers(10, 40)),
)


def plainly_reached(target: Target, tallies: list[Tally]) -> bool:
    """Whether the target is reached at the last of these tallies, by its words."""
    match target:
        case CleanReps(reps):
            return sum(one.landed for one in tallies) >= reps
        case MatchAttempts(tries):
            return sum(one.tries for one in tallies if one.context.is_match) >= tries
        case RateOver(rate, least):
            for first in range(len(tallies)):
                tries = sum(one.tries for one in tallies[first:])
                landed = sum(one.landed for one in tallies[first:])
                if tries >= least and interval(landed, tries)[0] > rate:
                    return True
            return False


@given(TARGETS, TALLIES)
def test_a_target_is_reached_at_the_first_tally_at_which_its_words_hold(
    target: Target, tallies: list[Tally]
) -> None:
    told = done(target, *tallies)
    reached = [n for n in range(1, len(tallies) + 1) if plainly_reached(target, tallies[:n])]
    assert told.done_at == (tallies[reached[0] - 1].when if reached else None)
    assert done(target, *tallies[::-1]) == told
    assert (told.share == 1) is (told.missing == 0) is told.done
    assert 0 <= told.share <= 1


@given(TARGETS, TALLIES)
def test_what_is_missing_is_just_enough(target: Target, tallies: list[Tally]) -> None:
    missing = done(target, *tallies).missing
    context = Context.RANKED if isinstance(target, MatchAttempts) else Context.TRAINING
    if missing > 1:
        short = tally(missing - 1, missing - 1, hour=100, context=context)
        assert not done(target, *tallies, short).done
    if missing:
        assert done(target, *tallies, tally(missing, missing, hour=100, context=context)).done


# From the coach to the student and back


@pytest.mark.parametrize(
    ("stage", "hand_in", "accept", "send_back"),
    [
        (Stage.SET, Stage.HANDED_IN, None, None),
        (Stage.HANDED_IN, None, Stage.ACCEPTED, Stage.RETURNED),
        (Stage.RETURNED, Stage.HANDED_IN, Stage.ACCEPTED, None),
        (Stage.ACCEPTED, None, None, Stage.RETURNED),
    ],
)
def test_a_homework_goes_on_only_by_a_step_that_makes_sense_there(
    stage: Stage, hand_in: Stage | None, accept: Stage | None, send_back: Stage | None
) -> None:
    assert [after(stage, step) for step in Step] == [hand_in, accept, send_back]


@given(st.lists(st.sampled_from(Step)))
def test_a_step_twice_does_what_it_does_once(steps: list[Step]) -> None:
    stage = Stage.SET
    for step in steps:
        stage = after(stage, step) or stage
        assert after(stage, step) is None


def test_every_stage_can_be_reached_and_left() -> None:
    assert {Stage.SET, *STEPS.values()} == set(Stage) == {stage for stage, _ in STEPS}


@pytest.mark.parametrize(
    ("hours_before", "expected"),
    [
        (24.01, Status.OPEN),
        (24, Status.DUE_SOON),
        (0.01, Status.DUE_SOON),
        (0, Status.OVERDUE),
        (-100, Status.OVERDUE),
    ],
)
def test_an_open_homework_is_due_soon_for_a_day_and_then_overdue(
    hours_before: float, expected: Status
) -> None:
    now = DUE - timedelta(hours=hours_before)
    assert status(Stage.SET, now, DUE) is expected
    assert status(Stage.HANDED_IN, now, DUE) is Status.HANDED_IN
    assert status(Stage.RETURNED, now, DUE) is Status.RETURNED
    assert status(Stage.ACCEPTED, now, DUE) is Status.ACCEPTED


def test_the_table_of_statuses_holds_every_stage_at_every_time() -> None:
    assert set(STATUSES) == {(stage, time) for stage in Stage for time in Time}
    assert set(STATUSES.values()) == set(Status)
