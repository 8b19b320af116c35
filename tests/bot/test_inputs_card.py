"""What a card says of the inputs of a route, on both sides."""

from __future__ import annotations

from dataclasses import replace

import pytest
from demo import demo

from bot.render.card import Card, as_text
from bot.render.inputs import arrow_line, inputs_card, numpad_line
from bot.render.rhythm_card import file_stem, sheet_card
from bot.results.playing import InputSheet
from bot.services.opening import terminal_route
from bot.services.playing import inputs_of, timed
from core.inputs import Facing, NoPlan, Note, NoteCode, Plan
from core.notation import book_of
from core.verdict import Facts

ROUTE = "5MP, 2MP xx 236HP"


def sheet(
    text: str = ROUTE,
    who: str = "Odrun Vale",
    game: str = "saltglass",
    side: Facing = Facing.RIGHT,
    scheme: str | None = None,
) -> InputSheet:
    read = demo(game)
    character = next(one for one in read.characters if one.name == who)
    route = book_of(read, character, scheme).route(text)
    return inputs_of(timed(terminal_route(read, character, route)), side, scheme)


def plan_of(made: InputSheet) -> Plan:
    assert isinstance(made.plan, Plan)
    return made.plan


def lines(card: Card, question: str) -> tuple[str, ...]:
    return next((group.lines for group in card.groups if group.question == question), ())


def test_the_lead_is_the_shortest_way_to_enter_it() -> None:
    card = inputs_card(sheet())
    assert card.lead == "Enter 5MP, 2MP, 6HP: 2 directions in all, 1 fewer than entering each move by itself."
    assert card.source == "Odrun Vale in Saltglass, version 1.2"


@pytest.mark.parametrize(
    ("side", "arrows"),
    [
        (Facing.RIGHT, "Arrows, facing right: • MP, ↓ MP, → HP"),
        (Facing.LEFT, "Arrows, facing left: • MP, ↓ MP, ← HP"),
    ],
)
def test_arrows_are_as_on_the_screen_and_digits_and_names_as_on_both_sides(side: Facing, arrows: str) -> None:
    card = inputs_card(sheet(side=side))
    assert lines(card, "What do I enter?") == (arrows, "Numpad, the same on both sides: 5MP, 2MP, 6HP")
    assert lines(card, "What do my hands do?") == (
        "1. 5MP: MP, the stick at rest",
        "2. 2MP: down and MP",
        "3. 236HP: forward and HP; until then keep down held",
    )


def test_a_whole_motion_points_the_other_way_on_the_other_side() -> None:
    text, who, game = "5L > 5M > 5H xx 236M xx 63214X", "Marrable Twill", "kitewind"
    right = sheet(text, who, game)
    left = sheet(text, who, game, Facing.LEFT)
    assert arrow_line(plan_of(right)) == "• L, • M, • H, ↓↘→ M, →↘↓↙← X"
    assert arrow_line(plan_of(left)) == "• L, • M, • H, ↓↙← M, ←↙↓↘→ X"
    told = numpad_line(plan_of(right), Facing.RIGHT), numpad_line(plan_of(left), Facing.LEFT)
    assert told == ("5L, 5M, 5H, 236M, 63214X",) * 2
    assert "none can be shared" in inputs_card(right).lead


def test_what_is_shared_is_told_with_where_it_comes_from() -> None:
    assert lines(inputs_card(sheet()), "Which directions count twice?") == ("236HP takes down from 2MP.",)


def test_a_cancel_is_entered_right_after_the_press_before() -> None:
    """Trade fact (common practice, no source): enter it at once, without waiting to see it."""
    when = lines(inputs_card(sheet()), "When do I enter it?")
    assert when[0] == "Enter 236HP right after the press of 2MP; do not wait to see it."
    assert "rhythm sheet" in when[1]


def test_a_cancel_that_is_not_read_at_once_says_from_when_on() -> None:
    card = inputs_card(sheet("5L > 5M > 5H xx 236M", "Ossily Fenn", "kitewind"))
    (late,) = [line for line in lines(card, "When do I enter it?") if "236M" in line]
    assert late.startswith("Press 236M no sooner than ")


def test_where_going_on_makes_the_wrong_move_come_out_it_is_said_and_what_helps() -> None:
    """Down of the crouching press, then forward, down, forward: that is the super's motion."""
    watch = lines(inputs_card(sheet("5LP > 5LP, 2LP xx 623HP")), "What do I watch?")
    assert any("gives 236236HP instead of 623HP; let go for" in line for line in watch)


