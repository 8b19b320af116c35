"""What the buttons of conversions and the quiz carry comes back as it went in, and is never trusted."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.components.ids import (
    AnswerKey,
    TakeKey,
    make_answer_id,
    make_take_id,
    read_answer_id,
    read_take_id,
)
from bot.limits import CUSTOM_ID_CHARACTERS

ROWS = st.integers(0, 2**63 - 1)


@given(st.builds(AnswerKey, ROWS, ROWS, st.integers(2, 15)), st.builds(TakeKey, ROWS, st.text(min_size=1)))
def test_what_is_carried_comes_back_as_it_was(answer: AnswerKey, take: TakeKey) -> None:
    made = make_answer_id(answer)
    assert len(made) <= CUSTOM_ID_CHARACTERS
    assert read_answer_id(made) == answer
    taking = make_take_id(take)
    assert taking is None or (len(taking) <= CUSTOM_ID_CHARACTERS and read_take_id(taking) == take)
    assert taking is not None or len(take.situation) > 20


@pytest.mark.parametrize(
    "custom_id", ["", "a1", "a1|1|2", "a1|1|2|3|4", "a1|1|-2|3", "a1|x|2|3", "a2|1|2|3", "c1|1|2|3"]
)
def test_what_is_no_answer_is_read_as_nothing(custom_id: str) -> None:
    assert read_answer_id(custom_id) is None


@pytest.mark.parametrize(
    "custom_id", ["", "c1", "c1|1", "c1|1|", "c1||hit", "c1|x|hit", "c2|1|hit", "c1|1|a|b"]
)
def test_what_takes_nothing_is_read_as_nothing(custom_id: str) -> None:
    assert read_take_id(custom_id) is None


@given(st.text() | st.text().map("a1|".__add__) | st.text().map("c1|".__add__))
def test_no_id_whatever_breaks_the_reader(text: str) -> None:
    answer, take = read_answer_id(text), read_take_id(text)
    assert answer is None or 0 <= answer.question_id < 2**63
    assert take is None or 0 <= take.route_id < 2**63
