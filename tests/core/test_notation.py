"""Reading and printing moves and routes. The cases of what members type stand in data/notation.toml."""

from __future__ import annotations

import pickle
from typing import Any

import pytest
from movebooks import BOOKS, DATA, GAMES, ODRUN, SIX, SIX_BUTTONS, move

from core.model import Character, Means
from core.notation import (
    MOVE_LIMIT,
    ROUTE_LIMIT,
    MoveBook,
    NotationError,
    Press,
    find_move,
    format_route,
    parse_route,
    read_input,
)


def cases(kind: str) -> list[Any]:
    return [
        pytest.param(BOOKS[game], *case, id=f"{game} {case[0]!a}")
        for game, tables in DATA.items()
        for case in tables[kind]
    ]


@pytest.mark.parametrize(("book", "text", "written"), cases("moves"))
def test_what_a_member_types_calls_the_move(book: MoveBook, text: str, written: str) -> None:
    assert book.find(text).input == written


@pytest.mark.parametrize(("book", "text", "could_be"), cases("ambiguous"))
def test_what_could_be_several_moves_is_listed_and_not_guessed(
    book: MoveBook, text: str, could_be: list[str]
) -> None:
    with pytest.raises(NotationError) as raised:
        book.find(text)
    assert [move.input for move in raised.value.candidates] == could_be
    assert all(written in str(raised.value) for written in could_be)


@pytest.mark.parametrize(("book", "text", "words", "says", "near"), cases("refused"))
def test_text_that_calls_no_move_is_pointed_at(
    book: MoveBook, text: str, words: str, says: str, near: str
) -> None:
    with pytest.raises(NotationError) as raised:
        book.find(text)
    error = raised.value
    assert text[error.start : error.end] == words
    assert says in str(error)
    assert not near or near in error.near
    assert not error.candidates


@pytest.mark.parametrize(("book", "text", "canonical"), cases("routes"))
def test_a_route_reads_as_its_canonical_text(book: MoveBook, text: str, canonical: str) -> None:
    assert format_route(book.route(text)) == canonical
    assert book.route(canonical) == book.route(text)


@pytest.mark.parametrize(("book", "text", "words", "says"), cases("routes_refused"))
def test_a_route_that_cannot_be_read_is_pointed_at(book: MoveBook, text: str, words: str, says: str) -> None:
    with pytest.raises(NotationError) as raised:
        book.route(text)
    assert text[raised.value.start : raised.value.end] == words
    assert says in str(raised.value)


def test_separators_say_how_moves_are_joined() -> None:
    route = parse_route("5LP ~ 5LP, 2MP xx 236HP > 66", SIX, ODRUN)
    assert [step.joined for step in route.steps] == [None, Means.CHAIN, Means.LINK, Means.CANCEL, None]
    assert [move.input for move in route.moves] == ["5LP", "5LP", "2MP", "236HP", "66"]


def test_what_is_said_of_a_step_is_kept() -> None:
    first, second, third = parse_route("CH meaty(2) 5HP, dl.(4) [MP], delay meaty 5LP", SIX, ODRUN).steps
    assert (first.state, first.meaty, first.meaty_frame, first.delayed) == ("counter hit", True, 2, False)
    assert (second.delayed, second.delay_frames, second.held, second.move.input) == (True, 4, True, "5MP")
    assert (third.delayed, third.delay_frames, third.meaty, third.meaty_frame) == (True, None, True, None)


@pytest.mark.parametrize("text", ["5[HP]", "hold HP", "Long Fist"])
def test_a_move_whose_input_is_held_is_a_held_step_however_it_is_called(text: str) -> None:
    step = BOOKS["six"].step(text)
    assert (step.move.input, step.press) == ("5[HP]", Press.HOLD)


def test_under_a_scheme_its_own_input_comes_first_and_the_plain_one_still_works() -> None:
    quick = ODRUN.moves[[move.input for move in ODRUN.moves].index("236MP")].under("simple")
    for text in ("6MK", "f.MK", "236MP", "qcf MP", "Quick Lantern", "Mid Lantern"):
        assert find_move(text, SIX, ODRUN, "simple") is quick
    with pytest.raises(NotationError):
        find_move("6MK", SIX, ODRUN)


def test_a_route_under_a_scheme_is_written_with_its_inputs() -> None:
    route = parse_route("2MP xx qcf MP", SIX, ODRUN, "simple")
    assert format_route(route) == "2MP xx 6MK"
    assert parse_route("2MP xx 6MK", SIX, ODRUN, "simple") == route


def test_a_scheme_may_take_the_input_of_another_move() -> None:
    moves = (move("5A", "Jab", by_scheme=(("simple", move("2A", "Jab")),)), move("2A", "Low"))
    book = MoveBook(GAMES["four"], Character("Teff", (), moves), "simple")
    with pytest.raises(NotationError) as raised:
        book.find("2A")  # the data leaves it open: both have this input under the scheme
    assert {move.name for move in raised.value.candidates} == {"Jab", "Low"}
    assert book.find("5A").name == "Jab"


@pytest.mark.parametrize("text", ["5" * 10**6, "\u200b" * 10**6, "😀" * 10**6, "5MP," * 250_000, " " * 10**6])
def test_a_million_characters_are_refused_with_the_limit(text: str) -> None:
    for read, limit in ((BOOKS["six"].find, MOVE_LIMIT), (BOOKS["six"].route, ROUTE_LIMIT)):
        with pytest.raises(NotationError, match=rf"at most {limit} characters, and this text has 1,000,000"):
            read(text)
    with pytest.raises(NotationError):
        read_input(text, SIX_BUTTONS)


def test_text_as_long_as_the_limit_is_read() -> None:
    assert BOOKS["six"].find("5MP".center(MOVE_LIMIT)).input == "5MP"
    assert len(BOOKS["six"].route("5MP, 2HP".ljust(ROUTE_LIMIT)).steps) == 2
    with pytest.raises(NotationError):
        BOOKS["six"].find("5MP".center(MOVE_LIMIT + 1))
    with pytest.raises(NotationError):
        BOOKS["six"].route("5MP, 2HP".ljust(ROUTE_LIMIT + 1))


def test_a_route_too_long_to_be_written_out_is_refused() -> None:
    with pytest.raises(NotationError, match="written out, this route has"):
        BOOKS["six"].route("5LP x20 > " * 10 + "5LP")


def test_an_error_points_below_the_text() -> None:
    with pytest.raises(NotationError) as raised:
        BOOKS["six"].route("5MP, 2HQ xx 236HP")
    assert raised.value.pointed() == "5MP, 2HQ xx 236HP\n      ^^"


def test_an_error_in_long_text_points_into_a_window() -> None:
    with pytest.raises(NotationError) as raised:
        BOOKS["six"].route("5MP, " * 40 + "2HQ" + ", 5MP" * 40)
    shown, carets = raised.value.pointed().split("\n")
    assert len(shown) < 80
    assert shown[carets.index("^") : carets.rindex("^") + 1] == "HQ"


def test_an_error_survives_the_way_to_another_process() -> None:
    with pytest.raises(NotationError) as raised:
        BOOKS["six"].find("236P")
    copy = pickle.loads(pickle.dumps(raised.value))
    assert (str(copy), copy.pointed()) == (str(raised.value), raised.value.pointed())
    assert copy.candidates == raised.value.candidates
