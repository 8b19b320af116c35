"""The planner finds the fewest directions, entered where they belong; the interpreter reads what it plans."""

from __future__ import annotations

import random
import tomllib
from dataclasses import replace
from heapq import heappop, heappush
from itertools import count, pairwise, product
from pathlib import Path
from typing import Any

import pytest
from demo import GAMES, demo, move, owner

from core.inputs import HAND_FRAMES, Facing, Frame, NoPlan, NoteCode, Plan, Wanted, mirrored, plan, read
from core.inputs.commands import commands_of
from core.inputs.interpreter import Interpreter, State
from core.model import Button, Character, Game, Motion, Move, MoveKind

DATA = Path(__file__).parents[1] / "data" / "inputs.toml"
SHARED = tomllib.loads(DATA.read_text("utf-8"))["shared"]
SIDES = tuple(Facing)


def planned(
    game: Game, who: Character, *inputs: str, frames: tuple[int | None, ...] = (), **more: Any
) -> Plan:
    """The plan of these moves, the later presses so many frames after the one before."""
    gaps = (None, *(frames or (None,) * (len(inputs) - 1)))
    found = plan(
        game, who, [Wanted(move(who, one), gap) for one, gap in zip(inputs, gaps, strict=True)], **more
    )
    assert isinstance(found, Plan)
    return found


def outcomes(game: Game, who: Character, found: Plan, side: Facing = Facing.RIGHT) -> list[str]:
    results = read(game, who, found.frames, side=side)
    return [result.move.input if result.move else "-" for result in results]


def small(motions: tuple[Motion, ...], *inputs: str, used_up: bool = False) -> tuple[Game, Character]:
    names = sorted({letter for one in inputs for letter in one if letter.isalpha()})
    solo = Character("Solo", moves=tuple(Move(one, one, MoveKind.NORMAL) for one in inputs))
    buttons = tuple(Button(name) for name in names)
    game = Game("g", "1", 60, buttons, motions=motions, directions_used_up=used_up, characters=(solo,))
    return game, solo


# ---- the fewest, against an exhaustive search

Key = tuple[int, State, int, int]
"""The target that is next, the interpreter's state, frames since the press and since the last turn."""


def fewest(game: Game, who: Character, wanted: list[Wanted]) -> tuple[int, int] | None:
    """Dijkstra over all that hands can do with all nine directions: the fewest directions, and the fewest of
    them that are entered before a press of a button alone."""
    interpreter = Interpreter(game, commands_of(game, who))
    commands = {command.move.input: command for command in interpreter.commands}
    start: Key = (0, interpreter.start, 9, HAND_FRAMES)
    number = count()
    queue = [(0, 0, next(number), start)]
    seen: dict[Key, tuple[int, int]] = {start: (0, 0)}
    while queue:
        cost, astray, _, key = heappop(queue)
        step, state, since_press, since_turn = key
        if seen[key] < (cost, astray):
            continue
        if step == len(wanted):
            return cost, astray
        gap, command = wanted[step].least_frames, commands[wanted[step].move.input]
        since = since_press + 1
        for direction in range(1, 10) if since_turn >= HAND_FRAMES else (state.direction,):
            moved = interpreter.moved(state, direction)
            turned = direction != state.direction
            turn = 1 if turned else min(since_turn + 1, HAND_FRAMES)
            after: list[Key] = []
            if gap is None or since < gap:
                after.append((step, moved, min(since, 9) if gap is None else since, turn))
            if since >= HAND_FRAMES if gap is None else since == gap or step == 0:
                found = interpreter.pressed(moved, command.choices[0])
                if found is not None and found.command is command:
                    after.append((step + 1, interpreter.after(moved, found), 0, turn))
            entered = turned and direction != 5
            price = cost + entered, astray + (entered and rests(command.move))
            for one in after:
                if one not in seen or seen[one] > price:
                    seen[one] = price
                    heappush(queue, (*price, next(number), one))
    return None


def rests(one: Move) -> bool:
    """Whether it is a button alone."""
    return one.input in ("5A", "5B")


