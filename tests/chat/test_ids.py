"""What buttons carry comes back as it went in, fits, and is never trusted."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest
from chat.world import EnvClock
from demo import GAMES, demo
from hypothesis import given
from hypothesis import strategies as st
from inline import InlineWorker

from bot.app import build
from bot.components.act import Act
from bot.components.ids import (
    OPEN,
    PICK,
    FormKey,
    OpenKey,
    PickFrom,
    PracticeKey,
    make_form_id,
    make_open,
    make_practice_id,
    make_route_pick_id,
    make_save_form_id,
    read_form_id,
    read_open,
    read_pick,
    read_practice_id,
    read_route_pick,
    read_save_form_id,
)
from bot.components.question_ids import make_question_id, read_question_id
from bot.config import Settings
from bot.limits import CUSTOM_ID_CHARACTERS
from bot.results.ask import Asked, Kind
from bot.results.key import QuestionKey
from bot.results.place import Place
from bot.services.next import next_questions
from core.model import ContactKind

NAMES = st.text(min_size=1, max_size=12)
NUMBERS = st.none() | st.integers(0, 999)
KEYS = st.builds(
    QuestionKey,
    kind=st.sampled_from(Kind),
    game=st.text(max_size=12),
    character=st.text(max_size=12),
    first=NAMES,
    second=st.none() | NAMES,
    contact=st.sampled_from(ContactKind),
    state=st.none() | NAMES,
    active_frame=NUMBERS,
    hits_before=NUMBERS,
    distance=st.none() | st.sampled_from([0.0, 1.5, 2, 80.25]),
    delay_frames=NUMBERS,
    reversal=NUMBERS,
    scheme=st.none() | NAMES,
    mine=st.none() | NAMES,
)


@given(KEYS)
def test_a_question_comes_back_from_its_id_as_it_was(key: QuestionKey) -> None:
    made = make_question_id(key)
    if made is not None:
        assert len(made) <= CUSTOM_ID_CHARACTERS
        assert read_question_id(made) == key


@given(st.text(max_size=120) | st.text(max_size=110).map("q1|".__add__))
def test_no_id_whatever_breaks_the_reader(text: str) -> None:
    read = read_question_id(text)
    assert read is None or read_question_id(make_question_id(read) or text) == read


ROWS = st.integers(0, 2**63 - 1)


@given(st.builds(PracticeKey, act=st.sampled_from(Act), number=ROWS), st.builds(FormKey, ROWS, st.booleans()))
def test_what_buttons_and_forms_of_the_log_carry_comes_back_as_it_was(
    button: PracticeKey, form: FormKey
) -> None:
    for made in (make_practice_id(button), make_form_id(form)):
        assert len(made) <= CUSTOM_ID_CHARACTERS
    assert read_practice_id(make_practice_id(button)) == button
    assert read_form_id(make_form_id(form)) == form
    assert read_pick(PICK, str(button.number)) == button.number


@given(ROWS, st.sampled_from(PickFrom))
def test_what_lists_and_forms_of_routes_carry_comes_back_as_it_was(number: int, kept: PickFrom) -> None:
    for made in (make_route_pick_id(kept), make_save_form_id(number)):
        assert len(made) <= CUSTOM_ID_CHARACTERS
    assert read_save_form_id(make_save_form_id(number)) == number
    assert read_route_pick(make_route_pick_id(kept), str(number)) == (kept, number)
    for airborne, distance in product((False, True), (None, 0.0, 1.5)):
        key = OpenKey(number, airborne, distance)
        assert read_open(OPEN, make_open(key)) == key


NO_NUMBER = [
    "",
    "-1",
    "+1",
    " 1",
    "1 ",
    "1_0",
    "1.0",
    "0x1",
    "one",
    "１",
    "²",
    str(2**63),
    "9" * 19,
    "9" * 90,
]


@pytest.mark.parametrize("number", NO_NUMBER)
def test_what_is_no_number_of_a_row_is_read_as_nothing(number: str) -> None:
    assert read_practice_id(f"t1|undo|{number}") is None
    assert read_form_id(f"f1|{number}|") is None
    assert read_pick(PICK, number) is None
    assert read_open(OPEN, number) is None
    assert read_save_form_id(f"g1|{number}") is None
    assert read_route_pick("p1|saved", number) is None


@given(
    st.text(max_size=120)
    | st.sampled_from(["t1|undo|", "f1|", "s1", "o1", "p1|", "g1|"]).flatmap(
        lambda head: st.text().map(head.__add__)
    )
)
def test_no_id_of_the_log_whatever_breaks_the_reader(text: str) -> None:
    button, form = read_practice_id(text), read_form_id(text)
    assert button is None or 0 <= button.number < 2**63
    assert form is None or 0 <= form.tally_id < 2**63
    assert text == PICK or read_pick(text, "1") is None
    assert text == OPEN or read_open(text, "1") is None
    assert text in map(make_route_pick_id, PickFrom) or read_route_pick(text, "1") is None
    number = read_save_form_id(text)
    assert number is None or 0 <= number < 2**63


@pytest.mark.parametrize(("length", "fits"), [(100, True), (101, False)])
def test_an_id_of_100_characters_is_made_and_one_of_101_is_not(length: int, fits: bool) -> None:
    bare = make_question_id(QuestionKey(Kind.MOVE, "g", "", "5MP"))
    assert bare is not None
    made = make_question_id(QuestionKey(Kind.MOVE, "g", "a" * (length - len(bare)), "5MP"))
    assert (made is not None) is fits
    assert made is None or len(made) == length


@pytest.mark.parametrize("name", GAMES)
def test_no_button_of_a_demo_game_is_lost_for_its_length(name: str, tmp_path: Path) -> None:
    game = demo(name)
    desk = build(
        Settings.model_construct(default_game=game.name, database=tmp_path / "log.db"),
        EnvClock(),
        InlineWorker(),
    ).desk
    here = Place(None, 1, 1)
    made = 0
    for character in game.characters:
        for move in character.moves:
            result = desk.about(here, Kind.SAFE, move.input, character=character.name)
            assert isinstance(result, Asked)
            for key in next_questions(result):
                assert make_question_id(key) is not None, key
                made += 1
    assert made > 200