@pytest.mark.parametrize("side", Facing)
@pytest.mark.parametrize("instead", ["5MP", ""])
@pytest.mark.parametrize("code", [code for code in NoteCode if code is not NoteCode.RIGHT_AFTER])
def test_every_note_has_its_sentence(code: NoteCode, instead: str, side: Facing) -> None:
    made = sheet(side=side)
    facts = Facts(
        press=2, move="236HP", after="2MP", frames=9, direction=3, directions="26", instead=instead,
        motion="quarter circle forward", field="step_frames",
    )  # fmt: skip
    plan = replace(plan_of(made), notes=(Note(code, facts), Note(code, facts.plus(neutral_frames=4))))
    watch = lines(inputs_card(replace(made, plan=plan)), "What do I watch?")
    assert watch
    for line in watch:
        assert line.endswith(".")
        assert "{" not in line
    if "directions" in code.value or code is NoteCode.KEEP_HELD:
        assert ("down-back" in " ".join(watch)) is (side is Facing.LEFT)


def test_with_a_simple_scheme_there_is_nothing_to_share() -> None:
    card = inputs_card(sheet("5MP, 2MP xx 236MP", scheme="one-button"))
    assert card.lead == (
        "Enter 5MP, 2MP, 4MP: with one-button controls a special is one button, so there is nothing to share."
    )
    assert not lines(card, "Which directions count twice?")


def test_a_motion_that_such_a_scheme_still_needs_is_not_called_one_button() -> None:
    card = inputs_card(sheet("5MP xx 236HP", scheme="one-button"))
    assert card.lead == "Enter 5MP, 26HP: 2 directions in all, and none can be shared between motions."


def test_a_press_that_the_route_delays_is_waited_with() -> None:
    when = "When do I enter it?"
    assert lines(inputs_card(sheet("5MP xx 236HP")), when) == (
        "Enter 236HP right after the press of 5MP; do not wait to see it.",
    )
    made = sheet("5MP xx delay(2) 236HP")
    frame = made.schedule.presses[1].frame
    (late,) = lines(inputs_card(made), when)
    assert late.startswith(f"Wait with 236HP: press it about {frame} frames (")
    aims = as_text(sheet_card(timed(made.opened), drawn=True))
    assert "What the route delays is aimed late on purpose" in aims
    assert "do not wait to see it" not in aims


def test_an_attack_in_the_air_is_entered_after_a_jump_and_shares_nothing_with_the_ground() -> None:
    made = sheet("2M > 2X, j.M > j.H", "Ossily Fenn", "kitewind")
    assert numpad_line(plan_of(made), Facing.RIGHT) == "2M, 2X, j.M, j.H"
    assert arrow_line(plan_of(made)) == "↓ M, ↓ X, jump, j.M, j.H"
    hands = lines(inputs_card(made), "What do my hands do?")
    assert hands[2:] == ("3. j.M: M in the air; jump first", "4. j.H: H in the air")


def test_a_route_whose_times_are_not_known_says_from_where_on() -> None:
    card = inputs_card(sheet("j.HP, 5MP, 2MP xx 236HP"))
    assert "6HP" in card.lead
    (unknown,) = [line for line in lines(card, "When do I enter it?") if "cannot be told" in line]
    assert unknown.startswith("From 5MP on")
    assert "right after" not in as_text(card)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("5MP, hold 2MP", "2. 2MP: down and MP; keep the button down"),
        ("5MP, 2]MP[", "2. 2MP: down and MP; here the button is let go, not pressed"),
        ("5MP, 2MP", "2. 2MP: down and MP"),
    ],
)
def test_a_button_that_is_held_or_let_go_is_told_so(text: str, said: str) -> None:
    assert lines(inputs_card(sheet(text)), "What do my hands do?")[1] == said


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (NoPlan(2, unreadable=True), "does not say how 236HP is entered"),
        (NoPlan(2), "236HP cannot be entered in time after 2MP"),
        (NoPlan(0), "5MP cannot be entered"),
        (NoPlan(2, complete=False), "very many ways to enter 236HP after 2MP"),
        (NoPlan(0, complete=False), "very many ways to enter 5MP"),
        (None, "could not be worked out in time"),
    ],
)
def test_no_plan_is_one_sentence_why(found: NoPlan | None, said: str) -> None:
    card = inputs_card(replace(sheet(), plan=found))
    assert said in card.lead
    assert card.groups == ()


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("5MP, 2MP xx 236HP", "5MP-2MP-xx-236HP"),
        ("../../etc/passwd", "etc-passwd"),
        ("Käse & <@1>", "K-se-1"),
        ("日本", "route"),
        ("", "route"),
        ("x" * 200, "x" * 60),
    ],
)
def test_a_file_is_named_in_letters_and_digits_alone(name: str, stem: str) -> None:
    assert file_stem(name) == stem
