"""The interpreter reads of directions and buttons what the game file says, to the frame."""

from __future__ import annotations

import random
import tomllib
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from core.inputs import Entered, Facing, Frame, mirrored, read
from core.inputs.commands import commands_of
from core.inputs.interpreter import Interpreter
from core.model import Button, Character, Game, Motion, Move, MoveKind

BUTTONS = tuple(
    Button(f"{strength[0].upper()}{group[0].upper()}", group, strength)
    for group in ("punch", "kick")
    for strength in ("light", "heavy")
)
MOTIONS = (
    Motion("quarter circle", ("236", "26"), 6, 4, None, 1),
    Motion("forward, down, forward", ("623", "626"), 6, 4, None, 2),
    Motion("charge", ("46", "16"), 6, 4, 20, 2),
    Motion("double quarter circle", ("236236", "2626"), 6, 4, None, 3),
)
INPUTS = (
    *("5LP", "5HP", "5LK", "2LP", "6HP", "j.HP", "LP+LK", "66"),
    *("236LP", "236HP", "236PP", "623LP", "623HP", "236236LP", "[4]6LP", "[4]6HP"),
)
DATA = Path(__file__).parents[1] / "data" / "inputs.toml"
READINGS = tomllib.loads(DATA.read_text("utf-8"))["reading"]


def game_of(*inputs: str, motions: tuple[Motion, ...] = MOTIONS, used_up: bool = False) -> Game:
    moves = tuple(
        Move(one, f"move {one}", MoveKind.MOVEMENT if one.isdigit() else MoveKind.NORMAL) for one in inputs
    )
    solo = Character("Solo", moves=moves)
    return Game("g", "1", 60, BUTTONS, motions=motions, directions_used_up=used_up, characters=(solo,))


def hands(text: str, airborne: bool = False) -> list[Frame]:
    """Frames as tests/data/inputs.toml writes them."""
    frames: list[Frame] = []
    for word in text.split():
        direction, *pressed = word.split("+")
        digit, _, times = direction.partition("*")
        frames.append(Frame(int(digit), frozenset(pressed), airborne))
        frames += [Frame(int(digit), airborne=airborne)] * (int(times or 1) - 1)
    return frames


def outcomes(game: Game, frames: list[Frame], side: Facing = Facing.RIGHT) -> list[str]:
    return [
        result.move.input if result.move else "-"
        for result in read(game, game.characters[0], frames, side=side)
    ]


CASES = [
    pytest.param(case, id=f"{reading['says']}: {case['hands']}")
    for reading in READINGS
    for case in reading["cases"]
]


@pytest.mark.parametrize("case", CASES)
def test_hands_give_what_the_game_file_says(case: dict[str, Any]) -> None:
    frames = hands(case["hands"], case.get("airborne", False))
    assert outcomes(game_of(*INPUTS), frames) == case["gives"]


@pytest.mark.parametrize("case", CASES)
def test_the_same_hands_mirrored_give_the_same_facing_left(case: dict[str, Any]) -> None:
    frames = hands(case["hands"], case.get("airborne", False))
    left = [Frame(mirrored(frame.direction), frame.pressed, frame.airborne) for frame in frames]
    assert outcomes(game_of(*INPUTS), left, Facing.LEFT) == case["gives"]


def test_a_result_names_its_form_and_the_directions_it_took() -> None:
    (result,) = read(game_of(*INPUTS), game_of(*INPUTS).characters[0], hands("2 5 3 1 6*2 6+LP"))
    assert (result.frame, result.form) == (6, "236")
    assert result.took == (Entered(2, 0), Entered(3, 2), Entered(6, 4))


def test_a_result_facing_left_names_directions_as_entered_there() -> None:
    game = game_of(*INPUTS)
    (result,) = read(game, game.characters[0], hands("2 1 4+LP"), side=Facing.LEFT)
    assert result.move is not None
    assert result.move.input == "236LP"
    assert result.took == (Entered(2, 0), Entered(1, 1), Entered(4, 2))


def test_a_press_without_a_motion_took_the_direction_held() -> None:
    game = game_of(*INPUTS)
    (result,) = read(game, game.characters[0], hands("2 6*9 6+HP"))
    assert (result.form, result.took) == (None, (Entered(6, 1),))


@pytest.mark.parametrize(("used_up", "second"), [(False, "236HP"), (True, "6HP")])
def test_whether_a_motion_uses_its_directions_up_is_the_games_rule(used_up: bool, second: str) -> None:
    game = game_of(*INPUTS, used_up=used_up)
    assert outcomes(game, hands("2 6+LP 6+HP")) == ["236LP", second]


def test_a_press_without_a_motion_uses_nothing_up() -> None:
    assert outcomes(game_of(*INPUTS, used_up=True), hands("2+LP 6+LP")) == ["2LP", "236LP"]


