"""Who stands where: the order, the places, those who are not listed, and one change after another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from random import Random

from drilled import DRILLS, EARLIER, LISTED, MEMBERS, drill, logged, tallies_of_all
from hypothesis import given
from hypothesis import strategies as st

from core.drills.drill import Drill, Scored, Scoring
from core.drills.scores import Entry, Group, entry_of
from core.drills.standings import NOTHING_EARLIER, Standings, own_row, rescored, standings
from core.learning.rates import Rate, TooFew, tell

BEST = drill(Scoring.BEST_TALLY)
ALL = frozenset(MEMBERS)
Earlier = Mapping[int, Rate | TooFew]


def placed(current: Standings) -> list[tuple[int | None, int]]:
    """Place and member of each row."""
    return [(row.place, row.entry.member) for row in current.rows]


def test_the_better_score_stands_first() -> None:
    tallies = [logged(5, 10, member=1), logged(9, 10, member=2), logged(7, 10, member=3)]
    assert placed(standings(BEST, tallies, {}, ALL)) == [(1, 2), (2, 3), (3, 1)]


def test_equal_scores_share_a_place_and_stand_by_tries_then_moment_then_id() -> None:
    tallies = [
        logged(6, 10, member=1, hour=9),
        # Two took 20 tries, one of them earlier:
        logged(5, 10, member=2),
        logged(8, 10, member=2, hour=5),
        logged(5, 10, member=3),
        logged(8, 10, member=3, hour=4),
        # Two took 10, at one moment:
        logged(8, 10, member=5, hour=6),
        logged(8, 10, member=4, hour=6),
    ]
    assert placed(standings(BEST, tallies, {}, ALL)) == [(1, 4), (1, 5), (1, 3), (1, 2), (5, 1)]


def test_the_same_share_of_more_tries_is_a_better_score() -> None:
    tallies = [logged(8, 10, member=1), logged(16, 20, member=2, hour=1)]
    assert placed(standings(BEST, tallies, {}, ALL)) == [(1, 2), (2, 1)]


def test_who_has_no_score_so_far_stands_last_without_a_place_by_id() -> None:
    tallies = [logged(0, 10, member=3), logged(0, 30, member=2), logged(1, 10, member=5, hour=1)]
    assert placed(standings(BEST, tallies, {}, ALL)) == [(1, 5), (None, 2), (None, 3)]


def test_a_beginner_who_gained_more_stands_before_an_expert_and_new_ones_have_places_of_their_own() -> None:
    # Newcombe 1998, Table II, method 10: 9/10 - 3/10 from .1705, 56/70 - 48/80 from .0524
    tallies = [
        logged(56, 70, member=1),
        logged(9, 10, member=2),
        logged(10, 10, member=3),
        logged(19, 20, member=4),
        logged(1, 1, member=5),
    ]
    earlier = {1: tell(48, 80), 2: tell(3, 10), 3: tell(0, 3), 5: tell(0, 1)}
    current = standings(drill(Scoring.MOST_IMPROVED), tallies, earlier, ALL)
    # Wilson's lower bounds of the new: 10/10 .7225, 19/20 .7639
    assert placed(current) == [(1, 2), (2, 1), (1, 4), (2, 3), (None, 5)]
    assert [row.entry.group for row in current.rows] == [
        Group.COMPARED,
        Group.COMPARED,
        Group.NEW,
        Group.NEW,
        Group.NOT_YET,
    ]


def test_an_unlisted_member_takes_part_takes_no_place_and_sees_their_own() -> None:
    tallies = [
        logged(9, 10, member=1),
        logged(8, 10, member=2),
        logged(7, 10, member=3),
        logged(0, 10, member=4),
    ]
    current = standings(BEST, tallies, {}, {1, 3})
    assert placed(current) == [(1, 1), (2, 3)]
    assert [entry.member for entry in current.unlisted] == [2, 4]
    own = [own_row(current, member) for member in MEMBERS]
    assert [row and (row.place, row.entry.member) for row in own] == [(1, 1), (2, 2), (2, 3), (None, 4), None]


def test_an_unlisted_member_with_the_score_of_a_listed_one_reads_the_same_place() -> None:
    current = standings(BEST, [logged(8, 10, member=1), logged(8, 10, member=2, hour=1)], {}, {1})
    row = own_row(current, 2)
    assert row is not None
    assert row.place == 1


def test_an_unlisted_member_is_placed_within_their_own_group() -> None:
    # 6/10 after 3/10 has the bound -.1177; the new 10/10 has .7225, which is a rate and no gain.
    tallies = [logged(6, 10, member=1), logged(10, 10, member=2)]
    current = standings(drill(Scoring.MOST_IMPROVED), tallies, {1: tell(3, 10)}, {2})
    row = own_row(current, 1)
    assert row is not None
    assert row.place == 1


def test_a_member_whose_every_tally_is_struck_is_not_in_the_standings() -> None:
    current = standings(BEST, [logged(8, 10, struck=True)], {}, ALL)
    assert current == Standings(BEST, (), ())


def test_moving_the_close_back_and_forth_loses_nobody() -> None:
    tallies = [logged(8, 10, member=1), logged(9, 10, member=2, hour=100)]
    shorter = replace(BEST, closes=BEST.opens + timedelta(hours=50))
    assert placed(standings(shorter, tallies, {}, ALL)) == [(1, 1)]
    assert placed(standings(BEST, tallies, {}, ALL)) == [(1, 2), (2, 1)]


def plainly_before(one: Entry, other: Entry) -> bool:
    """Whether one stands before the other, said step by step."""
    if one.group != other.group:
        return one.group < other.group
    if one.score is not None and other.score is not None:
        if one.score.points != other.score.points:
            return one.score.points > other.score.points
        if one.score.landed != other.score.landed:
            return one.score.landed > other.score.landed
        if one.took != other.took:
            return one.took < other.took
        if one.reached != other.reached:
            return one.reached < other.reached
    return one.member < other.member


@given(DRILLS, tallies_of_all(40), EARLIER, LISTED)
def test_standings_are_those_of_a_plain_recomputation(
    of: Drill, tallies: list[Scored], earlier: Earlier, listed: frozenset[int]
) -> None:
    current = standings(of, tallies, earlier, listed)
    plain = [
        entry
        for member in MEMBERS
        if (entry := entry_of(of, member, tallies, earlier.get(member, NOTHING_EARLIER))) is not None
    ]
    assert list(current.unlisted) == [entry for entry in plain if entry.member not in listed]
    named = [entry for entry in plain if entry.member in listed]
    assert sorted(row.entry.member for row in current.rows) == [entry.member for entry in named]
    for index, row in enumerate(current.rows):
        assert row.entry in named
        # A total order: each row stands before every later one, and none of them before it.
        for later in current.rows[index + 1 :]:
            assert plainly_before(row.entry, later.entry)
            assert not plainly_before(later.entry, row.entry)
        if row.entry.score is None:
            assert row.place is None
        else:
            points = (row.entry.score.points, row.entry.score.landed)
            better = [
                entry
                for entry in named
                if entry.group == row.entry.group
                and entry.score is not None
                and (entry.score.points, entry.score.landed) > points
            ]
            assert row.place == len(better) + 1


@given(DRILLS, tallies_of_all(), EARLIER, LISTED, st.randoms(use_true_random=False))
def test_the_order_in_which_tallies_are_read_changes_nothing(
    of: Drill, tallies: list[Scored], earlier: Earlier, listed: frozenset[int], random: Random
) -> None:
    shuffled = random.sample(tallies, len(tallies))
    assert standings(of, shuffled, earlier, listed) == standings(of, tallies, earlier, listed)


@given(DRILLS, tallies_of_all(), EARLIER, LISTED)
def test_one_tally_after_another_ends_where_computing_all_at_once_does(
    of: Drill, tallies: list[Scored], earlier: Earlier, listed: frozenset[int]
) -> None:
    current = Standings(of, (), ())
    for count, one in enumerate(tallies, start=1):
        own = [each for each in tallies[:count] if each.member == one.member]
        before = earlier.get(one.member, NOTHING_EARLIER)
        current = rescored(current, one.member, own, before, listed=one.member in listed)
        assert current == standings(of, tallies[:count], earlier, listed)


@given(DRILLS, tallies_of_all(), EARLIER, LISTED, st.data())
def test_striking_is_leaving_out_and_putting_back_is_neutral(
    of: Drill, tallies: list[Scored], earlier: Earlier, listed: frozenset[int], data: st.DataObject
) -> None:
    strike = data.draw(st.lists(st.booleans(), min_size=len(tallies), max_size=len(tallies)))
    struck = [replace(one, struck=one.struck or now) for one, now in zip(tallies, strike, strict=True)]
    left = [one for one, now in zip(tallies, strike, strict=True) if not now]
    whole = standings(of, tallies, earlier, listed)
    current = whole
    for rows in (struck, tallies):
        for member in MEMBERS:
            before = earlier.get(member, NOTHING_EARLIER)
            current = rescored(current, member, rows, before, listed=member in listed)
        if rows is struck:
            assert current == standings(of, left, earlier, listed)
    assert current == whole


@given(DRILLS, tallies_of_all(), EARLIER, LISTED, st.sampled_from(MEMBERS))
def test_taking_back_consent_and_giving_it_again_is_neutral(
    of: Drill, tallies: list[Scored], earlier: Earlier, listed: frozenset[int], member: int
) -> None:
    before = earlier.get(member, NOTHING_EARLIER)
    whole = standings(of, tallies, earlier, listed | {member})
    hidden = rescored(whole, member, tallies, before, listed=False)
    assert hidden == standings(of, tallies, earlier, listed - {member})
    assert rescored(hidden, member, tallies, before, listed=True) == whole
