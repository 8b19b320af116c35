"""The stepper after a block and after a knockdown: reversals, punishes, meaties."""

from __future__ import annotations

from dataclasses import replace

import pytest
from stepping import (
    BLOCK,
    GAME,
    HEAVY,
    LIGHT,
    MEDIUM,
    SPECIAL,
    TWICE,
    always,
    hit,
    move,
    rule,
    second_of,
    shot,
)

from core.model import Effect, Freeze, MoveKind, Outcome, Range
from core.stepper import NumberMissingError, Press, punish, reversal, run, wake

# Block: gaps, reversals, punishes


@pytest.mark.parametrize(("startup", "result"), [(1, "beats"), (2, "trades"), (3, "loses")])
def test_a_reversal_races_the_follow_up_through_the_gap(startup: int, result: str) -> None:
    """Blockstun on 17-33, free on 34. 5LP on 31 touches on 35: two frames of gap, 34 and 35."""
    assert second_of(run(GAME, MEDIUM, [Press(31, LIGHT)], BLOCK))[2:] == ((35,), False, 2)
    assert reversal(GAME, MEDIUM, [Press(31, LIGHT)], startup) == result


def test_no_reversal_gets_into_a_true_blockstring() -> None:
    """A startup of 3 touches on 33, the last frame of blockstun."""
    fast = replace(LIGHT, startup_frames=3)
    assert second_of(run(GAME, MEDIUM, [Press(31, fast)], BLOCK))[4] == 0
    assert reversal(GAME, MEDIUM, [Press(31, fast)], 1) == "loses"
    assert reversal(GAME, MEDIUM, [Press(32, fast)], 1) == "trades"


def test_a_reversal_stands_still_in_a_super_freeze() -> None:
    """The super starts on 33: S1 on 33, S2 on 34; everything stops on 35-64; S3 on 65, S5 on 67.
    The defender is free on 34: reversal frames 1 on 34, 2 on 65, 3 on 66, 4 on 67."""
    freezing = move("236236P", 5, (hit(2, 30),), 40, freeze=Freeze(30, 2), kind=MoveKind.SUPER)
    assert second_of(run(GAME, MEDIUM, [Press(33, freezing)], BLOCK))[4] == 4
    results = [reversal(GAME, MEDIUM, [Press(33, freezing)], startup) for startup in (3, 4, 5)]
    assert results == ["beats", "trades", "loses"]


def test_a_reversal_after_a_blocked_cancel() -> None:
    """5HP blocked on 9; stop 10-21; blockstun 10 on 22-31, free on 32. The special cancelled on 22
    touches on 35: frames 32-35."""
    results = [reversal(GAME, HEAVY, [Press(12, SPECIAL)], startup, always(rule())) for startup in (3, 4, 5)]
    assert results == ["beats", "trades", "loses"]


def test_a_reversal_waits_for_all_hits_of_the_first_move() -> None:
    """5HK blocked on 7: stop 8-15, with a blockstun of 2 free on 18-22, blocked again on 23: stop 24-31,
    blockstun 15 on 32-46; free on 47. 5LP on 48 touches on 52: frames 47-52."""
    loose = replace(TWICE, hits=(replace(TWICE.hits[0], blockstun_frames=2), TWICE.hits[1]))
    results = [reversal(GAME, loose, [Press(48, LIGHT)], startup) for startup in (4, 5, 6, 7)]
    assert results == ["beats", "beats", "trades", "loses"]
    # Between the two hits there were five free frames; with two before the follow-up, 4 is too slow.
    assert reversal(GAME, loose, [Press(48, replace(LIGHT, startup_frames=1))], 4) == "loses"


def test_a_reversal_beats_a_follow_up_that_does_not_come_out() -> None:
    assert reversal(GAME, MEDIUM, [Press(27, LIGHT)], 12) == "beats"


@pytest.mark.parametrize(("startup", "punished"), [(4, True), (5, True), (6, False), (40, False)])
def test_a_punish_must_touch_before_the_attacker_is_free(startup: int, punished: bool) -> None:
    """Blockstun 9 on 17-25, free on 26; the attacker on 31. A punish of 5 touches on 30, of 6 on 31."""
    unsafe = replace(MEDIUM, hits=(hit(3, 20, 9),))
    assert punish(GAME, unsafe, startup) is punished


def test_what_is_plus_on_block_cannot_be_punished() -> None:
    assert not punish(GAME, MEDIUM, 1)


# Knockdown


def test_a_downed_defender_is_met_on_the_first_frame_it_can_be_hit() -> None:
    """Knocked down with a lead of 8: free on 31, hittable from 39. 5LP is active on its frames 5-7:
    started on 33, on 37-39: it touches with its last; started on 32 it misses altogether."""
    sweep = replace(MEDIUM, on_hit=Outcome(Effect.KNOCKDOWN, Range(8, 8)))
    assert second_of(run(GAME, sweep, [Press(33, LIGHT)]))[2:] == ((39,), False, 1)
    assert second_of(run(GAME, sweep, [Press(32, LIGHT)]))[2:] == ((), False, None)


@pytest.mark.parametrize(("delay", "active"), [(5, None), (6, 4), (7, 3), (8, 2), (9, 1), (10, None)])
def test_a_meaty_meets_the_first_frame_of_rising(delay: int, active: int | None) -> None:
    """Free on 1, the defender can be hit from 21. Startup 12, four active frames: begun on 1 + delay
    they are on 12 + delay to 15 + delay."""
    assert wake(GAME, move("5HK", 12, (hit(4, 20),), 20), 20, delay) == active


def test_a_meaty_projectile_meets_with_its_own_frames() -> None:
    """Hittable from 21; begun on 4 it leaves on 16 and is active for eight frames, 16-23."""
    assert wake(GAME, shot(hit(8, 25)), 20, 3) == 6
    assert wake(GAME, shot(hit(5, 25)), 20, 3) is None


def test_a_meaty_in_the_gap_between_two_spans_is_late() -> None:
    """5HK: active on its frames 7-8 and 15-17. Hittable from 21: begun on 7 they are on 13-14 and
    21-23; begun on 6 on 12-13 and 20-22; begun on 8 the gap is on 16-21."""
    assert [wake(GAME, TWICE, 20, delay) for delay in (6, 5, 7)] == [9, 10, None]


def test_a_meaty_needs_its_startup_but_not_its_stun() -> None:
    bare = move("5HK", 12, (hit(4, None, None, None),), None)
    assert wake(GAME, bare, 20, 8) == 2
    with pytest.raises(NumberMissingError):
        wake(GAME, replace(bare, startup_frames=None), 20, 8)
    with pytest.raises(ValueError, match="delay"):
        wake(GAME, bare, 20, -1)


@pytest.mark.parametrize(("lead", "active"), [(0, 1), (-1, None)])
def test_without_a_lead_a_meaty_would_have_to_be_active_at_once(lead: int, active: int | None) -> None:
    assert wake(GAME, move("5LP", 1, (hit(3, 20),), 20), lead) == active
