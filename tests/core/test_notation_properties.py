"""What holds for any text, any known move and any route of any small game."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import given
from hypothesis import strategies as st
from movebooks import BOOKS, DATA, GAMES, ODRUN, SIX, SIX_BUTTONS, SIX_MOVES

from core.model import Button, Character, Game, HitState, Means, Move, MoveKind
from core.notation import NotationError, Press, Route, Step, find_move, format_route, parse_route, read_input

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
