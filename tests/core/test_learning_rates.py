"""Rates and their intervals against published tables, and what must hold for any counts."""

from __future__ import annotations

import tomllib
from math import sqrt
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.learning.rates import Difference, Rate, TooFew, Z, difference, interval, measure, tell

PUBLISHED = tomllib.loads(
    (Path(__file__).parents[1] / "data" / "learning" / "published.toml").read_text("utf-8")
)


@st.composite
def counts(draw: st.DrawFn, least: int = 1) -> tuple[int, int]:
    tries = draw(st.integers(least, 5000))
    return draw(st.integers(0, tries)), tries


def as_printed(value: float, printed: str) -> str:
    """The value with as many decimals as the printed one, and like it without a zero before the point."""
    text = f"{value:.{len(printed.partition('.')[2])}f}"
    return text.replace("0.", ".") if "." in text else text


@pytest.mark.parametrize("row", PUBLISHED["wilson"], ids=lambda row: f"{row['landed']} of {row['tries']}")
def test_one_rate_has_the_interval_of_the_published_table(row: dict[str, Any]) -> None:
    # Newcombe 1998, Statistics in Medicine 17:857-872, Table I
    low, high = interval(row["landed"], row["tries"])
    assert (as_printed(low, row["low"]), as_printed(high, row["high"])) == (row["low"], row["high"])


@pytest.mark.parametrize("row", PUBLISHED["newcombe"], ids=lambda row: f"{row['first']} - {row['second']}")
def test_two_rates_differ_by_the_interval_of_the_published_table(row: dict[str, Any]) -> None:
    # Newcombe 1998, Statistics in Medicine 17:873-890, Table II, method 10
    gap = difference(measure(*row["first"]), measure(*row["second"]))
    assert (as_printed(gap.low, row["low"]), as_printed(gap.high, row["high"])) == (row["low"], row["high"])
    assert gap.is_real is row["real"]


@given(counts())
def test_an_interval_contains_its_rate_and_stays_between_none_and_all(count: tuple[int, int]) -> None:
    rate = measure(*count)
    assert 0 <= rate.low <= rate.share <= rate.high <= 1
    assert rate.low < rate.high


@given(counts())
def test_a_bound_is_where_the_score_test_just_gives_up(count: tuple[int, int]) -> None:
    # Wilson 1927: the bounds p solve |share - p| = z sqrt(p (1 - p) / n)
    rate = measure(*count)
    for bound in (rate.low, rate.high):
        if 0 < bound < 1:
            reach = Z * sqrt(bound * (1 - bound) / rate.tries)
            assert abs(rate.share - bound) == pytest.approx(reach, rel=1e-6)


@given(counts(), st.integers(2, 20))
def test_more_tries_at_the_same_rate_narrow_the_interval_from_both_sides(
    count: tuple[int, int], times: int
) -> None:
    landed, tries = count
    few, many = measure(landed, tries), measure(landed * times, tries * times)
    assert many.low >= few.low
    assert many.high <= few.high
    assert many.high - many.low < few.high - few.low


@given(counts())
def test_one_more_landed_raises_both_bounds_and_one_more_drop_lowers_them(count: tuple[int, int]) -> None:
    landed, tries = count
    now, landed_more, dropped_more = (
        interval(landed, tries),
        interval(landed + 1, tries + 1),
        interval(landed, tries + 1),
    )
    assert landed_more[0] > now[0]
    assert landed_more[1] >= now[1]
    assert dropped_more[0] <= now[0]
    assert dropped_more[1] < now[1]


@given(counts(), counts())
def test_a_difference_turns_its_sign_with_the_order_and_contains_what_was_seen(
    one: tuple[int, int], other: tuple[int, int]
) -> None:
    gap, back = difference(measure(*one), measure(*other)), difference(measure(*other), measure(*one))
    assert (back.value, back.low, back.high) == pytest.approx((-gap.value, -gap.high, -gap.low), abs=1e-12)
    assert -1 - 1e-12 <= gap.low <= gap.value <= gap.high <= 1 + 1e-12


@given(counts())
def test_a_rate_never_really_differs_from_itself(count: tuple[int, int]) -> None:
    assert not difference(measure(*count), measure(*count)).is_real


def test_a_difference_whose_interval_ends_at_zero_is_not_real() -> None:
    assert not Difference(0.1, 0.0, 0.2).is_real
    assert not Difference(-0.1, -0.2, 0.0).is_real
    assert Difference(-0.1, -0.2, -0.001).is_real


def test_nine_tries_are_too_few_to_tell_and_ten_are_enough() -> None:
    assert tell(9, 9) == TooFew(landed=9, tries=9, needed=10)
    assert isinstance(tell(9, 10), Rate)


def test_without_a_try_everything_is_possible() -> None:
    assert interval(0, 0) == (0.0, 1.0)
    with pytest.raises(ValueError, match="at least 1 try"):
        measure(0, 0)


@pytest.mark.parametrize(("landed", "tries"), [(11, 10), (-1, 10), (0, -1)])
def test_counts_that_cannot_be_are_refused(landed: int, tries: int) -> None:
    with pytest.raises(ValueError, match=r"can land, not"):
        interval(landed, tries)
