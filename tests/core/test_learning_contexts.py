"""Training beside match: when a gap is real, and when it cannot be told."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from core.learning.contexts import GapCode, by_context, training_to_match
from core.learning.rates import Rate, TooFew, measure
from core.learning.tally import Context, Tally

WHEN = datetime(2025, 3, 4, 18, tzinfo=UTC)


def tally(context: Context, landed: int, tries: int) -> Tally:
    return Tally(WHEN, "5MP > 2MP", tries, landed, context)


TRAINED = tally(Context.TRAINING, 56, 70)


@pytest.mark.parametrize(
    ("tallies", "code"),
    [
        ([TRAINED], GapCode.NOT_TRIED_IN_A_MATCH),
        ([TRAINED, tally(Context.SPARRING, 30, 80)], GapCode.NOT_TRIED_IN_A_MATCH),
        ([TRAINED, tally(Context.RANKED, 0, 9)], GapCode.TOO_FEW_IN_MATCHES),
        ([tally(Context.TRAINING, 5, 9), tally(Context.RANKED, 0, 40)], GapCode.TOO_FEW_IN_TRAINING),
        ([TRAINED, tally(Context.RANKED, 0, 5), tally(Context.TOURNAMENT, 1, 5)], GapCode.DROPS_IN_MATCHES),
        # Newcombe 1998, Table II: 56/70 - 48/80 is .0524 to .3339
        ([TRAINED, tally(Context.RANKED, 48, 80)], GapCode.DROPS_IN_MATCHES),
        ([TRAINED, tally(Context.RANKED, 7, 10)], GapCode.NO_REAL_GAP),
        ([tally(Context.TRAINING, 48, 80), tally(Context.RANKED, 56, 70)], GapCode.BETTER_IN_MATCHES),
    ],
)
def test_a_gap_is_named_only_when_it_is_real(tallies: list[Tally], code: GapCode) -> None:
    gap = training_to_match(tallies)
    assert gap.code is code
    told = code in (GapCode.NO_REAL_GAP, GapCode.DROPS_IN_MATCHES, GapCode.BETTER_IN_MATCHES)
    assert (gap.difference is not None) is told


def test_the_gap_carries_both_rates_and_newcombes_interval() -> None:
    gap = training_to_match([TRAINED, tally(Context.RANKED, 28, 50), tally(Context.TOURNAMENT, 20, 30)])
    assert (gap.training, gap.match) == (measure(56, 70), measure(48, 80))
    assert gap.difference is not None
    assert (round(gap.difference.low, 4), round(gap.difference.high, 4)) == (0.0524, 0.3339)


def test_success_in_training_says_nothing_about_matches() -> None:
    told = by_context([tally(Context.TRAINING, 100, 100)])
    assert isinstance(told[Context.TRAINING], Rate)
    assert told[Context.RANKED] == told[Context.TOURNAMENT] == TooFew(0, 0)


def test_each_context_is_told_apart_from_calm_to_serious() -> None:
    told = by_context([TRAINED, tally(Context.TRAINING, 4, 10), tally(Context.REACTION, 6, 12)])
    assert list(told) == ["training", "reaction", "sparring", "ranked", "tournament"]
    assert told[Context.TRAINING] == measure(60, 80)
    assert told[Context.REACTION] == measure(6, 12)


def test_only_ranked_and_tournament_are_matches() -> None:
    assert [context for context in Context if context.is_match] == [Context.RANKED, Context.TOURNAMENT]


@pytest.mark.parametrize(
    ("when", "landed", "tries", "problem"),
    [
        (WHEN.replace(tzinfo=None), 1, 2, "needs a time zone"),
        (WHEN, 0, 0, "at least 1 try"),
        (WHEN, 3, 2, "0 to 2 can land, not 3"),
        (WHEN, -1, 2, "0 to 2 can land, not -1"),
    ],
)
def test_a_tally_that_cannot_be_is_refused(when: datetime, landed: int, tries: int, problem: str) -> None:
    with pytest.raises(ValueError, match=problem):
        Tally(when, "5MP > 2MP", tries, landed, Context.TRAINING)
