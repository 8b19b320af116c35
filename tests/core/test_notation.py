"""Reading and printing moves and routes. The cases of what members type stand in data/notation.toml."""

from __future__ import annotations

import pickle
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.model import Button, Character, Game, HitState, Means, Motion, Move, MoveKind, Scheme, Stance
from core.notation import (
    MOVE_LIMIT,
    ROUTE_LIMIT,
    MoveBook,
    NotationError,
    Press,
    Route,
    Step,
    find_move,
    format_input,
    format_route,
    parse_route,
    read_input,
)

SIX_BUTTONS = tuple(
    Button(strength[0].upper() + group[0].upper(), group, strength)
    for group in ("punch", "kick")
    for strength in ("light", "medium", "heavy")
)


def move(written: str, name: str = "", *aliases: str, kind: MoveKind = MoveKind.NORMAL, **more: Any) -> Move:
    return Move(written, name or f"Plain {written}", kind, aliases, **more)


SIX_MOVES = (
    *(move(f"5{button.name}") for button in SIX_BUTTONS if button.name != "MK"),
    move("5MK", "Foxxglove"),
    move("2LP", "Ärmel"),
    move("2MP", "Crouching Medium Punch"),
    move("2HP"),
    move("2LK", "Straße"),
    move("2MK"),
    move("2HK"),
    move("4MP", "Elbow", "close MP"),
    move("6HP", "Hammer Fall", "overhead"),
    move("4HK"),
    move("3HK"),
    move("5[HP]", "Long Fist"),
    move("j.HP"),
    move("j.MP"),
    move("j.2HP", "Drop, Then Roll"),
    move("236LP", "Low Lantern", "lantern"),
    move("236MP", "Mid Lantern", "lantern", by_scheme=(("simple", move("6MK", "Quick Lantern")),)),
    move("236HP", "High Lantern", "lantern"),
    move("236PP", "Twin Lantern", "qcf two", kind=MoveKind.ENHANCED),
    move("623HP", "Coil Rise"),
    move("214K", "Odrun's Reed"),
    move("421MK", "☆"),
    move("41236HP"),
    move("63214HP"),
    move("[4]6LP"),
    move("[4]6HP"),
    move("[2]8MK"),
    move("360HP", kind=MoveKind.THROW),
    move("236236P", "Great Tide", kind=MoveKind.SUPER),
    move("LP+LK", "Grab", kind=MoveKind.THROW),
    move("66", "Dash", kind=MoveKind.MOVEMENT),
)
FOUR_MOVES = tuple(
    map(move, ("5A", "5B", "5C", "5D", "2A", "2C", "4A", "A+B", "C+D", "j.B", "j.D", "236C", "5S1", "66"))
)
STATES = (
    HitState("counter hit", ("counter", "CH", "both")),
    HitState("wall stun", ("WS", "both")),
)
MOTIONS = (
    Motion("quarter circle forward", ("236", "26")),
    Motion("coil", ("623", "6236")),
    Motion("back charge", ("46",), charge_frames=40),
)

GAMES = {
    "six": Game(
        "Saltglass",
        "1",
        60,
        SIX_BUTTONS,
        ("light", "medium", "heavy"),
        hit_states=STATES,
        motions=MOTIONS,
        schemes=(Scheme("simple"),),
        characters=(Character("Odrun Vale", ("odrun",), SIX_MOVES),),
    ),
    "four": Game(
        "Ashgate",
        "1",
        60,
        (Button("A", None, "weak"), Button("B"), Button("C", None, "strong"), Button("D"), Button("S1")),
        ("weak", "strong"),
        characters=(Character("Teff", (), FOUR_MOVES),),
    ),
}
BOOKS = {name: MoveBook(game, game.characters[0]) for name, game in GAMES.items()}
SIX, ODRUN = GAMES["six"], GAMES["six"].characters[0]

DATA = tomllib.loads((Path(__file__).parents[1] / "data" / "notation.toml").read_text(encoding="utf-8"))


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


