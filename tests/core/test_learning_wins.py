"""Small wins: true, specific, and silent where nothing was won."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.learning.tally import Context, Tally
from core.learning.wins import Win, WinCode, wins
from core.verdict import Facts

MONDAY = datetime(2025, 3, 3, 18, tzinfo=UTC)


def tally(
    landed: int, tries: int, context: Context = Context.TRAINING, *, day: int = 0, what: str = "5MP > 2MP"
) -> Tally:
    return Tally(MONDAY + timedelta(days=day), what, tries, landed, context)


def codes(*tallies: Tally) -> list[list[WinCode]]:
    """The wins of each tally in turn."""
    won = wins(tallies, UTC)
    return [[win.code for win in won if win.tally is one] for one in tallies]


def test_the_first_time_landed_is_a_win_once_and_says_how_many_drops_came_before() -> None:
    dropped, landed, again = tally(0, 7), tally(1, 5, day=1), tally(2, 5, day=2)
    assert wins([dropped, landed, again], UTC) == (Win(WinCode.FIRST_LANDED, landed, Facts(tries_before=7)),)


def test_going_for_it_in_a_match_is_a_win_even_when_dropped() -> None:
    dropped, landed = tally(0, 1, Context.RANKED, day=1), tally(1, 3, Context.TOURNAMENT, day=2)
    assert codes(tally(8, 9), dropped, landed) == [
        [WinCode.FIRST_LANDED],
        [WinCode.FIRST_TRIED_IN_MATCH],
        [WinCode.FIRST_LANDED_IN_MATCH],
    ]


def test_sparring_is_no_match() -> None:
    assert codes(tally(5, 9), tally(5, 9, Context.SPARRING, day=1)) == [[WinCode.FIRST_LANDED], []]


def test_a_personal_best_beats_the_best_before_with_both_numbers() -> None:
    first, worse, best = tally(7, 10), tally(6, 10, day=1), tally(15, 20, day=2)
    assert wins([first, worse, best], UTC)[1:] == (
        Win(WinCode.PERSONAL_BEST, best, Facts(best_landed=7, best_tries=10)),
    )


@pytest.mark.parametrize(
    ("second", "why"),
    [
        (tally(9, 9, day=1), "nine tries are too few to be a best"),
        (tally(14, 20, day=1), "the same share is not better"),
        (tally(10, 10, Context.REACTION, day=1), "the first in a context has nothing to beat"),
        (tally(10, 10, day=1, what="2MP > 5HP"), "another link has its own best"),
    ],
)
def test_what_is_not_better_is_no_personal_best(second: Tally, why: str) -> None:
    assert WinCode.PERSONAL_BEST not in codes(tally(7, 10), second)[1], why


def test_a_best_of_few_tries_does_not_bar_the_way_for_a_real_one() -> None:
    assert codes(tally(5, 10), tally(9, 9, day=1), tally(6, 10, day=2))[2] == [WinCode.PERSONAL_BEST]


def test_a_week_is_kept_when_it_follows_one_with_practice_and_counts_the_row() -> None:
    tallies = [tally(0, 3, day=day) for day in (0, 6, 7, 8, 14, 28)]
    assert wins(tallies, UTC) == (
        Win(WinCode.WEEK_KEPT, tallies[2], Facts(weeks_in_a_row=2)),
        Win(WinCode.WEEK_KEPT, tallies[4], Facts(weeks_in_a_row=3)),
    )


def test_weeks_are_those_of_the_members_zone() -> None:
    # Sunday 20:00 in New York is Monday in UTC.
    late = Tally(datetime(2025, 3, 10, 0, tzinfo=UTC), "5MP > 2MP", 3, 0, Context.TRAINING)
    assert [win.code for win in wins([tally(0, 3), late], UTC)] == [WinCode.WEEK_KEPT]
    assert wins([tally(0, 3), late], ZoneInfo("America/New_York")) == ()


def test_most_tallies_win_nothing() -> None:
    assert codes(*(tally(5, 10, day=day) for day in range(5)))[1:] == [[], [], [], []]
    assert wins([], UTC) == ()


TALLIES = st.lists(
    st.builds(
        lambda tries, share, context, hour, what: Tally(
            MONDAY + timedelta(hours=hour), what, tries, int(tries * share), context
        ),
        st.integers(1, 20),
        st.floats(0, 1),
        st.sampled_from(Context),
        st.integers(0, 24 * 60),
        st.sampled_from(["5MP > 2MP", "2MP > 5HP"]),
    ),
    max_size=30,
    unique_by=lambda tally: tally.when,
)


@given(TALLIES)
def test_every_win_is_true(tallies: list[Tally]) -> None:
    for win in wins(tallies, UTC):
        new = win.tally
        before = [one for one in tallies if one.when < new.when and one.what == new.what]
        match win.code:
            case WinCode.FIRST_LANDED:
                assert new.landed > 0 == sum(one.landed for one in before)
                assert win.facts["tries_before"] == sum(one.tries for one in before)
            case WinCode.FIRST_TRIED_IN_MATCH:
                assert new.context.is_match
                assert not any(one.context.is_match for one in before)
            case WinCode.FIRST_LANDED_IN_MATCH:
                assert new.context.is_match
                assert new.landed > 0 == sum(one.landed for one in before if one.context.is_match)
            case WinCode.PERSONAL_BEST:
                rivals = [one for one in before if one.context is new.context and one.tries >= 10]
                assert new.tries >= 10
                assert rivals
                assert all(new.landed / new.tries > one.landed / one.tries for one in rivals)
            case WinCode.WEEK_KEPT:
                assert int(win.facts["weeks_in_a_row"]) >= 2


@given(TALLIES)
def test_the_order_of_logging_does_not_matter_and_later_tallies_change_no_earlier_win(
    tallies: list[Tally],
) -> None:
    whole = wins(tallies, UTC)
    assert wins(tallies[::-1], UTC) == whole
    half = sorted(tallies, key=lambda one: one.when)[: len(tallies) // 2]
    assert whole[: len(wins(half, UTC))] == wins(half, UTC)
