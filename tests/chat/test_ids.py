"""What buttons carry comes back as it went in, fits, and is never trusted."""

from __future__ import annotations

import pytest
from chat.world import EnvClock
from demo import GAMES, demo
from hypothesis import given
from hypothesis import strategies as st

from bot.app import build
from bot.components.ids import make_question_id, read_question_id
from bot.config import Settings
from bot.render.limits import CUSTOM_ID_CHARACTERS
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


@pytest.mark.parametrize(("length", "fits"), [(100, True), (101, False)])
def test_an_id_of_100_characters_is_made_and_one_of_101_is_not(length: int, fits: bool) -> None:
    bare = make_question_id(QuestionKey(Kind.MOVE, "g", "", "5MP"))
    assert bare is not None
    made = make_question_id(QuestionKey(Kind.MOVE, "g", "a" * (length - len(bare)), "5MP"))
    assert (made is not None) is fits
    assert made is None or len(made) == length


@pytest.mark.parametrize("name", GAMES)
def test_no_button_of_a_demo_game_is_lost_for_its_length(name: str) -> None:
    game = demo(name)
    desk = build(Settings.model_construct(default_game=game.name), EnvClock()).desk
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