def generated(rng: random.Random) -> tuple[Game, Character, list[Wanted]]:
    """A small motion set with overlaps, and two or three of its moves in a row."""
    motions, inputs = [], ["5A", "2A", "5B", "6B"][: rng.randint(1, 4)]
    used: set[str] = set()
    for n in range(rng.randint(1, 3)):
        forms = {"".join(rng.sample("236", rng.randint(2, 3))) for _ in range(rng.randint(1, 2))}
        if rng.random() < 0.3:
            forms.add("262")
        forms -= used
        if not forms:
            continue
        used |= forms
        ordered = tuple(sorted(forms))
        charge_frames = rng.randint(3, 6) if rng.random() < 0.2 else None
        windows = rng.randint(1, 3), rng.randint(1, 3)
        motions.append(Motion(f"m{n}", ordered, *windows, charge_frames, rng.randint(0, 2)))
        first, rest = ordered[0][0], ordered[0][1:]
        inputs.append((f"[{first}]{rest}" if charge_frames else first + rest) + rng.choice("AB"))
    game, who = small(tuple(motions), *inputs, used_up=rng.random() < 0.3)
    moves = rng.choices(who.moves, k=rng.randint(1, 3))
    gaps = [None, *[rng.choice((None, 2, 3, 5, 8)) for _ in moves[1:]]]
    return game, who, [Wanted(one, gap) for one, gap in zip(moves, gaps, strict=True)]


@pytest.mark.parametrize("seed", range(4))
def test_the_planner_needs_as_few_directions_as_an_exhaustive_search(seed: int) -> None:
    rng = random.Random(seed)
    without = 0
    for _ in range(500):
        game, who, wanted = generated(rng)
        found, best = plan(game, who, wanted), fewest(game, who, wanted)
        if best is None:
            without += 1
            assert isinstance(found, NoPlan), (game.motions, wanted)
            assert found.complete
            continue
        assert isinstance(found, Plan), (game.motions, wanted, best)
        astray = [turn for press in found.presses if rests(press.move) for turn in press.entered]
        entered = found.directions, sum(turn.direction != 5 for turn in astray)
        assert entered == best, (game.motions, wanted)
        assert outcomes(game, who, found) == [one.move.input for one in wanted]
    assert 0 < without < 250


@pytest.mark.parametrize("gap", [(9, 9), (10, 10), (1, 19)])
def test_a_motion_is_entered_after_the_press_before_it_where_that_costs_no_more(gap: tuple[int, int]) -> None:
    game = demo("saltglass")
    who = owner(game, "odrun")
    found = plan(game, who, [Wanted(move(who, "5MP")), Wanted(move(who, "623HP"), *gap)])
    assert isinstance(found, Plan)
    assert [[turn.direction for turn in press.entered] for press in found.presses] == [[], [6, 2, 6]]


def test_a_motion_is_begun_before_the_press_where_there_is_no_time_after_it() -> None:
    # Forward on the frame after 5MP, down and forward two frames later each: HP on the fifth at the soonest.
    game = demo("saltglass")
    who = owner(game, "odrun")
    just, short = (planned(game, who, "5MP", "623HP", frames=(frames,)) for frames in (5, 4))
    assert [[turn.direction for turn in press.entered] for press in just.presses] == [[], [6, 2, 6]]
    assert [[turn.direction for turn in press.entered] for press in short.presses] == [[6], [2, 6]]


def test_a_shortest_common_supersequence_is_a_plan() -> None:
    # Textbook: m + n - LCS; ABCBDAB and BDCABA have a longest common subsequence of 4, so 7 + 6 - 4 = 9.
    letters = str.maketrans("ABCD", "2468")
    first, second = "ABCBDAB".translate(letters), "BDCABA".translate(letters)
    motions = (Motion("first", (first,), 126, 126), Motion("second", (second,), 126, 126))
    game, who = small(motions, f"{first}A", f"{second}B")
    assert planned(game, who, f"{first}A", f"{second}B").directions == 9


def test_an_overlap_superstring_is_a_plan() -> None:
    # Rosalind LONG: these four overlap to ATTAGACCTGCCGGAATAC. With two frames between steps nothing can
    # lie between, as in a string; a letter that is there twice is let go between. The last
    # direction is entered with the press.
    letters = str.maketrans("ACGT", "2468")
    strings = ["ATTAGACCTG", "AGACCTGCCG", "CCTGCCGGAA", "GCCGGAATAC"]
    forms = []
    for one in strings:
        digits = one.translate(letters)
        forms.append(digits[0] + "".join("5" * (a == b) + b for a, b in pairwise(digits)))
    motions = tuple(Motion(form, (form,), 2, 1) for form in forms)
    inputs = [form + button for form, button in zip(forms, "ABCD", strict=True)]
    game, who = small(motions, *inputs)
    assert planned(game, who, *inputs).directions == len("ATTAGACCTGCCGGAATAC")


# ---- facts of the trade (common practice, no source)

