"""Movement inside routes, worked by hand: steps begun once the player is free, and ones that cancel."""

from __future__ import annotations

from typing import Any

import pytest
from builders import game_of, row, solo

from core.model import Game, Means
from core.notation import format_route, parse_route
from core.routes import Query, RouteCheck, Start, check, find
from core.stepper import Press, run
from core.stepper.world import no_rules
from core.timing import Window
from core.verdict import Answer, Code

STEP_CANCEL = {
    "name": "step cancel",
    "from": {"moves": ["5MP"]},
    "into": {"kinds": ["movement"]},
    "contact": ["hit"],
}


def movement(input: str, total: int, travel: float | None) -> dict[str, Any]:
    found: dict[str, Any] = {"input": input, "name": f"Move {input}", "kind": "movement", "total": total}
    return found if travel is None else found | {"travel": travel}


def stepping(step: int = 9, *more: dict[str, Any], **rules: Any) -> Game:
    """5MP touches on its 5th frame, has 10 frames of hitstop and leaves -4 + 2 + 20 = 18 of hitstun; 5LP
    starts in 4. 5MP may be cancelled into the step on the first 3 frames after hitstop."""
    return game_of(
        row("5MP", 5, 3, 20, -4, -8, damage=60, reach=1.5, pushback_on_hit=0.8),
        row("5LP", 4, 3, 7, 5, 2, damage=30, reach=0.5, pushback_on_hit=0.2),
        movement("66", step, 0.6),
        *more,
        **{"cancel": [STEP_CANCEL], **rules},
    )


def judged(game: Game, text: str, start: Start | None = None) -> RouteCheck:
    return check(game, solo(game), parse_route(text, game, solo(game)), start)


def codes(found: RouteCheck) -> set[Code]:
    return {reason.code for reason in found.verdict.reasons}


# Steps that cancel a move


def test_a_step_that_cancels_a_move_leaves_time_for_another() -> None:
    assert judged(stepping(), "5MP, 5LP").failing == 1  # -4
    found = judged(stepping(), "5MP > 66 > 5LP")
    assert found.works
    assert format_route(found.route) == "5MP xx 66, 5LP"
    assert [step.means for step in found.steps] == [None, Means.CANCEL, Means.LINK]
    # 5MP touches on gap 4; a press is held from 4 before, and after 10 of hitstop the step begins on gap 15
    # or on one of the two after it. 4 + 0 + 9 = 13 of 18 frames: 5 to spare, more than those two.
    assert found.steps[1].window == Window(1, 17, 15)
    # 5LP from the step's start: the buffer is 3 frames, and 5 late is in time
    assert found.steps[2].window == Window(6, 14, 9)
    assert [step.frame for step in found.steps] == [0, 15, 24]
    # 5LP takes 4 - 1 + 3 + 7 = 13 frames, and has 8 of hitstop
    assert (found.damage, found.frames) == (90, 24 + 13 + 8)


@pytest.mark.parametrize(
    ("step", "late"),
    [
        (12, 2),  # 4 + 12 = 16 of 18: either press may be 2 late
        (13, 1),
        (14, 0),
    ],
)
def test_the_longer_the_step_the_less_late_it_may_be(step: int, late: int) -> None:
    found = judged(stepping(step), "5MP xx 66, 5LP")
    assert found.works
    assert found.steps[1].window == Window(1, 15 + late, 15)
    assert found.steps[2].window == Window(step - 3, step + late, step)


def test_a_step_too_long_for_the_hitstun_is_told_in_frames() -> None:
    found = judged(stepping(15), "5MP xx 66, 5LP")  # 4 + 15 = 19 of 18
    assert (found.failing, codes(found)) == (2, {Code.STUN_ENDS, Code.MOVES_BETWEEN})
    facts = found.verdict.reasons[0].facts
    assert (facts["stun_frames"], facts["startup_frames"], facts["short_frames"]) == (18, 19, 1)


