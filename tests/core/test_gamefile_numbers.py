"""The loader of game files: which numbers it derives, and how it converts other ways of counting."""

from __future__ import annotations

from typing import Any

import pytest
from loading import move_of, problems_of, rules_of

from core.gamefile import load
from core.model import Effect, Outcome, Range


def test_numbers_that_the_file_leaves_out_stay_unknown() -> None:
    move = move_of()
    assert (move.startup_frames, move.recovery_frames, move.total_frames, move.hits) == (None, None, None, ())
    assert (move.on_hit, move.on_block, move.reach, move.freeze) == (None, None, None, None)
    half_known = move_of(active=3, on_hit=4, startup="?", damage="")
    assert half_known.hits[0].hitstun_frames is None, "the recovery is not known"
    assert (half_known.startup_frames, half_known.hits[0].damage) == (None, None)
    assert load(rules_of(), {}).link_buffer_frames is None


def test_spans_with_gaps_become_hits() -> None:
    hits = move_of(active="2(6)3(0)1").hits
    assert [(hit.gap_frames, hit.active_frames) for hit in hits] == [(0, 2), (6, 3), (0, 1)]


def test_only_the_last_hit_is_cancellable_as_far_as_a_silent_file_tells() -> None:
    def cancellable(**cells: Any) -> list[bool | None]:
        return [hit.cancellable for hit in move_of(active="2(6)3", **cells).hits]

    assert cancellable() == [None, True]
    assert cancellable(cancellable_hits=1) == [True, False]
    assert cancellable(cancellable_hits="none") == [False, False]
    assert cancellable(cancellable_hits="1; 2") == [True, True]


def test_hitstop_comes_from_the_move_else_its_strength_else_its_kind() -> None:
    def hitstop(**cells: Any) -> list[tuple[int | None, int | None]]:
        hits = move_of(active="1(1)1", **cells).hits
        return [(hit.attacker_hitstop_frames, hit.defender_hitstop_frames) for hit in hits]

    assert hitstop() == [(10, 10)] * 2
    assert hitstop(kind="special") == [(10, 10)] * 2
    assert hitstop(kind="special", input="5B") == [(12, 12)] * 2
    assert hitstop(input="5B") == [(None, None)] * 2
    assert hitstop(hitstop="7") == [(7, 7)] * 2
    assert hitstop(hitstop="7; 0/9") == [(7, 7), (0, 9)]
    assert hitstop(projectile="yes") == [(0, 10)] * 2


def test_a_projectile_freezes_its_owner_by_what_the_file_says() -> None:
    hit = move_of(game={"hitstop": {"light": 10, "projectile_attacker": 3}}, projectile=True).hits[0]
    assert (hit.active_frames, hit.attacker_hitstop_frames, hit.defender_hitstop_frames) == (1, 3, 10)
    assert move_of(projectile="no", active=2).projectile is None


# Derived numbers, worked by hand from
# stun = advantage + (A_last - 1) + R - the sum over hits of (defender's - attacker's hitstop).


@pytest.mark.parametrize(
    ("cells", "hitstun", "blockstun"),
    [
        # 5 + (3 - 1) + 8 = 15 and 1 + 2 + 8 = 11
        ({"active": 3, "recovery": 8, "on_hit": 5, "on_block": 1}, 15, 11),
        # only the last span counts: 3 + (3 - 1) + 16 = 21 and -4 + 2 + 16 = 14
        ({"active": "2(6)3", "recovery": 16, "on_hit": "+3", "on_block": "-4"}, 21, 14),
        # a projectile stops the defender alone: 6 + 0 + 30 - 10 = 26 and -2 + 30 - 10 = 18
        ({"projectile": "yes", "recovery": 30, "on_hit": 6, "on_block": -2}, 26, 18),
        # both hits' hitstop counts: 2 + (3 - 1) + 20 - (4 + 6) = 14 and -3 + 2 + 20 - 10 = 9
        ({"active": "2(6)3", "recovery": 20, "hitstop": "2/6; 1/7", "on_hit": 2, "on_block": -3}, 14, 9),
        # by height, airborne, knockdown: nothing follows for the hit
        ({"active": 3, "recovery": 8, "on_hit": "2..8", "on_block": "0..5"}, None, None),
        ({"input": "j.A", "active": 3, "recovery": 8, "on_hit": 5, "on_block": 1}, None, None),
        ({"active": 3, "recovery": 8, "on_hit": "KD 38", "on_block": 0}, None, 10),
        # a launch holds for its frames in the air
        ({"active": 3, "recovery": 8, "on_hit": "launch 45"}, 45, None),
        # without hitstop in the file nothing is known of the difference
        ({"input": "5B", "active": 3, "recovery": 8, "on_hit": 5, "on_block": 1}, None, None),
    ],
)
def test_stun_of_the_last_hit_follows_from_the_advantage(
    cells: dict[str, Any], hitstun: int | None, blockstun: int | None
) -> None:
    last = move_of(**cells).hits[-1]
    assert (last.hitstun_frames, last.blockstun_frames) == (hitstun, blockstun)


