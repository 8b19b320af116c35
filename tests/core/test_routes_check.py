"""A route judged step by step, on small games whose numbers are worked out by hand beside each check."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from builders import game_of, row, solo
from demo import demo
from judged import SPECIAL_CANCEL, codes, judged, usual

from core.model import Effect, Game, Means
from core.notation import format_route, parse_route
from core.routes import RouteCheck, Start, check, reliability
from core.timing import Spread, Window
from core.verdict import Answer, Code

# What follows what


def test_each_step_tells_by_which_means_it_comes_out_and_when_it_is_pressed() -> None:
    found = judged(usual(), "5LP > 5MP > 236LP")
    assert found.works
    assert format_route(found.route) == "5LP, 5MP xx 236LP"
    # 5LP is over after 4 - 1 + 3 + 7 = 13 frames and 8 of hitstop, so 5MP starts with gap 21, W = 1,
    # pressed from 3 frames before. 5MP touches on frame 5 and has 10 of hitstop: gap 15 at the soonest;
    # hitstun 3 + 2 + 12 = 17 less startup 8 leaves 9 frames, but the game's cancel window ends after 2.
    assert [step.means for step in found.steps] == [None, Means.LINK, Means.CANCEL]
    assert found.steps[0].window is None
    assert found.steps[1].window == Window(18, 21, 21)
    # accepted from 4 before contact on gap 4: from the first frame on
    assert found.steps[2].window == Window(1, 17, 15)
    assert [step.frame for step in found.steps] == [0, 21, 36]
    # 236LP: 8 - 1 + 3 + 20 = 30, and the 8 of hitstop of a light move
    assert (found.frames, found.seconds) == (74, pytest.approx(74 / 60))


def test_a_route_of_one_move_works_and_is_certain() -> None:
    found = judged(usual(), "5MP")
    assert (found.works, found.damage, found.frames) == (True, 60, 29)
    chance = reliability(found, Spread(1, 0.05), 0)
    assert not isinstance(chance, type(found.verdict))
    assert chance.whole == 1.0


def test_the_first_step_that_fails_is_named_with_its_reason_and_the_rest_is_not_judged() -> None:
    found = judged(usual(), "5LP, 5MP, 5MP, 5LP")
    assert (found.works, found.failing, found.verdict.answer) == (False, 2, Answer.NO)
    assert codes(found) >= {Code.LINK_TOO_LATE}  # +3 against a startup of 5
    assert len(found.steps) == 3
    assert found.damage is None
    assert found.ending is not None
    assert found.ending.damage == 90


def test_a_step_written_as_a_link_is_not_judged_as_a_cancel() -> None:
    assert judged(usual(), "5MP xx 236LP").works
    found = judged(usual(), "5MP, 236LP")
    assert (found.failing, Code.LINK_TOO_LATE in codes(found)) == (1, True)
    found = judged(usual(), "5LP xx 5MP")
    assert (found.failing, Code.NO_RULE_INTO in codes(found) or Code.SOURCE_NOT_IN_RULE in codes(found)) == (
        1,
        True,
    )


def test_a_rule_that_the_route_used_up_does_not_help_again() -> None:
    assert judged(usual(), "5LP ~ 5LP").works
    found = judged(usual(), "5LP ~ 5LP ~ 5LP")
    assert (found.failing, codes(found)) == (2, {Code.USED_UP})
    assert format_route(judged(usual(), "5LP > 5LP > 5LP").route) == "5LP ~ 5LP, 5LP"


def test_a_step_by_whatever_works_comes_out_so_that_the_rest_works_too() -> None:
    game = usual()
    strict = replace(
        game, rules=tuple(replace(rule, not_after=frozenset({Means.CHAIN})) for rule in game.rules)
    )
    found = judged(strict, "5LP > 5LP > 236LP")
    assert format_route(found.route) == "5LP, 5LP xx 236LP"
    found = judged(strict, "5LP ~ 5LP > 236LP")
    assert (found.failing, Code.NOT_AFTER in codes(found)) == (2, True)


def test_a_delay_must_fit_into_the_window() -> None:
    # 5LP is +5 and starts in 4: one frame late still links, two do not
    late = judged(usual(), "5LP, delay(1) 5LP")
    assert late.works
    assert late.steps[1].frame == 22
    found = judged(usual(), "5LP, delay(2) 5LP")
    assert (found.failing, codes(found)) == (1, {Code.DELAY_TOO_LONG})
    assert found.verdict.reasons[0].facts["spare_frames"] == 1


def test_decay_takes_from_the_hitstun_of_later_hits_alone() -> None:
    # one frame off the second hit and two off every later one: the second 5LP is +4 and still links
    # into itself (W = 1), the third is +3 and no longer does.
    game = usual(hitstun_decay_frames=[0, 1, 2])
    found = judged(game, "5LP, 5LP, 5LP, 5LP")
    assert found.failing == 3
    windows = [step.window for step in found.steps[1:3]]
    assert [window.last_gap - 21 + 1 for window in windows if isinstance(window, Window)] == [2, 1]
    assert judged(usual(), "5LP, 5LP, 5LP").works


# What it comes to


def test_damage_is_scaled_by_the_number_of_the_hit_and_rounded_down_hit_by_hit() -> None:
    game = usual(scaling={"steps_percent": [100, 85, 70], "floor_percent": 75})
    # 30, then 60 x .85 = 51, then 100 x .75 (the floor, above the step's .70)
    found = judged(game, "5LP, 5MP xx 236LP")
    assert ([step.damage for step in found.steps], found.damage) == ([30, 51, 75], 156)
    # 30 x .85 = 25.5 is 25
    assert [step.damage for step in judged(game, "5LP, 5LP").steps] == [30, 25]


def test_a_kind_of_move_may_have_a_floor_of_its_own() -> None:
    scaling = {"steps_percent": [100, 50, 10], "floor_percent": 20, "floors_percent": {"super": 60}}
    found = judged(usual(scaling=scaling), "5LP, 5MP xx 236MP")
    # 5LP and 5MP pay 10 each into the 20 that are there; the super costs 30
    assert [step.damage for step in found.steps] == [30, 30, 120]


def test_a_cancel_out_of_an_early_hit_gives_up_the_hits_after_it() -> None:
    game = game_of(
        row(
            "5MP", 5, "2(4)3", 12, 3, 0,
            damage="40; 50", hitstun="20; ?", blockstun="15; ?", cancellable_hits="1",
        ),
        row("236LP", 6, 3, 20, -4, -8, damage=100, kind="special"),
        cancel=[SPECIAL_CANCEL],
        scaling={"steps_percent": [100, 80, 60]},
    )  # fmt: skip
    found = judged(game, "5MP xx 236LP")
    assert [step.damage for step in found.steps] == [40, 80]  # the second hit of the route
    assert judged(game, "5MP").damage == 40 + 40  # 50 x .80
    # the first hit is cancelled at once: contact on frame 5, 10 of hitstop
    assert found.steps[1].frame == 15


def test_damage_that_the_file_leaves_out_makes_the_whole_unknown_and_not_nothing() -> None:
    game = game_of(row("5LP", 4, 3, 7, 5, 2), row("5MP", 5, 3, 12, 3, 0, damage=60))
    found = judged(game, "5LP, 5MP")
    assert found.works
    assert found.damage is None
    assert found.steps[1].damage is None or found.steps[1].damage == 60


def test_gauges_gain_on_each_hit_pay_for_moves_and_never_leave_their_limits() -> None:
    found = judged(usual(), "5LP, 5MP xx 236MP")
    # 20 + 10 + 10 = 40, less 30
    assert dict(found.gained) == {"salt": 20}
    assert dict(found.spent) == {"salt": 30}
    assert found.ending is not None
    assert found.ending.gauges == (10,)
    short = judged(usual(), "5LP, 5MP xx 236MP", Start(gauges=(("salt", 9),)))
    assert (short.failing, codes(short)) == (2, {Code.GAUGE_SHORT})
    assert dict(short.verdict.reasons[0].facts) == {
        "move": "236MP", "gauge": "salt", "amount": 30, "have": 29,
    }  # fmt: skip
    full = judged(usual(), "5LP, 5LP", Start(gauges=(("salt", 35),)))
    assert full.ending is not None
    assert (full.ending.gauges, dict(full.gained)) == ((40,), {"salt": 5})


def test_a_first_move_that_cannot_be_paid_fails_at_once() -> None:
    found = judged(usual(), "236MP")
    assert (found.failing, codes(found), found.ending) == (0, {Code.GAUGE_SHORT}, None)


def test_pushback_adds_up_until_a_move_no_longer_reaches() -> None:
    # 0.5 a hit: after two hits they are 1.0 apart and 5MP reaches 1.2; after three, 1.5
    assert judged(usual(), "5LP, 5LP, 5MP").works
    found = judged(usual(), "5LP, 5LP, 5LP, 5MP")
    assert (found.failing, codes(found)) == (3, {Code.OUT_OF_REACH})
    assert found.verdict.reasons[0].facts["distance"] == 1.5
    near = judged(usual(), "5LP, 5MP", Start(distance=0.7))
    assert near.works
    assert judged(usual(), "5LP, 5MP", Start(distance=0.8)).failing == 1
    assert judged(usual(), "5LP", Start(distance=1.6)).failing == 0


def test_a_distance_on_the_very_edge_of_reach_still_touches() -> None:
    game = game_of(row("5LP", 4, 3, 7, 5, 2, pushback_on_hit=0.1, reach=0.3))
    assert judged(game, "5LP, 5LP, 5LP, 5LP").works  # 0.1 + 0.1 + 0.1 is a little more than 0.3 in a float
    assert judged(game, "5LP, 5LP, 5LP, 5LP, 5LP").failing == 4


def juggling(downed_hits: int = 1) -> Game:
    return game_of(
        row("5HP", 5, 3, 10, "launch 40", -5, damage=50, juggle_start=1),
        row("5MP", 5, 3, 5, 3, 0, damage=20, on_air_hit="launch 30", juggle_add=1),
        row("5HK", 5, 3, 5, "KD 30", -5, damage=40, on_air_hit="KD 30"),
        row("2HK", 5, 3, 5, "KD 30", -5, damage=10, tags="hits-downed", on_air_hit="KD 30"),
        row("2MK", 5, 3, 5, "launch 40", -5, damage=10, tags="hits-downed", on_air_hit="launch 30"),
        juggle={"limit": 3, "downed_hits": downed_hits},
    )


def test_a_juggle_lasts_until_its_limit() -> None:
    # the launch starts at 1, each hit in the air adds 1, and a move hits while the count is at most 3
    found = judged(juggling(), "5HP, 5MP, 5MP, 5MP")
    assert found.works
    assert [step.contact.juggle_count for step in found.steps if step.contact] == [None, 1, 2, 3]
    assert found.ending is not None
    assert (found.ending.effect, found.ending.juggle_count) == (Effect.LAUNCH, 4)
    found = judged(juggling(), "5HP, 5MP, 5MP, 5MP, 5MP")
    assert (found.failing, codes(found)) == (4, {Code.JUGGLE_LIMIT})


def test_somebody_on_the_ground_takes_as_many_hits_as_the_game_says() -> None:
    once = judged(juggling(1), "5HK, 2HK")
    assert once.works
    assert once.ending is not None
    assert (once.ending.effect, once.ending.lead_frames) == (Effect.KNOCKDOWN, 30)
    found = judged(juggling(1), "5HK, 2HK, 2HK")
    assert (found.failing, codes(found)) == (2, {Code.DOWNED_USED})
    assert judged(juggling(2), "5HK, 2HK, 2HK").works
    assert judged(juggling(2), "5HK, 2HK, 2HK, 2HK").failing == 3
    assert codes(judged(juggling(1), "5HK, 5MP")) >= {Code.KNOCKED_DOWN}


def test_a_hit_that_lifts_somebody_off_the_ground_starts_a_juggle() -> None:
    found = judged(juggling(1), "5HK, 2MK, 5MP, 5HK")
    assert found.works
    found = judged(juggling(1), "5HK, 2MK, 5HK, 2HK")
    assert (found.failing, codes(found)) == (3, {Code.DOWNED_USED})


def test_a_defender_in_the_air_to_begin_with_is_juggled() -> None:
    assert judged(juggling(), "5MP, 5MP").failing == 1  # +3 on the ground, startup 5
    found = judged(juggling(), "5MP, 5MP", Start(airborne=True))
    assert found.works
    assert found.steps[1].contact is not None
    assert found.steps[1].contact.juggle_count == 1


def test_a_super_freeze_counts_in_the_length_and_in_the_rhythm() -> None:
    def with_freeze(freeze: str) -> RouteCheck:
        game = game_of(
            row("236LP", 8, 3, 10, 5, -8, kind="super", freeze=freeze),
            row("5LP", 4, 3, 7, 5, 2),
        )
        return judged(game, "236LP, 5LP")

    frozen, plain = with_freeze("40 after 3"), with_freeze("")
    assert frozen.frames is not None
    assert plain.frames is not None
    assert frozen.frames - plain.frames == 40
    assert frozen.steps[1].window == plain.steps[1].window
    spread = Spread(0.5, 0.05)
    sure, unsure = reliability(plain, spread, 0), reliability(frozen, spread, 0)
    assert not isinstance(sure, type(plain.verdict))
    assert not isinstance(unsure, type(plain.verdict))
    assert sure.whole > unsure.whole


def test_a_move_that_starts_sooner_when_cancelled_into_is_over_sooner() -> None:
    def with_startup(cancelled: int | str) -> RouteCheck:
        game = game_of(
            row("5MP", 5, 3, 12, 3, 0),
            row("236LP", 12, 3, 20, 6, -8, cancelled_startup=cancelled, kind="special"),
            row("5LP", 4, 3, 7, 5, 2),
            cancel=[SPECIAL_CANCEL],
        )
        return judged(game, "5MP xx 236LP, 5LP")

    plain, sooner = with_startup(""), with_startup(8)
    assert plain.works
    assert sooner.works
    assert plain.steps[2].frame is not None
    assert sooner.steps[2].frame == plain.steps[2].frame - 4
    assert isinstance(plain.steps[2].window, Window)
    assert isinstance(sooner.steps[2].window, Window)
    assert sooner.steps[2].window.last_gap == plain.steps[2].window.last_gap - 4


def test_presses_and_directions_are_counted_as_the_moves_are_written() -> None:
    game = demo("saltglass")
    who = game.characters[0]
    found = check(game, who, parse_route("5MP, 2MP xx 236HP", game, who))
    assert (found.presses, found.directions) == (3, 4)
    game = demo("kitewind")
    who = game.characters[0]
    found = check(game, who, parse_route("2X, j.L ~ j.M", game, who))
    assert (found.presses, found.directions) == (3, 2)  # down, one jump


# How it begins


def test_a_hit_state_is_that_of_the_first_step_alone() -> None:
    game = usual(hit_state=[{"name": "counter hit", "bonus_frames": 2}])
    assert judged(game, "5MP, 5MP", Start(state="counter hit")).works
    assert judged(game, "counter hit 5MP, 5MP").works
    assert judged(game, "5MP, 5MP, 5MP", Start(state="counter hit")).failing == 2


def test_a_meaty_first_hit_gives_the_next_move_more_time() -> None:
    # 5MP has 3 active frames: on its third it is +5
    assert judged(usual(), "5MP, 5MP").failing == 1
    assert judged(usual(), "5MP, 5MP", Start(active_frame=3)).works
    assert judged(usual(), "5MP, 5MP", Start(active_frame=2)).failing == 1
    assert judged(usual(), "5MP", Start(active_frame=4)).verdict.answer is Answer.UNKNOWN


def test_a_corner_is_not_judged_and_said_so() -> None:
    found = judged(usual(), "5LP, 5MP", Start(corner=True))
    assert found.works
    assert [reason.facts["field"] for reason in found.notes] == ["corner"]
    assert judged(usual(), "5LP, 5MP").notes == ()


# Movement


def moving(**dash: Any) -> Game:
    game = game_of(
        row("5HP", 5, 3, 10, "launch 60", -5, damage=50, pushback_on_hit=1.0, reach=1.5),
        row("5MP", 5, 3, 5, 3, 0, on_air_hit="launch 30", reach=0.5),
        {"input": "66", "name": "step", "kind": "movement", "total": 20},
        juggle={"limit": 3},
    )
    who = solo(game)
    moves = tuple(replace(move, **dash) if move.input == "66" else move for move in who.moves)
    return replace(game, characters=(replace(who, moves=moves),))


def test_a_dash_between_two_moves_takes_its_frames_off_the_window() -> None:
    # 5HP: 60 in the air, and 12 frames left of it: +48. The dash takes 20, 5MP starts in 5: W = 24
    game = moving(travel=1.0)
    found = judged(game, "5HP, 66, 5MP")
    assert found.works
    # 5HP is over after 17 frames and 12 of hitstop: the dash starts on gap 29 and may be 23 late
    assert found.steps[1].window == Window(26, 29 + 23, 29)
    # 5MP counted from the dash
    assert found.steps[2].window == Window(17, 20 + 23, 20)
    assert [step.frame for step in found.steps] == [0, 29, 49]
    slow = judged(moving(travel=1.0, recovery_frames=44), "5HP, 66, 5MP")
    assert (slow.failing, Code.LINK_TOO_LATE in codes(slow)) == (2, True)
    assert judged(moving(travel=1.0, recovery_frames=43), "5HP, 66, 5MP").works


def test_a_dash_brings_the_two_nearer_by_as_much_as_the_file_says() -> None:
    assert codes(judged(moving(), "5HP, 5MP")) == {Code.OUT_OF_REACH}
    assert judged(moving(travel=0.5), "5HP, 66, 5MP").works
    assert codes(judged(moving(travel=0.4), "5HP, 66, 5MP")) == {Code.OUT_OF_REACH}
    unknown = judged(moving(), "5HP, 66, 5MP")
    assert unknown.works
    assert [dict(note.facts) for note in unknown.notes] == [{"move": "66", "field": "travel"}]


def test_movement_starts_no_route_is_not_cancelled_into_and_comes_once_at_a_time() -> None:
    assert codes(judged(moving(), "66, 5MP")) == {Code.DOES_NOT_HIT}
    assert judged(moving(), "5HP xx 66").failing == 1
    assert codes(judged(moving(), "5HP, 66, 66, 5MP")) == {Code.DOES_NOT_HIT}
    assert judged(moving(), "5HP, 66").works
