"""The recap of a drill: those who did well in any way, and nobody else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from drilled import DRILLS, EARLIER, LISTED, MEMBERS, drill, logged, tallies_of_all
from hypothesis import given

from core.drills.drill import Drill, Scored, Scoring
from core.drills.recap import MemberWin, Recap, recap
from core.drills.standings import standings
from core.learning.rates import Rate, TooFew, tell
from core.learning.tally import Tally
from core.learning.wins import Win, WinCode
from core.verdict import Facts

BEST = drill(Scoring.BEST_TALLY)
ALL = frozenset(MEMBERS)


def recap_of(
    tallies: Iterable[Scored],
    before: Mapping[int, Iterable[Tally]] | None = None,
    listed: Iterable[int] = ALL,
    of: Drill = BEST,
) -> Recap:
    """The recap where the earlier rates are those of the tallies from before."""
    known = list(tallies)
    past = {member: list(logs) for member, logs in (before or {}).items()}
    earlier = {
        member: tell(sum(one.landed for one in logs), sum(one.tries for one in logs))
        for member, logs in past.items()
    }
    return recap(standings(of, known, earlier, frozenset(listed)), known, past)


def past(*counts: tuple[int, int]) -> list[Tally]:
    """Tallies from the hours before the drill opened."""
    return [logged(*count, hour=index - len(counts)).tally for index, count in enumerate(counts)]


def test_all_who_share_the_first_place_won() -> None:
    told = recap_of([logged(9, 10, member=1), logged(9, 10, member=2, hour=1), logged(8, 10, member=3)])
    assert [row.entry.member for row in told.winners] == [1, 2]
    assert told.new_winners == ()


def test_most_improved_is_told_whatever_the_scoring_and_only_for_a_real_gain() -> None:
    # Newcombe 1998, Table II, method 10: 9/10 - 3/10 from .1705; 6/10 - 3/10 leaves zero in.
    tallies = [logged(10, 10, member=1), logged(9, 10, member=2), logged(6, 10, member=3)]
    told = recap_of(tallies, {1: past((9, 10)), 2: past((3, 10)), 3: past((3, 10))})
    assert [row.entry.member for row in told.winners] == [1]
    assert [entry.member for entry in told.most_improved] == [2]
    assert recap_of(tallies[2:], {3: past((3, 10))}).most_improved == ()


def test_where_gain_is_scored_those_too_new_to_compare_have_winners_of_their_own() -> None:
    improved = drill(Scoring.MOST_IMPROVED)
    tallies = [logged(9, 10, member=1), logged(10, 10, member=2), logged(7, 10, member=3)]
    told = recap_of(tallies, {1: past((3, 10)), 2: past((0, 4))}, of=improved)
    assert [row.entry.member for row in told.winners] == [1]
    assert [row.entry.member for row in told.new_winners] == [2]


def test_first_timers_never_tried_this_before() -> None:
    tallies = [logged(0, 3, member=1), logged(5, 10, member=2), logged(1, 2, member=3)]
    assert recap_of(tallies, {2: past((0, 1))}).first_timers == (1, 3)


def test_small_wins_are_those_of_the_drill_and_know_the_past() -> None:
    first = logged(1, 5, member=1)
    better, best = logged(7, 10, member=2), logged(8, 10, member=2, hour=2)
    told = recap_of([first, better, best], {1: past((0, 4)), 2: past((5, 10), (6, 10))})
    assert told.wins == (
        MemberWin(1, Win(WinCode.FIRST_LANDED, first.tally, Facts(tries_before=4))),
        # 7 of 10 was a best too, for two hours: only the last one is told.
        MemberWin(2, Win(WinCode.PERSONAL_BEST, best.tally, Facts(best_landed=7, best_tries=10))),
    )


def test_a_week_kept_is_no_win_of_the_drill() -> None:
    told = recap_of([logged(5, 10)], {1: [logged(5, 10, hour=-24 * 7).tally]})
    assert told.wins == ()


def test_a_log_that_holds_the_drills_tallies_too_counts_them_once() -> None:
    earlier, first = past((0, 4)), logged(1, 5)
    final = standings(BEST, [first], {1: tell(0, 4)}, ALL)
    told = recap(final, [first], {1: [*earlier, logged(0, 3).tally, first.tally]})
    assert told == recap(final, [first], {1: earlier})
    assert [each.win.facts["tries_before"] for each in told.wins] == [4]


def test_a_struck_tally_wins_nothing() -> None:
    told = recap_of([logged(5, 10), logged(10, 10, hour=1, struck=True), logged(0, 1, hour=2)])
    assert [each.win.code for each in told.wins] == [WinCode.FIRST_LANDED]
    assert recap_of([logged(1, 5, struck=True)]) == Recap((), (), (), (), (), 0, 0, 0, 0)


def test_reps_of_all_count_and_only_the_listed_are_named() -> None:
    tallies = [logged(9, 10, member=1), logged(4, 12, member=2), logged(10, 10, member=3, struck=True)]
    told = recap_of(tallies, listed={2})
    assert (told.members, told.unlisted, told.landed, told.tries) == (2, 1, 13, 22)
    assert named(told) == {2}


def named(told: Recap) -> set[int]:
    """Every member that a recap names."""
    return {
        *(row.entry.member for row in told.winners + told.new_winners),
        *(entry.member for entry in told.most_improved),
        *told.first_timers,
        *(each.member for each in told.wins),
    }


def test_who_only_did_worse_is_not_named() -> None:
    tallies = [logged(9, 10, member=1), logged(0, 10, member=2), logged(2, 10, member=3)]
    told = recap_of(tallies, {2: past((9, 10)), 3: past((8, 10))})
    assert named(told) == {1}


@given(DRILLS, tallies_of_all(40), EARLIER, LISTED)
def test_nobody_is_named_without_consent_or_without_a_reason(
    of: Drill, tallies: list[Scored], earlier: dict[int, Rate | TooFew], listed: frozenset[int]
) -> None:
    final = standings(of, tallies, earlier, listed)
    told = recap(final, tallies, {})
    assert named(told) <= listed
    assert all(row.entry.landed for row in told.winners + told.new_winners)
    for entry in told.most_improved:
        assert entry.gain is not None
        assert entry.gain.is_real
        assert entry.gain.value > 0
    counted = [one.tally for one in tallies if not one.struck and of.opens <= one.tally.when < of.closes]
    assert told.tries == sum(one.tries for one in counted)
    assert told.landed == sum(one.landed for one in counted)
    assert told.members == len(final.rows) + told.unlisted