@pytest.mark.parametrize(
    ("written", "stance", "directions", "buttons", "group_count", "press"),
    [
        ("5MP", Stance.STANDING, "5", ("MP",), 0, Press.TAP),
        ("MP", Stance.STANDING, "5", ("MP",), 0, Press.TAP),
        ("2HK", Stance.CROUCHING, "2", ("HK",), 0, Press.TAP),
        ("3HP", Stance.CROUCHING, "3", ("HP",), 0, Press.TAP),
        ("j.2HP", Stance.AIRBORNE, "2", ("HP",), 0, Press.TAP),
        ("236HP", Stance.STANDING, "236", ("HP",), 0, Press.TAP),
        ("22HP", Stance.STANDING, "22", ("HP",), 0, Press.TAP),
        ("236PP", Stance.STANDING, "236", (), 2, Press.TAP),
        ("LK+LP", Stance.STANDING, "5", ("LP", "LK"), 0, Press.TAP),
        ("360HP", Stance.STANDING, "360", ("HP",), 0, Press.TAP),
        ("66", Stance.STANDING, "66", (), 0, Press.TAP),
        ("2", Stance.STANDING, "2", (), 0, Press.TAP),
        ("2[MK]", Stance.CROUCHING, "2", ("MK",), 0, Press.HOLD),
        ("5]MK[", Stance.STANDING, "5", ("MK",), 0, Press.RELEASE),
    ],
)
def test_an_input_is_taken_apart(
    written: str,
    stance: Stance,
    directions: str,
    buttons: tuple[str, ...],
    group_count: int,
    press: Press,
) -> None:
    parsed = read_input(written, SIX_BUTTONS)
    assert (parsed.stance, parsed.directions, parsed.buttons) == (stance, directions, buttons)
    assert (parsed.group_count, parsed.press, parsed.charge) == (group_count, press, False)


def test_a_charge_holds_its_first_direction() -> None:
    parsed = read_input("[4]6LP", SIX_BUTTONS)
    assert (parsed.charge, parsed.directions, parsed.buttons) == (True, "46", ("LP",))


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("", ""),
        ("5QQ", "QQ"),
        ("50HP", "50"),
        ("LP+LP", "LP"),
        ("LP+", "+"),
        ("[4]LP", "[4]"),
        ("[HP", "[HP"),
        ("PPPP", "PPPP"),
        ("j.", "j."),
        ("5 MP", " MP"),
    ],
)
def test_an_input_that_is_not_numpad_notation_is_pointed_at(written: str, words: str) -> None:
    with pytest.raises(NotationError) as raised:
        read_input(written, SIX_BUTTONS)
    assert written[raised.value.start : raised.value.end] == words


@pytest.mark.parametrize(
    ("written", "held"),
    [
        ("236HP", "236[HP]"),
        ("j.HP", "j.[HP]"),
        ("jHP", "j[HP]"),
        ("J", "[J]"),
        ("J+K", "[J+K]"),
        ("66", "66"),
    ],
)
def test_a_held_button_is_written_in_brackets(written: str, held: str) -> None:
    assert format_input(written, Press.HOLD) == held


PIECES = st.sampled_from(
    [
        *(
            "5",
            "2",
            "236",
            "[4]6",
            "360",
            "66",
            "j.",
            "cr.",
            "c.",
            "b",
            "d",
            "f",
            "qcf",
            "dp",
            "charge",
            "back",
        ),
        *("MP", "HP", "lp", "K", "PP", "punch", "heavy", "[", "]", "(", ")", "(4)", "+", ".", "x3", "x", "×"),
        *(",", ";", "~", "xx", ">", "->", "→", "↓", "into", "then", "CH", "counter", "wall", "stun", "meaty"),
        *("delay", "hold", "lantern", "hammer", "fall", "☆", "é", "\u0301", "\u200b", "٢"),
        *(" ", "\n", "\x00", "\ud800"),
    ]
)
ANY_TEXT = st.one_of(st.text(max_size=120), st.lists(PIECES, max_size=24).map("".join))


def refusal(read: Callable[[str], object], text: str) -> NotationError | None:
    try:
        read(text)
    except NotationError as error:
        return error
    return None


@given(ANY_TEXT, st.sampled_from(sorted(BOOKS)))
def test_any_text_is_read_or_refused_with_a_place_and_one_sentence(text: str, game: str) -> None:
    book = BOOKS[game]
    for read in (book.find, book.step, book.route, lambda t: read_input(t, SIX_BUTTONS)):
        error = refusal(read, text)
        if error is None:
            continue
        assert 0 <= error.start <= error.end <= len(text)
        assert str(error).isprintable()
        assert len(str(error)) < 500
        assert str(error).endswith(".")
        shown, carets = error.pointed().split("\n")
        assert shown.isprintable()
        assert set(carets) <= set(" ^")
        assert "^" in carets


