"""What a member scores in a drill, worked by hand."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from itertools import combinations, permutations
from zoneinfo import ZoneInfo

import pytest
from drilled import DRILLS, MONDAY, WHAT, drill, logged, tallies_of_all
from hypothesis import given
from hypothesis import strategies as st

from core.drills.drill import Drill, Scored, Scoring
from core.drills.scores import Entry, Group, Score, entry_of
from core.learning.rates import Rate, TooFew, difference, interval, measure, tell
from core.learning.tally import Context, Tally

NOTHING = TooFew(0, 0)
ANY = drill(Scoring.BEST_TALLY, at_least=1)


def entry(of: Drill, *tallies: Scored, earlier: Rate | TooFew = NOTHING) -> Entry:
    found = entry_of(of, 1, tallies, earlier)
    assert found is not None
    return found


def score(of: Drill, *tallies: Scored, earlier: Rate | TooFew = NOTHING) -> Score | None:
    return entry(of, *tallies, earlier=earlier).score


def run(*tallies: Scored) -> float:
    found = score(drill(Scoring.LONGEST_RUN), *tallies)
    return 0 if found is None else found.points


# Landed in tries


def test_the_best_tally_is_the_one_with_the_best_share() -> None:
    best = drill(Scoring.BEST_TALLY)
    assert score(best, logged(14, 20), logged(8, 10, hour=1), logged(5, 10, hour=2)) == Score(0.8, 8, 10)


def test_of_equal_shares_the_tally_with_more_landed_counts() -> None:
    best = drill(Scoring.BEST_TALLY)
    assert score(best, logged(8, 10), logged(16, 20, hour=1), logged(8, 10, hour=2)) == Score(0.8, 16, 20)


def test_a_short_tally_is_no_best_one_and_a_long_enough_one_is() -> None:
    best = drill(Scoring.BEST_TALLY, at_least=10)
    assert entry(best, logged(9, 9)).group is Group.NOT_YET
    assert score(best, logged(9, 9), logged(5, 10, hour=1)) == Score(0.5, 5, 10)


def test_who_practises_on_after_the_best_tally_took_no_more_tries_for_it() -> None:
    found = entry(
        drill(Scoring.BEST_TALLY),
        logged(5, 10),
        logged(9, 10, hour=2),
        logged(9, 10, hour=3),
        logged(1, 10, hour=4),
    )
    assert (found.took, found.reached) == (20, MONDAY + timedelta(hours=2))
    assert (found.landed, found.tries) == (24, 40)


# Total clean reps


def test_a_day_counts_up_to_its_cap_and_days_add_up() -> None:
    # Monday 15 + 10 -> 20 of 25; Tuesday 5: 25 in all, reached on Tuesday.
    total = drill(Scoring.TOTAL_CLEAN, daily_cap=20)
    found = entry(total, logged(15, 30), logged(10, 12, hour=1), logged(5, 9, hour=24), logged(0, 4, hour=25))
    assert found.score == Score(25, 25, 55)
    assert (found.took, found.reached) == (51, MONDAY + timedelta(hours=24))
    assert found.landed == 30


def test_reps_over_the_cap_do_not_move_the_moment_when_the_score_was_reached() -> None:
    total = drill(Scoring.TOTAL_CLEAN, daily_cap=20)
    found = entry(total, logged(20, 25), logged(20, 20, hour=1))
    assert (found.score, found.took, found.reached) == (Score(20, 20, 45), 25, MONDAY)


def test_days_are_those_of_the_drills_zone() -> None:
    # 18:00 and 05:00 UTC are two days in UTC and one, 13:00 to 24:00, in New York.
    evening = [logged(15, 15), logged(15, 15, hour=10.5)]
    assert score(drill(Scoring.TOTAL_CLEAN, daily_cap=20), *evening) == Score(30, 30, 30)
    there = drill(Scoring.TOTAL_CLEAN, daily_cap=20, zone=ZoneInfo("America/New_York"))
    assert score(there, *evening) == Score(20, 20, 30)


def test_a_day_on_which_the_clocks_change_is_one_day() -> None:
    # New York, 2021-11-07 has 25 hours: from 04:00Z to 05:00Z the next day.
    opens = datetime(2021, 11, 7, 4, tzinfo=UTC)
    of = drill(
        Scoring.TOTAL_CLEAN,
        daily_cap=10,
        opens=opens,
        closes=opens + timedelta(days=2),
        zone=ZoneInfo("America/New_York"),
    )

    def at(hours: float) -> Scored:
        return Scored(1, Tally(opens + timedelta(hours=hours), WHAT, 10, 10, Context.TRAINING))

    assert score(of, at(0), at(24.5)) == Score(10, 10, 20)
    assert score(of, at(0), at(25)) == Score(20, 20, 20)


# Longest run


def test_tallies_without_a_drop_join_while_nothing_comes_between_them_on_one_day() -> None:
    assert run(logged(10, 10), logged(5, 5, hour=1)) == 15
    assert run(logged(10, 10), logged(4, 5, hour=1), logged(5, 5, hour=2)) == 10
    # Monday 18:00 and Tuesday 00:00
    assert run(logged(10, 10), logged(5, 5, hour=6)) == 10


def test_the_day_of_a_run_is_that_of_the_drills_zone() -> None:
    # 18:00 and 04:30 UTC are one day, 13:00 to 23:30, in New York.
    evening = [logged(10, 10), logged(5, 5, hour=10.5)]
    assert run(*evening) == 10
    there = drill(Scoring.LONGEST_RUN, zone=ZoneInfo("America/New_York"))
    assert score(there, *evening) == Score(15, 15, 15)


def test_tallies_of_one_moment_make_the_same_run_in_whatever_order_they_are_read() -> None:
    at_once = [logged(10, 10), logged(0, 7), logged(5, 5)]
    # The shorter ones first: 5, the drops, 10.
    assert {run(*order) for order in permutations(at_once)} == {10}


def test_a_tally_that_a_coach_struck_is_as_if_it_were_not_there() -> None:
    assert run(logged(10, 10), logged(0, 5, hour=1, struck=True), logged(5, 5, hour=2)) == 15
    assert run(logged(10, 10), logged(5, 5, hour=1, struck=True)) == 10


def test_a_run_that_the_member_gave_counts_and_joins_nothing() -> None:
    assert run(logged(8, 10, run=7), logged(3, 3, hour=1)) == 7


@pytest.mark.parametrize(
    ("landed", "tries", "sure"),
    [(9, 10, 5), (8, 10, 3), (1, 10, 1), (0, 10, 0), (10, 10, 10), (50, 60, 5), (5, 10, 1)],
)
def test_without_a_run_given_only_what_the_counts_make_certain_is_in_a_row(
    landed: int, tries: int, sure: int
) -> None:
    # d drops leave d + 1 gaps for the landed ones: 9 in 2 gaps, so 5 in one of them at least.
    assert logged(landed, tries).sure_run == sure
    assert run(logged(landed, tries)) == sure


@given(st.integers(1, 9), st.data())
def test_the_certain_run_is_the_shortest_longest_run_of_all_orders(tries: int, data: st.DataObject) -> None:
    landed = data.draw(st.integers(0, tries))
    longest = []
    for places in combinations(range(tries), landed):
        marks = "".join("x" if place in places else " " for place in range(tries))
        longest.append(max(map(len, marks.split()), default=0))
    assert logged(landed, tries).sure_run == min(longest)


@pytest.mark.parametrize(
    ("landed", "tries", "run"), [(9, 10, 4), (9, 10, 10), (10, 10, 9), (0, 3, 1), (3, 9, -1)]
)
def test_a_run_that_the_counts_cannot_hold_is_refused(landed: int, tries: int, run: int) -> None:
    with pytest.raises(ValueError, match=f"With {landed} landed of {tries}, .* in a row, not {run}"):
        logged(landed, tries, run=run)


# Most improved


@pytest.mark.parametrize(
    ("now", "earlier", "printed"), [((56, 70), (48, 80), "0.0524"), ((9, 10), (3, 10), "0.1705")]
)
def test_a_gain_is_ranked_by_the_published_lower_bound(
    now: tuple[int, int], earlier: tuple[int, int], printed: str
) -> None:
    # Newcombe 1998, Statistics in Medicine 17:873-890, Table II, method 10
    found = score(drill(Scoring.MOST_IMPROVED), logged(*now), earlier=tell(*earlier))
    assert found is not None
    assert (f"{found.points:.4f}", found.landed, found.tries) == (printed, *now)


def test_one_of_one_after_none_of_one_is_no_gain() -> None:
    found = entry(drill(Scoring.MOST_IMPROVED), logged(1, 1), earlier=tell(0, 1))
    assert (found.group, found.score, found.gain) == (Group.NOT_YET, None, None)


def test_who_has_too_few_earlier_tries_is_new_and_ranked_by_the_rate_in_the_drill() -> None:
    # n of n has the lower bound n / (n + z^2): 10 / 13.8415
    found = entry(drill(Scoring.MOST_IMPROVED), logged(10, 10), earlier=tell(0, 9))
    assert found.group is Group.NEW
    assert found.score is not None
    assert found.score.points == pytest.approx(0.7225, abs=5e-5)


def test_who_did_not_gain_has_no_place_and_an_uncertain_gain_has_one() -> None:
    improved = drill(Scoring.MOST_IMPROVED)
    assert entry(improved, logged(3, 10), earlier=tell(4, 10)).group is Group.NOT_YET
    assert entry(improved, logged(3, 10), earlier=tell(3, 10)).group is Group.NOT_YET
    uncertain = entry(improved, logged(6, 10), earlier=tell(3, 10))
    assert uncertain.group is Group.COMPARED
    # Wilson: 6/10 from .3127, 3/10 to .6032; .3 - hypot(.2873, .3032) = -.1177
    assert uncertain.score is not None
    assert uncertain.score.points == pytest.approx(-0.1177, abs=5e-5)


def test_all_tallies_of_the_drill_make_the_rate_together() -> None:
    found = score(drill(Scoring.MOST_IMPROVED), logged(4, 5), logged(5, 5, hour=1), earlier=tell(3, 10))
    assert found is not None
    assert (found.landed, found.tries) == (9, 10)


# What counts


def test_a_drill_holds_its_opening_moment_and_not_its_closing_one() -> None:
    assert entry_of(ANY, 1, [logged(1, 1, hour=-0.01)], NOTHING) is None
    assert entry_of(ANY, 1, [logged(1, 1, hour=0)], NOTHING) is not None
    assert entry_of(ANY, 1, [logged(1, 1, hour=167.99)], NOTHING) is not None
    assert entry_of(ANY, 1, [logged(1, 1, hour=168)], NOTHING) is None


def test_other_members_and_other_subjects_do_not_count() -> None:
    other = Scored(1, Tally(MONDAY, "2MP > 5HP", 10, 10, Context.TRAINING))
    assert entry_of(ANY, 1, [logged(1, 1, member=2), other], NOTHING) is None


@pytest.mark.parametrize("scoring", Scoring)
def test_who_landed_nothing_so_far_takes_part_without_a_place(scoring: Scoring) -> None:
    found = entry(drill(scoring), logged(0, 12), earlier=tell(3, 10))
    assert (found.group, found.score, found.tries) == (Group.NOT_YET, None, 12)


@pytest.mark.parametrize(
    ("values", "what"),
    [
        ({"opens": MONDAY.replace(tzinfo=None)}, "need a time zone"),
        ({"closes": MONDAY}, "closes after it opens"),
        ({"at_least": 0}, "at least 1 try"),
        ({"daily_cap": 0}, "at least 1 rep"),
    ],
)
def test_a_drill_that_cannot_be_is_refused(values: dict[str, object], what: str) -> None:
    with pytest.raises(ValueError, match=what):
        drill(Scoring.TOTAL_CLEAN, **values)


# Against the plain definitions


def plain_points(of: Drill, tallies: list[Scored], earlier: Rate | TooFew) -> tuple[float, int] | None:
    """Points and landed by the words of each scoring, of one member's tallies in order of time."""
    known = [one.tally for one in tallies]
    landed, tries = sum(one.landed for one in known), sum(one.tries for one in known)
    match of.scoring:
        case Scoring.BEST_TALLY:
            able = [
                (Fraction(one.landed, one.tries), one.landed) for one in known if one.tries >= of.at_least
            ]
            share, most = max(able, default=(Fraction(0), 0))
            return (float(share), most) if most else None
        case Scoring.TOTAL_CLEAN:
            days: dict[date, int] = {}
            for one in known:
                days[one.when.date()] = days.get(one.when.date(), 0) + one.landed
            total = sum(min(day, of.daily_cap) for day in days.values())
            return (total, total) if total else None
        case Scoring.LONGEST_RUN:
            runs = [0, *(one.known_run for one in tallies)]
            for first, last in combinations(range(len(known) + 1), 2):
                part = known[first:last]
                clean = all(one.landed == one.tries for one in part)
                if clean and len({one.when.date() for one in part}) == 1:
                    runs.append(sum(one.tries for one in part))
            return (max(runs), max(runs)) if max(runs) else None
        case Scoring.MOST_IMPROVED:
            if tries < 10:
                return None
            if isinstance(earlier, TooFew):
                return (interval(landed, tries)[0], landed) if landed else None
            gain = difference(measure(landed, tries), earlier)
            return (gain.low, landed) if gain.value > 0 else None


@given(DRILLS, tallies_of_all(), st.integers(0, 30), st.integers(0, 10))
def test_a_score_is_what_its_definition_says_and_was_reached_when_it_was_first_so_high(
    of: Drill, tallies: list[Scored], landed: int, dropped: int
) -> None:
    earlier = tell(landed, landed + dropped)
    own = sorted(
        (one for one in tallies if one.member == 1 and not one.struck), key=lambda one: one.tally.when
    )
    own = [one for one in own if of.opens <= one.tally.when < of.closes]
    own = [one for index, one in enumerate(own) if index == 0 or one.tally.when != own[index - 1].tally.when]
    found = entry_of(of, 1, own, earlier)
    if not own:
        assert found is None
        return
    assert found is not None
    final = plain_points(of, own, earlier)
    assert (None if found.score is None else (found.score.points, found.score.landed)) == final
    last = len(own)
    if final is not None and of.scoring is not Scoring.MOST_IMPROVED:
        last = next(n for n in range(1, len(own) + 1) if plain_points(of, own[:n], earlier) == final)
    assert found.reached == own[last - 1].tally.when
    assert found.took == sum(one.tally.tries for one in own[:last])
