"""The stepper's cancels and chains: when they begin, how long a press is held for them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from stepping import GAME, HEAVY, LIGHT, MEDIUM, SPECIAL, WHIFF, always, only_after, rule, second_of

from core.model import Means
from core.stepper import Press, run


@pytest.mark.parametrize(
    ("press", "start", "touch", "combined", "gap"),
    [
        (5, 22, 35, True, -4),
        (15, 22, 35, True, -4),
        (22, 22, 35, True, -4),
        (23, 23, 36, True, -3),
        (26, 26, 39, True, 0),
        (27, 27, 40, False, 1),
    ],
)
def test_a_cancel_is_held_through_hitstop_and_begins_after_it(
    press: int, start: int, touch: int, combined: bool, gap: int
) -> None:
    """A9 touches on 9; 10-21 stop; A10 would be on 22 (the first frame after hitstop): a special held
    from 5 (four before contact) begins there; the window goes five frames on, to 27. A27 on 39, free
    on 40. Stun 1-18 on 22-39, free on 40. The special touches on its 14th frame."""
    trace = run(GAME, HEAVY, [Press(press, SPECIAL)], permits=always(rule()))
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (40, 40)
    assert second_of(trace) == (start, Means.CANCEL, (touch,), combined, gap)


@pytest.mark.parametrize("press", [4, 28])
def test_a_press_outside_the_cancel_is_lost(press: int) -> None:
    """4 is five frames before contact on 9; 28 is one after the window's end, and long before 40."""
    trace = run(GAME, HEAVY, [Press(press, SPECIAL)], permits=always(rule()))
    assert trace.second is None
    assert trace.lost == (Press(press, SPECIAL),)


def test_without_permission_a_press_in_hitstop_does_nothing() -> None:
    assert run(GAME, HEAVY, [Press(15, SPECIAL)]).second is None


def test_a_press_too_old_for_the_cancel_still_links_where_the_buffer_allows() -> None:
    """The attacker is free on 40; 37 is three frames before."""
    trace = run(GAME, HEAVY, [Press(37, SPECIAL)], permits=always(rule()))
    assert second_of(trace) == (40, Means.LINK, (53,), False, 14)


@pytest.mark.parametrize(
    ("press", "start"), [(2, 19), (12, 19), (18, 19), (19, 19), (24, 24), (25, None), (28, 31)]
)
def test_a_chain_begins_inside_its_own_frames(press: int, start: int | None) -> None:
    """5MP touches on 6; 7-16 stop; the frames after contact: 1st on 17, 3rd on 19, 8th on 24.
    The game's cancel window is no limit for chains. 28 is a link again: free on 31."""
    trace = run(GAME, MEDIUM, [Press(press, LIGHT)], permits=always(rule(Means.CHAIN, 3, 8)))
    assert (trace.second.start_frame if trace.second else None) == start
    if start is not None:
        assert trace.second is not None
        assert trace.second.means is (Means.LINK if start == 31 else Means.CHAIN)


@pytest.mark.parametrize("last", [None, 40])
def test_a_chain_without_end_lasts_as_long_as_the_move(last: int | None) -> None:
    """A20, 5MP's last frame, is on 30; on 31 the attacker is free: a link."""
    permits = always(rule(Means.CHAIN, 1, last))
    assert second_of(run(GAME, MEDIUM, [Press(30, LIGHT)], permits=permits))[:2] == (30, Means.CHAIN)
    assert second_of(run(GAME, MEDIUM, [Press(31, LIGHT)], permits=permits))[:2] == (31, Means.LINK)


def test_the_cancel_window_counts_from_the_rules_first_frame() -> None:
    """After contact on 9: the 4th frame is on 25, five more end on 30."""
    permits = always(rule(first=4))
    assert second_of(run(GAME, HEAVY, [Press(12, SPECIAL)], permits=permits))[0] == 25
    assert second_of(run(GAME, HEAVY, [Press(30, SPECIAL)], permits=permits))[0] == 30
    assert run(GAME, HEAVY, [Press(31, SPECIAL)], permits=permits).second is None


def test_a_game_without_a_cancel_window_cancels_until_the_move_ends() -> None:
    """A27 is on 39."""
    game = replace(GAME, cancel_window_frames=None)
    assert second_of(run(game, HEAVY, [Press(39, SPECIAL)], permits=always(rule())))[1] is Means.CANCEL
    assert second_of(run(game, HEAVY, [Press(40, SPECIAL)], permits=always(rule())))[1] is Means.LINK


def test_a_cancelled_move_may_start_faster_but_a_linked_one_does_not() -> None:
    """Cancelled on 22 with a startup of 10: touches on 31. Linked on 40: on 53."""
    fast = replace(SPECIAL, cancelled_startup_frames=10)
    assert second_of(run(GAME, HEAVY, [Press(15, fast)], permits=always(rule())))[2] == (31,)
    assert second_of(run(GAME, HEAVY, [Press(40, fast)], permits=always(rule())))[2] == (53,)


def test_a_later_move_follows_only_by_the_presses_own_permits() -> None:
    """5LP starts on 31, touches on 35; stop 36-45; its first frame after hitstop is on 46."""
    chain = always(rule(Means.CHAIN))
    plain = run(GAME, MEDIUM, [Press(31, LIGHT), Press(40, LIGHT)], permits=chain)
    assert [started.start_frame for started in plain.followups] == [31]
    chained = run(GAME, MEDIUM, [Press(31, LIGHT), Press(40, LIGHT, chain)])
    assert [(s.start_frame, s.means) for s in chained.followups] == [(31, Means.LINK), (46, Means.CHAIN)]


@pytest.mark.parametrize(("press", "start"), [(2, 7), (6, 7), (8, 8), (12, 12), (13, None)])
def test_on_whiff_rules_count_from_the_first_active_frame(press: int, start: int | None) -> None:
    """A6 is the first active frame: the first one after it is 7, five more end on 12."""
    trace = run(GAME, MEDIUM, [Press(press, SPECIAL)], WHIFF, permits=only_after(1, rule()))
    assert (trace.second.start_frame if trace.second else None) == start