@given(st.sampled_from([case for case in DATA["six"]["moves"] if case[0].isascii()]), st.data())
def test_case_does_not_matter(case: list[str], data: st.DataObject) -> None:
    upper = data.draw(st.lists(st.booleans(), min_size=len(case[0]), max_size=len(case[0])))
    text = "".join(char.upper() if up else char.lower() for char, up in zip(case[0], upper, strict=True))
    assert BOOKS["six"].find(text).input == case[1]


@given(st.sampled_from(SIX_MOVES))
def test_every_move_is_found_by_its_input_and_its_name(known: Move) -> None:
    assert find_move(known.input, SIX, ODRUN) is known
    assert find_move(known.name, SIX, ODRUN) is known


LAYOUTS = (
    SIX_BUTTONS,
    GAMES["four"].buttons,
    (Button("P", "punch"), Button("K", "kick"), Button("S", "blade", "mid"), Button("H", "blade", "top")),
    (Button("X"), Button("X2"), Button("Y1"), Button("CH")),
    (Button("J"), Button("K"), Button("S")),
)
# A name such as "xx MP" would make "5LP xx MP" two things: such words are left out.
NAME_WORDS = ("Hammer", "Fall,", "then", "into", "xx", "~", "Over>", "Reed", "Ä", "☆")


@st.composite
def small_games(draw: st.DrawFn) -> Game:
    buttons = draw(st.sampled_from(LAYOUTS))
    before = st.sampled_from(["5", "", "2", "3", "6", "j.", "j.2", "236", "623", "[4]6", "360", "41236"])
    names = [button.name for button in buttons]
    pressed = st.one_of(st.sampled_from(names), st.permutations(names).map(lambda some: "+".join(some[:2])))
    holds = st.sampled_from(["{}", "{}", "{}", "[{}]"])
    written = st.tuples(before, pressed, holds).map(lambda parts: parts[0] + parts[2].format(parts[1]))
    inputs = draw(st.lists(written, min_size=1, max_size=8, unique_by=lambda text: read_input(text, buttons)))
    words = st.lists(st.sampled_from(NAME_WORDS), min_size=1, max_size=3).map(" ".join)
    moves = tuple(Move(text, draw(words), MoveKind.NORMAL, (draw(words),)) for text in inputs)
    states = draw(
        st.lists(st.sampled_from(("counter hit", "Soaked", "up, then down", "ＣＲ2", "Ö")), unique=True)
    )
    return Game(
        "Small",
        "1",
        60,
        buttons,
        hit_states=tuple(map(HitState, states)),
        characters=(Character("One", (), moves),),
    )


@st.composite
def routes(draw: st.DrawFn, game: Game) -> Route:
    moves = game.characters[0].moves
    holdable = {read_input(move.input, game.buttons) for move in moves}
    steps: list[Step] = []
    for place in range(draw(st.integers(1, 6))):
        chosen = draw(st.sampled_from(moves))
        shape = read_input(chosen.input, game.buttons)
        # Where holding is a move of its own, the plain move cannot be held.
        own_hold = any(
            other.held
            and (other.directions, other.buttons, other.stance, other.charge)
            == (shape.directions, shape.buttons, shape.stance, shape.charge)
            for other in holdable
        )
        presses = [shape.press] if shape.held else [Press.TAP, Press.RELEASE] + [Press.HOLD] * (not own_hold)
        delay, frame = draw(st.none() | st.integers(1, 99)), draw(st.none() | st.integers(1, 99))
        steps.append(
            Step(
                chosen,
                draw(st.sampled_from([None, *Means])) if place else None,
                delayed=delay is not None or draw(st.booleans()),
                delay_frames=delay,
                state=draw(st.sampled_from([None, *(state.name for state in game.hit_states)])),
                meaty=frame is not None or draw(st.booleans()),
                meaty_frame=frame,
                press=draw(st.sampled_from(presses)),
            )
        )
    return Route(tuple(steps))


@given(st.data())
def test_a_route_reads_back_from_its_text(data: st.DataObject) -> None:
    game = data.draw(small_games())
    route = data.draw(routes(game))
    assert parse_route(format_route(route), game, game.characters[0]) == route