def played(game: Game, step_frame: int, press_frame: int) -> list[tuple[str, Means | None, bool]]:
    """What the stepper sees of 5MP, the step and 5LP pressed on these frames."""
    moves = {move.input: move for move in solo(game).moves}
    presses = [
        Press(step_frame, moves["66"], lambda _: game.rules),
        Press(press_frame, moves["5LP"], no_rules),
    ]
    trace = run(game, moves["5MP"], presses, permits=lambda _: game.rules)
    return [(one.move.input, one.means, one.combined) for one in trace.followups]


@pytest.mark.parametrize("step", [9, 12, 14])
def test_the_stepper_has_the_same_last_frames(step: int) -> None:
    game = stepping(step)
    found = judged(game, "5MP xx 66, 5LP")
    dash, press = found.steps[1].window, found.steps[2].window
    assert isinstance(dash, Window)
    assert isinstance(press, Window)
    combo = [("66", Means.CANCEL, False), ("5LP", Means.LINK, True)]
    # a press with gap g is made on frame g + 1; the move before it begins on the start gap
    soonest = 16
    assert played(game, 1 + dash.last_gap, 1 + dash.last_gap + step) == combo
    assert played(game, soonest, soonest + press.last_gap) == combo
    assert played(game, soonest, soonest + press.last_gap + 1) != combo
    assert played(game, 2 + dash.last_gap, 2 + dash.last_gap + step) != combo


def test_no_rule_no_cancel_and_a_rule_binds_as_any_other() -> None:
    found = judged(stepping(cancel=[]), "5MP xx 66, 5LP")
    assert (found.failing, codes(found)) == (1, {Code.NO_RULE_INTO})
    assert judged(stepping(cancel=[STEP_CANCEL | {"contact": ["block"]}]), "5MP xx 66, 5LP").failing == 1
    assert judged(stepping(), "5LP xx 66, 5LP").failing == 1
    once = stepping(
        9,
        row("5LK", 3, 3, 7, 6, 2, damage=10),
        cancel=[STEP_CANCEL | {"from": {"kinds": ["normal"]}, "per_route": 1}],
    )
    assert judged(once, "5MP xx 66, 5LK").works
    found = judged(once, "5MP xx 66, 5LK xx 66, 5LP")
    assert (found.failing, codes(found)) == (3, {Code.USED_UP})


def test_a_chain_into_a_step_has_its_own_frames() -> None:
    chain = {**STEP_CANCEL, "name": "step chain", "first_frame": 3, "last_frame": 4}
    found = judged(stepping(cancel=[], chain=[chain]), "5MP > 66, 5LP")
    assert format_route(found.route) == "5MP ~ 66, 5LP"
    # d = 2 or 3: 4 + 2 + 9 = 15 of 18
    assert found.steps[1].window == Window(1, 15 + 3, 15 + 2)
    assert found.steps[2].window == Window(6, 9 + 3, 9)
    assert judged(stepping(13, cancel=[], chain=[chain]), "5MP ~ 66, 5LP").failing == 2  # 4 + 2 + 13 = 19


def test_a_step_out_of_an_early_hit_gives_up_the_hits_after_it() -> None:
    game = game_of(
        row("5MP", 5, "2(4)3", 12, 3, 0, damage="40; 50", hitstun="20; ?", cancellable_hits="1"),
        row("5LP", 4, 3, 7, 5, 2, damage=30),
        movement("66", 9, 0.6),
        cancel=[STEP_CANCEL],
    )
    found = judged(game, "5MP xx 66, 5LP")
    # the first hit on frame 5, 10 of hitstop, and 9 of the step; 20 - 4 - 9 leaves 7 frames
    assert ([step.damage for step in found.steps], found.damage) == ([40, 0, 30], 70)
    assert [step.frame for step in found.steps] == [0, 15, 24]
    assert found.steps[2].window == Window(6, 9 + 7, 9)
    ends = judged(game, "5MP xx 66")
    assert (ends.works, ends.damage, ends.frames) == (True, 40, 24)


