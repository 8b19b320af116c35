"""The stepper on moves of several hits, and on hits that touch late."""

from __future__ import annotations

from dataclasses import replace

import pytest
from stepping import GAME, HEAVY, LIGHT, MEDIUM, SPECIAL, TWICE, always, hit, only_after, rule, second_of

from core.model import Contact, Means
from core.stepper import Press, run


def test_each_span_hits_once_and_freezes_both() -> None:
    """2(6)3: A7 touches on 7; stop 8-15; A8 on 16, gap A9-A14 on 17-22, A15 touches on 23; stop 24-31;
    A16-A31 on 32-47; free on 48. Stun of the second hit: 19 frames, 32-50; free on 51."""
    trace = run(GAME, TWICE)
    assert trace.first.touch_frames == (7, 23)
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (48, 51)


def test_where_the_first_hit_whiffs_the_second_touches_without_its_hitstop() -> None:
    """A15 touches on 15; stop 16-23; A16-A31 on 24-39; free on 40. Stun 24-42; free on 43."""
    trace = run(GAME, TWICE, contact=Contact(first_hit=2))
    assert trace.first.touch_frames == (15,)
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (40, 43)


def test_a_cancel_from_the_first_hit_takes_the_second_away() -> None:
    """The first frame after the first hitstop is 16: the special begins, touches on 29. The first
    hit's stun: 12 frames, 16-27; free on 28: legal, and two frames short."""
    trace = run(GAME, TWICE, [Press(10, SPECIAL)], permits=only_after(1, rule()))
    assert trace.first.touch_frames == (7,)
    assert second_of(trace) == (16, Means.CANCEL, (29,), False, 2)
    # What a run of A alone leads to does not change.
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (48, 51)


@pytest.mark.parametrize(("press", "start"), [(18, None), (19, 32), (28, 32), (37, 37), (38, None)])
def test_a_cancel_from_the_second_hit_alone_waits_for_it(press: int, start: int | None) -> None:
    """The second hit touches on 23: held from 19; its first frame after hitstop is 32, the last one
    of the window 37."""
    trace = run(GAME, TWICE, [Press(press, SPECIAL)], permits=only_after(2, rule()))
    assert (trace.second.start_frame if trace.second else None) == start


@pytest.mark.parametrize(("press", "start"), [(17, 17), (18, 18), (19, 32), (33, 33), (34, 34), (35, None)])
def test_a_newer_hit_starts_the_count_again(press: int, start: int | None) -> None:
    """Frames 1-3 after the first hit are 16-18, after the second 32-34; 19 is held for the second."""
    trace = run(GAME, TWICE, [Press(press, SPECIAL)], permits=always(rule(last=3)))
    assert (trace.second.start_frame if trace.second else None) == start


def test_a_second_move_with_two_hits_keeps_the_combo_by_its_own_first_hit() -> None:
    """5MP without hitstop: free on 21, the defender (20 frames, 7-26) on 27. 5HK started on 21 touches
    on 27: the defender is free on that very frame. Stop 28-35; its second hit, 16 frames after the
    first as in the diary above, is on 43."""
    quick = replace(MEDIUM, hits=(hit(3, 20, stop=0),))
    trace = run(GAME, quick, [Press(21, TWICE)])
    assert second_of(trace) == (21, Means.LINK, (27, 43), False, 1)
    trace = run(GAME, replace(quick, hits=(hit(3, 21, stop=0),)), [Press(21, TWICE)])
    assert second_of(trace) == (21, Means.LINK, (27, 43), True, 0)


@pytest.mark.parametrize(("press", "combined"), [(34, True), (35, False)])
def test_a_meaty_touch_leaves_more_time(press: int, combined: bool) -> None:
    """A8, the third active frame, touches on 8; stop 9-18; A9-A20 on 19-30; free on 31.
    Stun 19-38, free on 39: two frames more than on the first active frame."""
    trace = run(GAME, MEDIUM, [Press(press, LIGHT)], Contact(active_frame=3))
    assert trace.first.touch_frames == (8,)
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (31, 39)
    assert trace.second is not None
    assert trace.second.combined is combined


def test_a_meaty_of_a_later_hit_counts_in_that_hit() -> None:
    """The second frame of 5HK's second span is A16; it touches on 16; stop 17-24; A17 on 25,
    A31 on 39; free on 40. Stun 25-43; free on 44."""
    trace = run(GAME, TWICE, contact=Contact(first_hit=2, active_frame=2))
    assert trace.first.touch_frames == (16,)
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (40, 44)


def test_a_cancel_after_a_meaty_counts_from_its_touch() -> None:
    """5HP's third active frame, A11, touches on 11; stop 12-23; the special begins on 24."""
    trace = run(GAME, HEAVY, [Press(9, SPECIAL)], Contact(active_frame=3), always(rule()))
    assert second_of(trace)[:2] == (24, Means.CANCEL)