def test_an_advantage_left_out_follows_from_the_stun_of_the_last_hit() -> None:
    move = move_of(active="2(6)3", recovery=16, hitstun="14; 21", blockstun="11; 14")
    assert move.on_hit == Outcome(Effect.STAND, Range(3, 3))
    assert move.on_block == Range(-4, -4)
    assert [hit.hitstun_frames for hit in move.hits] == [14, 21]
    assert move_of(active=3, hitstun=14).on_hit is None, "the recovery is not known"


def test_an_airborne_moves_stun_may_be_given_for_its_cancels() -> None:
    move = move_of(input="j.A", active=3, recovery=2, on_hit="2..8", hitstun=20)
    assert move.hits[0].hitstun_frames == 20
    assert move.on_hit == Outcome(Effect.STAND, Range(2, 8))


def test_a_total_gives_a_missing_recovery() -> None:
    assert move_of(startup=5, active=3, total=19).recovery_frames == 12
    assert move_of(startup=5, active="1(2)3", recovery=9, total=19).recovery_frames == 9
    assert move_of(input="66", kind="movement", total=18).total_frames == 18


def test_movement_says_how_far_it_brings_the_two_together() -> None:
    step = {"input": "66", "kind": "movement", "total": 18}
    assert move_of(**step, travel="1,5").travel == 1.5
    assert move_of(**step, travel="−0.8").travel == -0.8
    assert move_of(**step, travel=0).travel == 0
    assert move_of(**step, travel="?").travel is None
    assert move_of(**step).travel is None


def test_only_movement_travels() -> None:
    (problem,) = problems_of(rules_of(moves=[{"input": "5A", "name": "tap", "travel": 1.5}]))
    assert problem.field == "travel"
    assert problem.wrong == "says how far movement goes, and this is a move of the kind normal"
    assert problem.right == "leave it out, or write movement as kind"
    # a step without its kind is told of that alone
    (problem,) = problems_of(rules_of(moves=[{"input": "66", "name": "step", "travel": 1.5}]))
    assert problem.field == "input"


def test_outcomes_are_read_in_each_form() -> None:
    states = {"hit_state": [{"name": "counter hit"}]}
    move = move_of(game=states, on_hit="KD 30..38", on_air_hit="launch", on_counter_hit="−2")
    assert move.on_hit == Outcome(Effect.KNOCKDOWN, Range(30, 38))
    assert move.on_air_hit == Outcome(Effect.LAUNCH)
    assert move.outcomes == (("counter hit", Outcome(Effect.STAND, Range(-2, -2))),)


# Other ways of counting


def test_startup_that_counts_frames_before_active_becomes_the_first_active_frame() -> None:
    counts = {"startup_counts": "frames before active"}
    cells = {"startup": 4, "cancelled_startup": 2, "active": 3, "recovery": 8, "total": 15}
    move = move_of(game=counts, **cells)
    assert (move.startup_frames, move.cancelled_startup_frames, move.total_frames) == (5, 3, 15)
    assert move_of(game=counts, startup=0).startup_frames == 1
    kept = move_of(**{**cells, "total": 14})
    assert (kept.startup_frames, kept.cancelled_startup_frames, kept.total_frames) == (4, 2, 14)


def test_advantages_that_leave_hitstop_out_become_those_seen_in_play() -> None:
    counts = {"advantage_counts": "hitstop left out", "hit_state": [{"name": "crush"}]}
    cells = {"active": "2(6)3", "recovery": 20, "hitstop": "2/6; 1/7", "on_hit": 2, "on_block": "-3..1"}
    more = {"on_air_hit": "KD 20", "on_crush": "launch 30"}
    move = move_of(game=counts, **cells, **more)
    # the defender is stopped 4 + 6 = 10 frames longer
    assert move.on_hit == Outcome(Effect.STAND, Range(12, 12))
    assert move.on_block == Range(7, 11)
    assert move.on_air_hit == Outcome(Effect.KNOCKDOWN, Range(30, 30))
    assert move.outcomes == (("crush", Outcome(Effect.LAUNCH, air_frames=30)),)
    # stun is 2 + (3 - 1) + 20 = 24 either way of counting
    assert move.hits[-1].hitstun_frames == 24
    assert move_of(game=counts, active=3, on_hit=2).on_hit == Outcome(Effect.STAND, Range(2, 2))


def test_an_advantage_that_leaves_unknown_hitstop_out_is_a_mistake() -> None:
    moves = [{"input": "5B", "name": "tap", "active": 3, "on_hit": 2}]
    (problem,) = problems_of(rules_of(moves=moves, advantage_counts="hitstop left out"))
    assert (problem.field, problem.right) == ("on_hit", "give active, and hitstop here or in [hitstop]")