def test_a_jump_after_a_step_takes_its_frames_too() -> None:
    high = row("j.HP", 5, 3, 3, "4..8", "0..4", damage=40)
    jump = {"jump": {"before_frames": 4, "air_frames": 38, "landing_frames": 3}}
    # 5 + 4 + 9 = 18 of 18
    assert judged(stepping(9, high, character=jump), "5MP xx 66, j.HP").works
    found = judged(stepping(10, high, character=jump), "5MP xx 66, j.HP")
    assert (found.failing, found.verdict.reasons[0].code) == (2, Code.STUN_ENDS)
    found = judged(stepping(9, high), "5MP xx 66, j.HP")
    assert (found.failing, found.verdict.answer) == (2, Answer.UNKNOWN)


def test_a_step_may_be_delayed_as_far_as_its_window_goes() -> None:
    late = judged(stepping(12), "5MP xx delay(2) 66, 5LP")
    assert late.works
    assert late.steps[2].frame == 15 + 2 + 12
    found = judged(stepping(12), "5MP xx delay(3) 66, 5LP")
    assert (found.failing, codes(found)) == (1, {Code.DELAY_TOO_LONG})
    assert judged(stepping(13), "5MP xx delay(2) 66, 5LP").failing == 2


def test_a_step_pressed_once_free_is_not_pressed_so_early_that_it_cancels() -> None:
    game = stepping(
        5,
        row("5HP", 5, 3, 10, "launch 60", -5, damage=50),
        row("2LP", 5, 3, 5, 3, 0, on_air_hit="launch 30"),
        cancel=[STEP_CANCEL | {"from": {"moves": ["5HP"]}, "first_frame": 8}],
        juggle={"limit": 3},
    )
    # 5HP is over after 17 frames and 12 of hitstop. It touches on gap 4, and a cancel begins on 4 + 13 + 7 or
    # up to two later, pressed on 26 at the latest: the first gap that the buffer of 3 before 29 would take.
    free = judged(game, "5HP, 66, 2LP")
    assert free.works
    window = free.steps[1].window
    assert isinstance(window, Window)
    assert (window.first_gap, window.start_gap, window.early_chains) == (27, 29, True)
    assert judged(game, "5HP xx 66, 2LP").steps[1].window == Window(1, 26, 24)


# How near it brings the two


def test_a_step_brings_into_reach_what_the_pushback_took_out_of_it() -> None:
    # 0.8 apart after 5MP, and 5LP reaches 0.5
    near = stepping(9, row("5LK", 4, 3, 7, 5, 2, damage=20, reach=0.1))
    assert judged(near, "5MP xx 66, 5LP").works  # 0.2 apart
    found = judged(near, "5MP xx 66, 5LK")
    assert (found.failing, codes(found)) == (2, {Code.OUT_OF_REACH})
    assert found.verdict.reasons[0].facts["distance"] == 0.2
    assert judged(near, "5MP xx 66, 5LP", Start(distance=0.4)).failing == 2  # 0.6 apart


def test_two_stand_no_nearer_than_at_point_blank() -> None:
    # the step goes 0.6 of the 0.2 that they are apart; after 5LP again 0.2, and not -0.2
    game = game_of(
        row("5LP", 4, 3, 7, "launch 60", 2, reach=0.5, on_air_hit="launch 60", pushback_on_hit=0.2),
        row("5LK", 4, 3, 7, 5, 2, reach=0.1, on_air_hit="launch 60"),
        movement("66", 9, 0.6),
        juggle={"limit": 9},
    )
    assert judged(game, "5LP, 66, 5LK").works
    assert judged(game, "5LP, 66, 5LP, 5LK").failing == 3


