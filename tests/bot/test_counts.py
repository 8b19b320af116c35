"""Counts as members type them."""

from __future__ import annotations

import tomllib
from dataclasses import asdict
from importlib.resources import files
from itertools import chain

import pytest
from conftest import DATA
from hypothesis import given
from hypothesis import strategies as st

from bot.words.counts import COUNT_CHARACTERS, Count, read_count

TABLE = tomllib.loads((DATA / "counts.toml").read_text("utf-8"))["count"]
CASES = [(typed, entry.get("is")) for entry in TABLE for typed in entry["typed"]]
WORDS = tomllib.loads((files("bot.words") / "counts.toml").read_text("utf-8"))
PIECES = ("7", "10", "/", "of", "out of", ":", ",", "(", ")", "hit", "early", "late", "dropped", "tries", "-")


def said(count: Count) -> dict[str, int]:
    """What a count says, without the reasons that nobody gave."""
    reasons = {reason: number for reason, number in asdict(count.drops).items() if number}
    return {"tries": count.tries, "landed": count.landed} | reasons


@pytest.mark.parametrize(("typed", "meant"), CASES, ids=[ascii(typed)[1:-1] for typed, _ in CASES])
def test_a_count_is_read_as_it_is_meant_or_not_at_all(typed: str, meant: dict[str, int] | None) -> None:
    count = read_count(typed)
    assert (said(count) if count else None) == meant


@pytest.mark.parametrize("reason", WORDS["reasons"])
def test_every_word_for_a_reason_counts_for_it(reason: str) -> None:
    for phrase in WORDS["reasons"][reason]:
        count = read_count(f"7/10, 2 {phrase}")
        assert count is not None, phrase
        assert said(count) == {"tries": 10, "landed": 7, reason: 2}, phrase


def test_no_phrase_means_two_things() -> None:
    every = list(chain.from_iterable((*WORDS["words"].values(), *WORDS["reasons"].values())))
    assert len(every) == len(set(every))


def test_a_text_longer_than_a_count_is_none() -> None:
    assert read_count("7/10" + " " * (COUNT_CHARACTERS - 4)) == Count(10, 7)
    assert read_count("7/10" + " " * (COUNT_CHARACTERS - 3)) is None


@given(st.text(max_size=300) | st.lists(st.sampled_from(PIECES), max_size=60).map(" ".join))
def test_no_text_raises_and_what_is_read_is_never_below_nothing(typed: str) -> None:
    count = read_count(typed)
    assert count is None or min(said(count).values()) >= 0


@given(st.integers(0, 999), st.integers(0, 999), st.integers(0, 999))
def test_the_order_of_numbers_and_words_does_not_matter(landed: int, early: int, late: int) -> None:
    numbers_first = read_count(f"{landed} hit, {early} early, {late} late")
    assert numbers_first == read_count(f"late {late}, hit {landed}, early {early}")
    assert numbers_first is not None
    assert numbers_first.tries == landed + early + late