TRADE = (
    Motion("quarter circle", ("236", "26"), 9, 9, None, 1),
    Motion("forward, down, forward", ("623", "626"), 9, 9, None, 2),
    Motion("double quarter circle", ("236236", "23626", "26236", "2626"), 9, 9, None, 3),
)


def trade_game() -> tuple[Game, Character]:
    buttons = (Button("LP", "punch"), Button("LK", "kick"))
    inputs = ("5LP", "2LP", "6LP", "236LP", "236LK", "623LP", "623LK", "236236LK")
    solo = Character("Solo", moves=tuple(Move(one, one, MoveKind.NORMAL) for one in inputs))
    return Game("g", "1", 60, buttons, motions=TRADE, characters=(solo,)), solo


@pytest.mark.parametrize("fact", SHARED, ids=[fact["says"] for fact in SHARED])
def test_shared_directions_are_saved_as_the_trade_says(fact: dict[str, Any]) -> None:
    game, who = trade_game()
    found = planned(game, who, *fact["moves"], frames=(fact["frames"],))
    first = planned(game, who, fact["moves"][0])
    assert found.directions - first.directions == fact["more"]


def test_a_plan_says_which_directions_are_shared_and_with_which_press() -> None:
    game, who = trade_game()
    found = planned(game, who, "623LP", "236236LK", frames=(20,))
    first, second = found.presses
    assert (first.alone, second.alone, found.directions, found.saved) == (3, 4, 5, 2)
    assert (first.shared, [one.direction for one in first.took]) == ((), [6, 2, 6])
    assert [(one.entered.direction, one.presses) for one in second.shared] == [(2, (0,)), (6, (0,))]
    assert [one.direction for one in second.entered] == [2, 6]
    assert found.inputs == 7


# ---- what is planned is what comes out

KINDS = (MoveKind.SPECIAL, MoveKind.ENHANCED, MoveKind.SUPER)
ROSTER = [(name, who.name) for name in GAMES for who in demo(name).characters]


@pytest.mark.parametrize(("name", "who_name"), ROSTER)
def test_every_pair_of_specials_and_supers_comes_out_on_both_sides(name: str, who_name: str) -> None:
    game = demo(name)
    who = next(one for one in game.characters if one.name == who_name)
    moves = [one for one in who.moves if one.kind in KINDS]
    for first, second in product(moves, moves):
        found = plan(game, who, [Wanted(first), Wanted(second)])
        assert isinstance(found, Plan), (first.input, second.input)
        left = tuple(replace(frame, direction=mirrored(frame.direction)) for frame in found.frames)
        expected = [first.input, second.input]
        assert outcomes(game, who, found) == expected
        assert outcomes(game, who, replace(found, frames=left), Facing.LEFT) == expected
        assert found.directions <= found.alone


def test_facing_left_the_plan_is_the_mirrored_one() -> None:
    game = demo("saltglass")
    who = owner(game, "odrun")
    right = planned(game, who, "623LP", "236236HP", frames=(30,))
    left = planned(game, who, "623LP", "236236HP", frames=(30,), side=Facing.LEFT)
    assert left.frames == tuple(replace(one, direction=mirrored(one.direction)) for one in right.frames)
    assert [one.direction for one in left.presses[1].took] == [
        mirrored(one.direction) for one in right.presses[1].took
    ]
    assert outcomes(game, who, left, Facing.LEFT) == ["623LP", "236236HP"]


def test_presses_stand_where_the_caller_wants_them() -> None:
    game = demo("saltglass")
    who = owner(game, "odrun")
    found = planned(game, who, "2MP", "5MP", "236LP", frames=(21, 17))
    first, second, third = (press.frame for press in found.presses)
    assert (second - first, third - second) == (21, 17)
    ranged = plan(game, who, [Wanted(move(who, "2MP")), Wanted(move(who, "236LP"), 5, 9)])
    assert isinstance(ranged, Plan)
    assert 5 <= ranged.presses[1].frame - ranged.presses[0].frame <= 9


def test_a_charge_takes_its_time() -> None:
    game = demo("saltglass")
    who = owner(game, "ninnet")
    (press,) = planned(game, who, "[4]6LP").presses
    assert press.frame == 40
    # Forward, back two frames later, the press on the last of the 9 frames allowed: from there to the
    # next forward, after 40 frames of back, it is 2 + 40 - 9 = 33.
    planned(game, who, "[4]6LP", "[4]6LP", frames=(33,))
    assert plan(game, who, [Wanted(move(who, "[4]6LP")), Wanted(move(who, "[4]6LP"), 32)]) == NoPlan(1)


