"""The stepper's links: the buffer, hitstop and stun, whiffs, landing and movement."""

from __future__ import annotations

from dataclasses import replace

import pytest
from stepping import GAME, LIGHT, MEDIUM, WHIFF, always, hit, rule, second_of

from core.model import Means, Move, MoveKind
from core.stepper import Press, run

# Links and their buffer


@pytest.mark.parametrize(
    ("press", "start", "touch", "combined", "gap"),
    [
        (28, 31, 35, True, -1),
        (31, 31, 35, True, -1),
        (32, 32, 36, True, 0),
        (33, 33, 37, False, 1),
        (40, 40, 44, False, 8),
    ],
)
def test_a_link_combos_up_to_the_last_frame_of_stun(
    press: int, start: int, touch: int, combined: bool, gap: int
) -> None:
    """A1-A5 on 1-5, A6 touches on 6; 7-16 stop; A7-A20 on 17-30; free on 31.
    Defender: 7-16 stop, stun 1-20 on 17-36, free on 37. B touches on its fifth frame.
    A press on 28 is three frames early: held until 31."""
    trace = run(GAME, MEDIUM, [Press(press, LIGHT)])
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (31, 37)
    assert trace.first.touch_frames == (6,)
    # B's own first touch is all there is to it: its span hits once.
    assert second_of(trace) == (start, Means.LINK, (touch,), combined, gap)
    assert trace.lost == ()


def test_a_press_one_frame_before_the_buffer_is_lost() -> None:
    """Free on 31: a press on 27 is four frames old by then, the buffer is three."""
    trace = run(GAME, MEDIUM, [Press(27, LIGHT)])
    assert trace.second is None
    assert trace.lost == (Press(27, LIGHT),)
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (31, 37)


@pytest.mark.parametrize(("press", "starts"), [(30, False), (31, True)])
def test_without_a_buffer_only_a_free_attacker_starts(press: int, starts: bool) -> None:
    """Free on 31, as above."""
    trace = run(replace(GAME, link_buffer_frames=0), MEDIUM, [Press(press, LIGHT)])
    assert (trace.second is not None) is starts


def test_hitstop_freezes_each_side_for_its_own_number() -> None:
    """A6 touches on 6. Attacker: stop 7-10, A7-A20 on 11-24, free on 25.
    Defender: stop 7-18, stun 19-38, free on 39."""
    uneven = replace(MEDIUM.hits[0], attacker_hitstop_frames=4, defender_hitstop_frames=12)
    trace = run(GAME, replace(MEDIUM, hits=(uneven,)))
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (25, 39)


def test_stun_counts_from_the_frame_after_contact_without_hitstop() -> None:
    """A6 touches on 6; A7-A20 on 7-20, free on 21. Stun on 7-26, free on 27; a stun of none: free on 7."""
    assert run(GAME, replace(MEDIUM, hits=(hit(3, 20, stop=0),))).defender_free_frame == 27
    trace = run(GAME, replace(MEDIUM, hits=(hit(3, 0, stop=0),)))
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (21, 7)


def test_a_second_press_links_from_the_move_the_first_one_started() -> None:
    """5MP as above. 5LP starts on 31, touches on 35; stop 36-45; B6-B16 on 46-56; free on 57.
    Defender: stop 36-45, stun 1-15 on 46-60, free on 61. The next 5LP starts on 57, touches on 61."""
    trace = run(GAME, MEDIUM, [Press(31, LIGHT), Press(56, LIGHT)])
    assert [started.start_frame for started in trace.followups] == [31, 57]
    assert [started.combined for started in trace.followups] == [True, False]
    assert trace.followups[1].gap_frames == 1
    longer = replace(LIGHT, hits=(hit(3, 16),))
    trace = run(GAME, MEDIUM, [Press(31, longer), Press(56, LIGHT)])
    assert trace.followups[1].combined


# Whiff, landing, movement


def test_a_whiffed_move_runs_without_hitstop_and_touches_nothing() -> None:
    """A1-A20 on 1-20; free on 21. A press on 18 is held; 17 is not."""
    trace = run(GAME, MEDIUM, [Press(18, LIGHT)], WHIFF)
    assert (trace.first.touch_frames, trace.attacker_free_frame, trace.defender_free_frame) == ((), 21, None)
    assert second_of(trace) == (21, Means.LINK, (25,), False, None)
    assert run(GAME, MEDIUM, [Press(17, LIGHT)], WHIFF).second is None


def test_an_airborne_move_ends_by_landing() -> None:
    """A6 touches on 6; stop 7-16; five more frames on 17-21; free on 22. Stun 17-36, free on 37.
    A chain can begin on 21 at the latest."""
    falling = replace(MEDIUM, recovery_frames=None)
    trace = run(GAME, falling, [Press(22, LIGHT)], lands_after_frames=5)
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (22, 37)
    assert second_of(trace) == (22, Means.LINK, (26,), True, -10)
    late = run(GAME, MEDIUM, [Press(21, LIGHT)], permits=always(rule(Means.CHAIN)), lands_after_frames=5)
    assert second_of(late)[:2] == (21, Means.CHAIN)
    high = run(GAME, MEDIUM, lands_after_frames=30)
    assert high.attacker_free_frame == 47


def test_movement_is_only_time() -> None:
    dash = Move("66", "dash", MoveKind.MOVEMENT, recovery_frames=18)
    trace = run(GAME, dash, [Press(19, LIGHT)])
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (19, None)
    assert second_of(trace)[:3] == (19, Means.LINK, (23,))