def test_a_step_back_takes_out_of_reach() -> None:
    game = stepping(9, movement("44", 5, -0.3), row("5LK", 4, 3, 7, 5, 2, reach=1.0))
    assert judged(game, "5MP xx 66, 5LK").works
    assert judged(game, "5MP xx 44, 5LK").failing == 2  # 0.8 + 0.3
    assert codes(judged(game, "5MP xx 44, 5LK")) == {Code.OUT_OF_REACH}


def test_after_a_step_the_distance_of_the_start_no_longer_counts() -> None:
    # 1.2 apart at first, which only 5HP reaches; then 1.2 + 0.2 - 1.2 = 0.2
    game = game_of(
        row("5HP", 5, 3, 10, "launch 60", -5, reach=1.5, pushback_on_hit=0.2),
        row("5LP", 4, 3, 7, 5, 2, reach=0.5, on_air_hit="launch 60", pushback_on_hit=0.2),
        movement("66", 9, 1.2),
        juggle={"limit": 9},
    )
    assert judged(game, "5HP, 66, 5LP, 5LP", Start(distance=1.2)).works
    assert judged(game, "5HP, 5LP", Start(distance=1.2)).failing == 1
    assert judged(game, "5HP, 66, 5LP, 5LP, 5LP", Start(distance=1.2)).failing == 4  # 0.6


# The search


def test_the_search_finds_what_only_a_step_makes_possible() -> None:
    game = stepping()
    found = find(game, solo(game), Query(most_moves=3))
    assert format_route(found.routes[0].route) == "5MP xx 66, 5MP"  # 5 + 9 = 14 of 18
    assert found.routes[0].damage == 120
    assert (found.complete, found.left_out) == (True, ())
    untold = game_of(
        row("5MP", 5, 3, 20, -4, -8, damage=60),
        row("5LP", 4, 3, 7, 5, 2, damage=30),
        movement("66", 9, None),
        cancel=[STEP_CANCEL],
    )
    found = find(untold, solo(untold), Query(most_moves=3))
    assert found.left_out == ("66",)
    assert all("66" not in format_route(one.route) for one in found.routes)


def test_less_damage_now_is_kept_where_a_step_back_leaves_it_in_reach() -> None:
    # 5LK and 2LK have the same numbers; both link into 5MK, which only the step back lets go on: 18 - 9
    # frames are enough for a startup of 8. After 5LK the two are 0.1 + 0.9 apart then, after 2LK just 0.9.
    game = stepping(
        9,
        row("5LK", 7, 3, 7, 6, 2, damage=50, pushback_on_hit=0.1),
        row("2LK", 7, 3, 7, 6, 2, damage=40, pushback_on_hit=0.0),
        row("5MK", 6, 3, 20, -4, -8, damage=10, pushback_on_hit=0.0),
        row("236LP", 8, 3, 20, -4, -8, damage=300, reach=0.95, pushback_on_hit=0.1, kind="special"),
        movement("44", 9, -0.9),
        cancel=[STEP_CANCEL | {"from": {"moves": ["5MK"]}, "into": {"moves": ["44"]}}],
    )
    asked = Query(most_moves=4, avoid=("5MP", "5LP"))
    found = find(game, solo(game), asked)
    assert format_route(found.routes[0].route) == "2LK, 5MK xx 44, 236LP"
    assert found.routes[0].damage == 350


def test_what_only_a_counter_hit_leaves_time_for_is_found_behind_a_step() -> None:
    # 5MP leaves -4, and 20 more on counter hit: a step of 9 and a startup of 4 are in time then alone
    game = stepping(cancel=[], hit_state=[{"name": "counter hit", "bonus_frames": 20}])
    plain = find(game, solo(game), Query(most_moves=3, first=("5MP",)))
    assert [format_route(one.route) for one in plain.routes] == ["5MP"]
    found = find(game, solo(game), Query(most_moves=4, start=Start(state="counter hit"), first=("5MP",)))
    assert format_route(found.routes[0].route) == "5MP, 66, 5LP, 5MP"
