"""Old tallies count less: the forgetting curve against its table, and weighted rates."""

from __future__ import annotations

import tomllib
from datetime import UTC, datetime, timedelta
from math import sqrt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.learning.rates import Rate, TooFew, measure
from core.learning.recency import FADING, SAVINGS_AT_AN_HOUR, recent_rate, savings, weight
from core.learning.tally import Context, Tally

# Ebbinghaus as in Murre & Dros 2015, PLoS ONE 10(7):e0120644, Table 3
TABLE = tomllib.loads(
    (Path(__file__).parents[1] / "data" / "learning" / "published.toml").read_text("utf-8")
)["forgetting"]
ROWS = list(zip(TABLE["hours"], TABLE["savings"], strict=True))
NOW = datetime(2025, 6, 1, 20, tzinfo=UTC)


def tally(days_ago: float, landed: int, tries: int) -> Tally:
    return Tally(NOW - timedelta(days=days_ago), "5MP > 2MP", tries, landed, Context.TRAINING)


def test_the_curve_is_off_from_the_table_by_as_much_as_it_says() -> None:
    misses = [savings(timedelta(hours=hours)) - seen for hours, seen in ROWS]
    assert max(map(abs, misses)) == pytest.approx(0.038, abs=0.0005)
    assert max(misses, key=abs) == misses[1] > 0
    assert sqrt(sum(miss * miss for miss in misses) / len(misses)) == pytest.approx(0.020, abs=0.0005)


def test_no_other_curve_of_its_kind_lies_nearer_to_the_table() -> None:
    def squares(level: float, fading: float) -> float:
        return float(sum((level * hours**-fading - seen) ** 2 for hours, seen in ROWS))

    best = squares(SAVINGS_AT_AN_HOUR, FADING)
    for level in (-0.001, 0, 0.001):
        for fading in (-0.001, 0, 0.001):
            if level or fading:
                assert squares(SAVINGS_AT_AN_HOUR + level, FADING + fading) > best


def test_the_last_day_counts_in_full_and_older_tries_as_their_savings_against_a_day() -> None:
    assert weight(timedelta(0)) == weight(timedelta(hours=24)) == 1
    # The table's own ratio of 31 days to 1 day
    assert weight(timedelta(days=31)) == pytest.approx(0.211 / 0.337, abs=0.02)
    assert weight(timedelta(days=6)) == pytest.approx(0.254 / 0.337, abs=0.04)


@given(st.integers(0, 10**8), st.integers(0, 10**8))
def test_an_older_try_never_counts_more_and_never_nothing(one: int, other: int) -> None:
    newer, older = sorted((one, other))
    assert 1 >= weight(timedelta(seconds=newer)) >= weight(timedelta(seconds=older)) > 0
    assert 1 >= savings(timedelta(seconds=newer)) >= savings(timedelta(seconds=older)) > 0


def test_a_recent_rate_leans_to_what_was_landed_lately() -> None:
    got_better = recent_rate([tally(90, 2, 20), tally(0, 18, 20)], NOW)
    got_worse = recent_rate([tally(90, 18, 20), tally(0, 2, 20)], NOW)
    assert isinstance(got_better, Rate)
    assert isinstance(got_worse, Rate)
    assert got_better.share > 0.5 > got_worse.share
    # weights 1 and 90 ** -0.1302: (18 + 2 w) / (20 + 20 w)
    fade = 90**-0.1302
    assert got_better.share == pytest.approx((18 + 2 * fade) / (20 + 20 * fade))
    assert got_better.tries == pytest.approx(20 * (1 + fade) ** 2 / (1 + fade**2))


def test_tallies_of_one_age_give_the_plain_rate_however_old() -> None:
    rate = recent_rate([tally(200, 6, 10), tally(200, 15, 20)], NOW)
    plain = measure(21, 30)
    assert isinstance(rate, Rate)
    assert (rate.landed, rate.tries, rate.low, rate.high) == pytest.approx(
        (plain.landed, plain.tries, plain.low, plain.high)
    )


def test_few_effective_tries_are_too_few_to_tell() -> None:
    # Weights 1 and 300 ** -0.1302 = .476: five tries of each are worth 5 (1.476)^2 / (1 + .476^2) = 8.88.
    told = recent_rate([tally(0, 5, 5), tally(300, 0, 5)], NOW)
    assert isinstance(told, TooFew)
    assert told.tries == pytest.approx(8.88, abs=0.005)
    assert recent_rate([], NOW) == TooFew(0, 0)


def test_a_tally_from_after_now_counts_as_fresh() -> None:
    assert recent_rate([tally(-2, 8, 10)], NOW) == recent_rate([tally(0, 8, 10)], NOW)


@given(
    st.lists(
        st.tuples(st.floats(0, 1000), st.integers(1, 50), st.floats(0, 1)),
        min_size=1,
        max_size=20,
    )
)
def test_effective_tries_are_never_more_than_the_tries(rows: list[tuple[float, int, float]]) -> None:
    tallies = [tally(days, int(tries * share), tries) for days, tries, share in rows]
    told = recent_rate(tallies, NOW)
    assert 0 < told.tries <= sum(one.tries for one in tallies) + 1e-9
    if isinstance(told, Rate):
        shares = [one.landed / one.tries for one in tallies]
        assert min(shares) - 1e-9 <= told.share <= max(shares) + 1e-9
        assert told.low <= told.share <= told.high