def test_of_equal_priority_the_longer_form_wins_then_the_files_order() -> None:
    short, long = Motion("short", ("26",), 6, 4, None, 1), Motion("long", ("126",), 6, 4, None, 1)
    other = Motion("other", ("36",), 6, 4, None, 1)
    game = game_of("26LP", "126LP", "36LP", motions=(other, short, long))
    assert outcomes(game, hands("1 2 3 6+LP")) == ["126LP"]
    assert outcomes(game, hands("2 3 6+LP")) == ["36LP"]
    game = game_of("36LP", "26LP", motions=(short, other))
    assert outcomes(game, hands("2 3 6+LP")) == ["26LP"]


def test_a_motion_without_windows_gets_the_usual_ones() -> None:
    game = game_of("5LP", "236LP", motions=(Motion("quarter circle", ("236",)),))
    assert outcomes(game, hands("2 3 5*9 6+LP")) == ["236LP"]
    assert outcomes(game, hands("2 3 5*10 6+LP")) == ["5LP"]
    assert outcomes(game, hands("2 3 6*10 6+LP")) == ["236LP"]
    assert outcomes(game, hands("2 3 6*11 6+LP")) == ["5LP"]


def test_held_and_released_buttons_are_read_as_far_as_a_press_goes() -> None:
    assert outcomes(game_of("5LP", "5[LP]"), hands("5+LP")) == ["5LP"]
    assert outcomes(game_of("5[LP]"), hands("5+LP")) == ["5[LP]"]
    assert outcomes(game_of("5]LP["), hands("5+LP")) == ["-"]


# ---- a second opinion: the rules read off the whole history, without a state


def matched(motion: Motion, form: str, frames: list[int], at: int) -> bool:
    """Whether a press on frame `at` finds the form in these directions (no charge)."""
    runs: list[tuple[int, int, int]] = []
    for number, direction in enumerate(frames[: at + 1]):
        if number and frames[number - 1] == direction:
            runs[-1] = (direction, runs[-1][1], number)
        else:
            runs.append((direction, number, number))
    assert motion.step_frames is not None
    assert motion.button_frames is not None

    def ends(k: int, index: int) -> bool:
        if runs[index][0] != int(form[k]):
            return False
        return k == 0 or any(
            runs[index][1] - runs[earlier][2] <= motion.step_frames and ends(k - 1, earlier)
            for earlier in range(index)
        )

    return any(at - runs[n][1] <= motion.button_frames and ends(len(form) - 1, n) for n in range(len(runs)))


def test_the_state_forgets_nothing_that_the_history_still_holds() -> None:
    rng = random.Random(5)
    for _ in range(300):
        forms = tuple({"".join(rng.choices("236", k=rng.randint(2, 4))) for _ in range(3)})
        motions = tuple(
            Motion(f"m{n}", (form,), rng.randint(1, 4), rng.randint(1, 4), None, n)
            for n, form in enumerate(forms)
        )
        game = game_of("5LP", "2LP", *[f"{form}LP" for form in forms], motions=motions)
        directions = [rng.choice((5, 2, 3, 6))]
        while len(directions) < 40:
            directions.append(directions[-1] if rng.random() < 0.4 else rng.choice((5, 2, 3, 6)))
        interpreter = Interpreter(game, commands_of(game, game.characters[0]))
        state = interpreter.start
        for at, direction in enumerate(directions):
            state = interpreter.moved(state, direction)
            found = interpreter.pressed(state, frozenset({"LP"}))
            fitting = [m for m in motions if matched(m, m.forms[0], directions, at)]
            best = max(fitting, key=lambda m: m.priority, default=None)
            held = "2LP" if direction in (2, 3) else "5LP"
            assert found is not None
            assert found.move.input == (f"{best.forms[0]}LP" if best else held), (forms, directions, at)


def test_the_directions_taken_are_in_what_was_entered_and_in_time() -> None:
    rng = random.Random(7)
    game = game_of(*INPUTS)
    seen = 0
    for _ in range(200):
        frames = [
            Frame(direction, frozenset({rng.choice(("LP", "HP"))} if rng.random() < 0.2 else ()))
            for direction, _ in product(rng.choices((2, 3, 6, 5, 4), k=20), range(rng.randint(1, 3)))
        ]
        for result in read(game, game.characters[0], frames):
            if result.form is None or result.move is None or "[" in result.move.input:
                continue
            seen += 1
            assert "".join(str(one.direction) for one in result.took) == result.form
            assert [one.frame for one in result.took] == sorted(one.frame for one in result.took)
            assert all(frames[one.frame].direction == one.direction for one in result.took)
    assert seen > 300