def test_under_a_scheme_a_special_of_one_button_needs_no_motion() -> None:
    game = demo("saltglass")
    who = owner(game, "odrun")
    by_motion = planned(game, who, "623HP")
    simple = planned(game, who, "623HP", scheme="one-button")
    assert (by_motion.directions, simple.directions) == (3, 1)
    assert simple.presses[0].move.input == "4HP"


def test_a_held_button_is_pressed_and_kept() -> None:
    game, who = small((), "5A", "5[A]")
    (press,) = planned(game, who, "5[A]").presses
    assert (press.buttons, press.keep) == (("A",), True)
    assert not planned(game, who, "5A").presses[0].keep


def test_what_the_game_has_no_input_for_is_refused_by_its_number() -> None:
    game, who = small((), "5A", "236A")
    assert plan(game, who, [Wanted(move(who, "5A")), Wanted(move(who, "236A"))]) == NoPlan(1, unreadable=True)


# ---- notes


def noted(found: Plan, code: NoteCode) -> list[dict[str, Any]]:
    return [dict(note.facts) for note in found.notes if note.code is code]


def test_walking_forward_before_down_forward_is_warned_of() -> None:
    game, who = trade_game()
    (warning,) = noted(planned(game, who, "236LP"), NoteCode.HELD_GIVES_WRONG)
    assert (warning["direction"], warning["directions"], warning["instead"]) == (6, "26", "623LP")
    assert warning["neutral_frames"] == 9


@pytest.mark.parametrize(("neutral_frames", "comes_out"), [(9, "236LP"), (8, "623LP")])
def test_letting_go_as_long_as_the_warning_says_is_enough_and_no_less(
    neutral_frames: int, comes_out: str
) -> None:
    game, who = trade_game()
    frames = [Frame(6)] * 30 + [Frame()] * neutral_frames + [Frame(2)] * 2 + [Frame(6, frozenset({"LP"}))]
    (result,) = read(game, who, frames)
    assert result.move is not None
    assert result.move.input == comes_out


def test_facing_left_the_warning_names_the_directions_of_that_side() -> None:
    game, who = trade_game()
    (warning,) = noted(planned(game, who, "236LP", side=Facing.LEFT), NoteCode.HELD_GIVES_WRONG)
    assert (warning["direction"], warning["directions"]) == (4, "24")


def test_a_plan_that_begins_while_walking_lets_go_first() -> None:
    game, who = trade_game()
    found = planned(game, who, "236LP", held=6)
    assert outcomes(game, who, replace(found, frames=(Frame(6),) * 30 + found.frames)) == ["236LP"]
    assert found.presses[0].frame > planned(game, who, "236LP").presses[0].frame


def test_after_a_forward_button_the_motion_entered_at_once_is_warned_of() -> None:
    game, who = trade_game()
    (warning,) = noted(planned(game, who, "6LP", "236LP"), NoteCode.WHOLE_GIVES_WRONG)
    assert (warning["press"], warning["after"], warning["instead"]) == (1, "6LP", "623LP")
    assert not noted(planned(game, who, "2LP", "236LP"), NoteCode.WHOLE_GIVES_WRONG)


def test_a_press_that_may_be_early_comes_right_after_the_one_before() -> None:
    game, who = trade_game()
    (note,) = noted(planned(game, who, "2LP", "236LP"), NoteCode.RIGHT_AFTER)
    assert (note["press"], note["move"], note["after"]) == (1, "236LP", "2LP")
    assert not noted(planned(game, who, "2LP", "236LP", frames=(20,)), NoteCode.RIGHT_AFTER)
    waits = planned(game, who, "6LP", "236LP")
    assert not noted(waits, NoteCode.RIGHT_AFTER)
    assert noted(waits, NoteCode.NOT_AT_ONCE)[0]["frames"] > HAND_FRAMES * 3


def test_a_held_direction_that_the_next_motion_needs_is_kept() -> None:
    game, who = trade_game()
    (note,) = noted(planned(game, who, "2LP", "236LK", frames=(20,)), NoteCode.KEEP_HELD)
    assert (note["direction"], note["after"], note["move"]) == (2, "2LP", "236LK")


def test_windows_that_the_file_leaves_out_are_named() -> None:
    game, who = small((Motion("quarter circle", ("236",), 9),), "236A")
    (note,) = noted(planned(game, who, "236A"), NoteCode.WINDOW_ASSUMED)
    assert (note["motion"], note["field"], note["frames"]) == ("quarter circle", "button_frames", 10)
