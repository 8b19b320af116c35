"""The stepper's projectiles and super freezes."""

from __future__ import annotations

from dataclasses import replace

import pytest
from stepping import GAME, LIGHT, MEDIUM, SPECIAL, always, hit, move, rule, second_of, shot

from core.model import Contact, Freeze, Means, MoveKind, Projectile
from core.stepper import Press, run

# Projectiles


def test_a_projectile_touches_after_its_way_while_its_owner_goes_on() -> None:
    """Leaves on 13. Point blank: touches on 13; defender stop 14-22, stun 23-47, free on 48.
    From 100 at 8 a frame: 12.5, so 13 frames: touches on 26; stop 27-35, stun 36-60, free on 61.
    The owner's 43 frames are on 1-43 either way: free on 44."""
    near = run(GAME, shot(hit(1, 25)))
    assert (near.first.touch_frames, near.attacker_free_frame, near.defender_free_frame) == ((13,), 44, 48)
    far = run(GAME, shot(hit(1, 25)), contact=Contact(distance=100))
    assert (far.first.touch_frames, far.attacker_free_frame, far.defender_free_frame) == ((26,), 44, 61)


def test_a_projectile_of_two_spans_waits_with_the_defenders_freeze() -> None:
    """Touches on 13; it and the defender stop 14-22; its gap of three on 23-25; touches on 26.
    The owner is frozen for four frames after each: 14-17 and 27-30. The owner's 12 + 5 + 30 frames:
    W13 on 13, W14-W22 on 18-26, W23-W47 on 31-55; free on 56. Stun after 27-35: 36-60; free on 61."""
    trace = run(GAME, shot(hit(1, 12), hit(1, 25, gap=3), stop=4))
    assert trace.first.touch_frames == (13, 26)
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (56, 61)


def test_a_projectile_as_second_move_travels_too() -> None:
    """Linked on 31, it leaves on 43; from 16 at 8 a frame it touches on 45. Stun 30 frames on 17-46:
    one is left."""
    stunning = replace(MEDIUM, hits=(hit(3, 30),))
    trace = run(GAME, stunning, [Press(31, shot(hit(1, 25)))], Contact(distance=16))
    assert second_of(trace) == (31, Means.LINK, (45,), True, -1)


def test_a_projectile_still_touches_after_its_owner_started_something_else() -> None:
    """Leaves on 13, touches on 63 after 50 frames. The owner, free on 44, starts 5LP (startup 30) on 44:
    it touches on 73. Stop 64-72, stun 73-97."""
    slow = move("5LP", 30, (hit(3, 15),), 9)
    trace = run(GAME, shot(hit(1, 25)), [Press(44, slow)], Contact(distance=400))
    assert trace.first.touch_frames == (63,)
    assert second_of(trace) == (44, Means.LINK, (73,), True, -24)


def test_a_touch_of_the_first_moves_projectile_does_not_let_the_second_be_cancelled() -> None:
    """The projectile touches on 63, the light that started on 44 only on 73 (stop 74-83)."""
    slow = move("5LP", 30, (hit(3, 15),), 9)
    presses = [Press(44, slow), Press(69, SPECIAL, always(rule()))]
    trace = run(GAME, shot(hit(1, 25)), presses, Contact(distance=400))
    assert [started.start_frame for started in trace.followups] == [44, 84]


def test_a_projectiles_touch_freezes_an_idle_owner_who_has_hitstop_from_it() -> None:
    """Touches on 63; the owner, free since 44, is frozen on 64-67: a press on 66 is held until 68. The
    defender, with neither hitstop nor stun, is free on 64."""
    only_owner = replace(hit(1, 0, stop=4), defender_hitstop_frames=0)
    slow = move("236LP", 13, (only_owner,), 30, projectile=Projectile(8))
    trace = run(GAME, slow, [Press(66, LIGHT)], Contact(distance=400))
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (44, 64)
    assert second_of(trace)[0] == 68


def test_a_span_of_a_projectile_hits_once() -> None:
    assert run(GAME, shot(hit(4, 25))).first.touch_frames == (13,)


def test_a_projectile_cancels_from_the_frame_it_touches() -> None:
    """Touches on 26 from afar, no freeze for the owner: the special may begin on 27."""
    trace = run(GAME, shot(hit(1, 25)), [Press(22, SPECIAL)], Contact(distance=100), permits=always(rule()))
    assert second_of(trace)[:3] == (27, Means.CANCEL, (40,))
    assert (
        run(
            GAME, shot(hit(1, 25)), [Press(21, SPECIAL)], Contact(distance=100), permits=always(rule())
        ).second
        is None
    )


# Super freezes


@pytest.mark.parametrize(("startup", "touch", "combined", "gap"), [(6, 76, True, 0), (8, 78, False, 2)])
def test_no_stun_runs_in_a_super_freeze(startup: int, touch: int, combined: bool, gap: int) -> None:
    """The super starts on 31: S1-S3 on 31-33, everything stops 34-73, S4 on 74. Stun 1-17 on 17-33,
    18-20 on 74-76; free on 77."""
    freezing = move("236236P", startup, (hit(2, 30),), 40, freeze=Freeze(40, 3), kind=MoveKind.SUPER)
    trace = run(GAME, MEDIUM, [Press(31, freezing)])
    assert second_of(trace) == (31, Means.LINK, (touch,), combined, gap)
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (31, 37)


def test_a_freeze_at_once_comes_before_the_first_own_frame() -> None:
    """Starts on 31: everything stops 31-70; S1 on 71, S4 on 74. Stun 1-14 on 17-30, 15-20 on 71-76."""
    freezing = move("236236P", 4, (hit(2, 30),), 40, freeze=Freeze(40, 0), kind=MoveKind.SUPER)
    assert second_of(run(GAME, MEDIUM, [Press(31, freezing)])) == (31, Means.LINK, (74,), True, -2)


def test_a_first_move_may_freeze_and_presses_age_meanwhile() -> None:
    """A1-A2 on 1-2, everything stops 3-32, A3 on 33, A4 touches on 34; a press on 30 is four frames
    old by then, one on 29 five. Stop 35-44; the special begins on 45."""
    freezing = move("236236P", 4, (hit(2, 30),), 20, freeze=Freeze(30, 2), kind=MoveKind.SUPER)
    early = run(GAME, freezing, [Press(29, SPECIAL)], permits=always(rule()))
    assert early.first.touch_frames == (34,)
    assert early.second is None
    held = run(GAME, freezing, [Press(30, SPECIAL)], permits=always(rule()))
    assert second_of(held)[0] == 45


def test_a_super_freeze_stops_hitstop_and_projectiles() -> None:
    """The projectile leaves on 13 and needs 40 frames. Its owner, free on 44, starts the super on 44:
    S1 on 44, all stops 45-64. 31 frames of the way on 13-43 (the last at the end of 43), one on 44:
    8 are left, on 65-72: it touches on 73 instead of 53. The super, S2 on 65, S5 on 68, is before it."""
    freezing = move("236236P", 5, (hit(2, 30, block=2, stop=0),), 40, freeze=Freeze(20, 1))
    trace = run(GAME, shot(hit(1, 25)), [Press(44, freezing)], Contact(distance=320))
    assert trace.second is not None
    assert trace.second.touch_frames == (68,)
    assert trace.second.gap_frames is None
    assert trace.first.touch_frames == (73,)
