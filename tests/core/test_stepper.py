"""The stepper against frame diaries worked out by hand.

A diary lists real frames: "A3" is the third own frame of A, "stop" hitstop, "stun n" the n-th frame
of stun. Every number below was counted on paper, not taken from the program.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from core.model import (
    CancelRule,
    Contact,
    ContactKind,
    Effect,
    Freeze,
    Game,
    Hit,
    HitState,
    Means,
    Move,
    MoveKind,
    Outcome,
    Projectile,
    Range,
    Selector,
    WhichHit,
)
from core.stepper import NumberMissingError, Permits, Press, Trace, punish, reversal, run, wake

GAME = Game(
    "Paper",
    "1",
    60,
    (),
    link_buffer_frames=3,
    cancel_buffer_frames=4,
    cancel_window_frames=5,
    hit_states=(HitState("counter", bonus_frames=2),),
)
BLOCK = Contact(ContactKind.BLOCK)
WHIFF = Contact(ContactKind.WHIFF)


def hit(active: int, stun: int | None, block: int | None = 10, stop: int | None = 10, gap: int = 0) -> Hit:
    return Hit(
        active,
        gap_frames=gap,
        hitstun_frames=stun,
        blockstun_frames=block,
        attacker_hitstop_frames=stop,
        defender_hitstop_frames=stop,
    )


def move(name: str, startup: int, hits: tuple[Hit, ...], recovery: int | None, **more: object) -> Move:
    plain = Move(name, name, MoveKind.NORMAL, startup_frames=startup, hits=hits, recovery_frames=recovery)
    return replace(plain, **more)  # type: ignore[arg-type]


def rule(means: Means = Means.CANCEL, first: int = 1, last: int | None = None) -> CancelRule:
    return CancelRule(
        "paper", means, Selector(), Selector(), frozenset(ContactKind), first_frame=first, last_frame=last
    )


def always(*rules: CancelRule) -> Permits:
    return lambda _hit: rules


def only_after(number: int, *rules: CancelRule) -> Permits:
    return lambda hit: rules if hit == number else ()


MEDIUM = move("5MP", 6, (hit(3, 20, 17),), 12)
LIGHT = move("5LP", 5, (hit(3, 15),), 9)
HEAVY = move("5HP", 9, (hit(4, 18, stop=12),), 15)
SPECIAL = move("236P", 14, (hit(3, 25),), 20)
TWICE = move("5HK", 7, (hit(2, 12, 11, 8), hit(3, 19, 15, 8, gap=6)), 14)


def second_of(trace: Trace) -> tuple[int, Means | None, tuple[int, ...], bool, int | None]:
    second = trace.second
    assert second is not None
    return second.start_frame, second.means, second.touch_frames, second.combined, second.gap_frames


# Links


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


# Cancels and chains


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


# Several hits


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


# Meaty, projectile, freeze


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


def shot(*hits: Hit, stop: int = 0, speed: float | None = 8) -> Move:
    frozen = tuple(replace(one, attacker_hitstop_frames=stop, defender_hitstop_frames=9) for one in hits)
    return move("236LP", 13, frozen, 30, kind=MoveKind.SPECIAL, projectile=Projectile(speed))


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


# Hit states, decay, juggle, knockdown


@pytest.mark.parametrize(
    ("applies", "medium", "twice"),
    [(WhichHit.FIRST, 39, 51), (WhichHit.LAST, 39, 53), (WhichHit.EVERY, 39, 53)],
)
def test_a_counter_hit_adds_its_bonus_to_the_hit_it_belongs_to(
    applies: WhichHit, medium: int, twice: int
) -> None:
    """5MP: free on 37, two later 39. 5HK's second hit replaces the first one's stun: 51, or 53."""
    game = replace(GAME, hit_states=(HitState("counter", bonus_frames=2, applies_to=applies),))
    assert run(game, MEDIUM, contact=Contact(state="counter")).defender_free_frame == medium
    assert run(game, TWICE, contact=Contact(state="counter")).defender_free_frame == twice


def test_where_the_first_span_whiffs_the_next_is_the_first_to_land() -> None:
    """5HK's second hit alone leaves the defender free on 43, with the bonus on 45."""
    trace = run(GAME, TWICE, contact=Contact(state="counter", first_hit=2))
    assert trace.defender_free_frame == 45


def test_the_first_hits_bonus_helps_a_cancel_from_it() -> None:
    """As in the cancel above: stun 16-27 and two more, 28-29; the special touches on 29."""
    trace = run(GAME, TWICE, [Press(10, SPECIAL)], Contact(state="counter"), permits=only_after(1, rule()))
    assert second_of(trace) == (16, Means.CANCEL, (29,), True, 0)


@pytest.mark.parametrize(
    ("outcome", "active_frame", "attacker", "defender"),
    [
        (Outcome(Effect.STAND, Range(9, 9)), 1, 31, 40),
        (Outcome(Effect.STAND, Range(9, 9)), 2, 31, 41),
        (Outcome(Effect.STAND, Range(-2, -2)), 1, 31, 29),
        (Outcome(Effect.LAUNCH, air_frames=33), 1, 31, 50),
        (Outcome(Effect.KNOCKDOWN, Range(25, 25)), 1, 31, 56),
        (Outcome(Effect.KNOCKDOWN, Range(25, 25)), 3, 31, 58),
    ],
)
def test_an_outcome_of_a_state_takes_the_place_of_stun_and_bonus(
    outcome: Outcome, active_frame: int, attacker: int, defender: int
) -> None:
    """The attacker is free on 31: +9 is 40, -2 is 29, a lead of 25 is 56; a meaty adds to each. Air
    frames are counted after hitstop: 33 on 17-49."""
    special = replace(MEDIUM, outcomes=(("counter", outcome),))
    contact = Contact(state="counter", active_frame=active_frame)
    trace = run(GAME, special, contact=contact)
    assert (trace.attacker_free_frame, trace.defender_free_frame) == (attacker, defender)
    # Without the state the same move does what it always does.
    assert run(GAME, special).defender_free_frame == 37


def test_blockstun_has_neither_bonus_nor_decay() -> None:
    """Stop 7-16, blockstun 17 frames on 17-33; free on 34."""
    game = replace(GAME, hitstun_decay_frames=(3,))
    contact = Contact(ContactKind.BLOCK, state="counter", hits_before=2)
    assert run(game, MEDIUM, contact=contact).defender_free_frame == 34


@pytest.mark.parametrize(("before", "free"), [(0, 37), (1, 35), (2, 33), (7, 33)])
def test_hitstun_decays_over_a_route_and_the_last_step_goes_on(before: int, free: int) -> None:
    """37 without decay."""
    game = replace(GAME, hitstun_decay_frames=(0, 2, 4))
    assert run(game, MEDIUM, contact=Contact(hits_before=before)).defender_free_frame == free


def test_each_hit_that_lands_counts_for_decay() -> None:
    """5HK's second hit is the route's second: 51 less 2. And 5LP after 5MP is the second, too: its stun
    of 16 ended on 61 (see above), with 14 it ends on 59; the next 5LP
    touches on 61: the defender is free on 60 and 61."""
    game = replace(GAME, hitstun_decay_frames=(0, 2, 4))
    assert run(game, TWICE).defender_free_frame == 49
    longer = replace(LIGHT, hits=(hit(3, 16),))
    trace = run(game, MEDIUM, [Press(31, longer), Press(56, LIGHT)])
    assert [started.gap_frames for started in trace.followups] == [-1, 2]


def test_stun_cannot_fall_below_none() -> None:
    """Stop 7-16; free on 17."""
    game = replace(GAME, hitstun_decay_frames=(90,))
    assert run(game, MEDIUM).defender_free_frame == 17


@pytest.mark.parametrize(("press", "combined"), [(45, True), (46, False)])
def test_a_launched_defender_is_hit_until_the_last_frame_in_the_air(press: int, combined: bool) -> None:
    """33 frames in the air on 17-49. 5LP pressed on 45 touches on 49."""
    launcher = replace(MEDIUM, on_hit=Outcome(Effect.LAUNCH, air_frames=33))
    trace = run(GAME, launcher, [Press(press, LIGHT)])
    assert trace.second is not None
    assert trace.second.combined is combined


def test_a_hit_in_the_air_does_what_the_move_does_there() -> None:
    """5LP on 31 touches on 35, frozen 36-45; 20 frames in the air on 46-65. The attacker, free on 57,
    starts 5LP: it touches on 61; started on 62 it touches on 66."""
    launcher = replace(MEDIUM, on_hit=Outcome(Effect.LAUNCH, air_frames=33))
    juggle = replace(LIGHT, on_air_hit=Outcome(Effect.LAUNCH, air_frames=20))
    for press, combined in ((57, True), (62, False)):
        trace = run(GAME, launcher, [Press(31, juggle), Press(press, juggle)])
        assert [started.combined for started in trace.followups] == [True, combined]


def test_a_first_move_on_an_airborne_defender_does_what_it_does_there() -> None:
    """Stop 7-16, 21 frames in the air on 17-37."""
    juggle = replace(MEDIUM, on_air_hit=Outcome(Effect.LAUNCH, air_frames=21))
    assert run(GAME, juggle, contact=Contact(juggle_count=1)).defender_free_frame == 38
    assert run(GAME, juggle).defender_free_frame == 37


def test_all_hits_of_a_move_on_an_airborne_defender_are_in_the_air() -> None:
    """5HK touches on 7 and 23; stop 24-31; 21 frames in the air on 32-52."""
    juggle = replace(TWICE, on_air_hit=Outcome(Effect.LAUNCH, air_frames=21))
    assert run(GAME, juggle, contact=Contact(juggle_count=1)).defender_free_frame == 53


def test_an_advantage_by_height_moves_stun_by_what_its_low_end_gains() -> None:
    """+2 to +8 becomes +5 to +11: three frames more than the plain hit's 37."""
    air = replace(
        MEDIUM,
        on_hit=Outcome(Effect.STAND, Range(2, 8)),
        outcomes=(("counter", Outcome(Effect.STAND, Range(5, 11))),),
    )
    assert run(GAME, air, contact=Contact(state="counter"), lands_after_frames=5).defender_free_frame == 40
    assert run(GAME, air, lands_after_frames=5).defender_free_frame == 37


def test_a_downed_defender_is_met_on_the_first_frame_it_can_be_hit() -> None:
    """Knocked down with a lead of 8: free on 31, hittable from 39. 5LP is active on its frames 5-7:
    started on 33, on 37-39: it touches with its last; started on 32 it misses altogether."""
    sweep = replace(MEDIUM, on_hit=Outcome(Effect.KNOCKDOWN, Range(8, 8)))
    assert second_of(run(GAME, sweep, [Press(33, LIGHT)]))[2:] == ((39,), False, 1)
    assert second_of(run(GAME, sweep, [Press(32, LIGHT)]))[2:] == ((), False, None)


# The slot


@pytest.mark.parametrize(("newest", "started", "lost_frame"), [(True, None, 12), (False, 22, 14)])
def test_the_slot_keeps_one_press(newest: bool, started: int | None, lost_frame: int) -> None:
    """A special pressed on 12, in 5HP's hitstop, would begin on 22. A stray light on 14, which may not
    cancel, throws it out where the newest press is kept; else the light itself is lost."""
    game = replace(GAME, keeps_newest_press=newest)
    presses = [Press(12, SPECIAL), Press(14, LIGHT, always())]
    trace = run(game, HEAVY, presses, permits=always(rule()))
    assert (trace.second.start_frame if trace.second else None) == started
    assert lost_frame in [press.frame for press in trace.lost]
    assert len(trace.lost) == (2 if newest else 1)


@pytest.mark.parametrize(("second_press", "started"), [(29, None), (30, 31)])
def test_a_kept_first_press_blocks_until_it_expires(second_press: int, started: int | None) -> None:
    """5MP frees the attacker on 31. A press on 26 lives until 29 and is too old on 31."""
    game = replace(GAME, keeps_newest_press=False)
    trace = run(game, MEDIUM, [Press(26, LIGHT), Press(second_press, LIGHT)])
    assert (trace.second.start_frame if trace.second else None) == started


def test_a_kept_first_press_blocks_while_its_cancel_is_to_come() -> None:
    """5HP touches on 9. A press on 5 is held through 22; the one on 15 is lost. Where the cancel is not
    permitted, the press on 5 is dead once it is older than both buffers, and 37 links on 40."""
    game = replace(GAME, keeps_newest_press=False)
    trace = run(game, HEAVY, [Press(5, SPECIAL), Press(15, LIGHT)], permits=always(rule()))
    assert [started.move.input for started in trace.followups] == ["236P"]
    trace = run(game, HEAVY, [Press(5, SPECIAL), Press(37, LIGHT)])
    assert [started.move.input for started in trace.followups] == ["5LP"]


FIRST_KEPT = replace(GAME, keeps_newest_press=False, link_buffer_frames=0)


@pytest.mark.parametrize(("light", "started"), [(8, None), (9, "5LP")])
def test_a_kept_press_is_dead_once_no_touch_can_come_in_time(light: int, started: str | None) -> None:
    """A press on 4 would need a touch by 8; 5HP's comes on 9."""
    trace = run(FIRST_KEPT, HEAVY, [Press(4, SPECIAL), Press(light, LIGHT)], permits=always(rule()))
    assert (trace.second.move.input if trace.second else None) == started


@pytest.mark.parametrize("after", [8, 14])
def test_a_kept_press_lives_until_the_very_frame_of_its_chain(after: int) -> None:
    """5MP's 8th frame after hitstop is 24, its 14th and last 30: there the kept press is used."""
    permits = always(rule(Means.CHAIN, after, after))
    trace = run(FIRST_KEPT, MEDIUM, [Press(12, SPECIAL), Press(16 + after, LIGHT)], permits=permits)
    assert [(started.move.input, started.start_frame) for started in trace.followups] == [
        ("236P", 16 + after)
    ]


def test_a_kept_press_that_came_after_its_chain_makes_room() -> None:
    """Frame 8 after hitstop is 24: a press on 25 is late, the one on 26 has a longer chain."""
    presses = [Press(25, SPECIAL), Press(26, LIGHT, always(rule(Means.CHAIN)))]
    trace = run(FIRST_KEPT, MEDIUM, presses, permits=always(rule(Means.CHAIN, 3, 8)))
    assert second_of(trace)[:2] == (26, Means.CHAIN)


def test_a_kept_press_whose_move_is_over_makes_room() -> None:
    """A chain from the 30th frame on never comes: 5MP is over after 14. Free on 31."""
    presses = [Press(12, SPECIAL), Press(31, LIGHT)]
    trace = run(FIRST_KEPT, MEDIUM, presses, permits=always(rule(Means.CHAIN, 30)))
    assert second_of(trace)[:2] == (31, Means.LINK)


def test_a_kept_press_waits_for_a_projectile_under_way() -> None:
    """Touches on 26: the special pressed on 22 begins on 27, the light on 25 is lost."""
    presses = [Press(22, SPECIAL), Press(25, LIGHT)]
    trace = run(FIRST_KEPT, shot(hit(1, 25)), presses, Contact(distance=100), always(rule()))
    assert [started.move.input for started in trace.followups] == ["236P"]


def test_a_newer_press_is_judged_by_its_own_permission() -> None:
    """In 5HP's window, 22-27, the light may not cancel; the special after it may."""
    presses = [Press(22, LIGHT, always()), Press(24, SPECIAL)]
    assert second_of(run(GAME, HEAVY, presses, permits=always(rule())))[:2] == (24, Means.CANCEL)


# Whiff, landing, movement


def test_a_whiffed_move_runs_without_hitstop_and_touches_nothing() -> None:
    """A1-A20 on 1-20; free on 21. A press on 18 is held; 17 is not."""
    trace = run(GAME, MEDIUM, [Press(18, LIGHT)], WHIFF)
    assert (trace.first.touch_frames, trace.attacker_free_frame, trace.defender_free_frame) == ((), 21, None)
    assert second_of(trace) == (21, Means.LINK, (25,), False, None)
    assert run(GAME, MEDIUM, [Press(17, LIGHT)], WHIFF).second is None


@pytest.mark.parametrize(("press", "start"), [(2, 7), (6, 7), (8, 8), (12, 12), (13, None)])
def test_on_whiff_rules_count_from_the_first_active_frame(press: int, start: int | None) -> None:
    """A6 is the first active frame: the first one after it is 7, five more end on 12."""
    trace = run(GAME, MEDIUM, [Press(press, SPECIAL)], WHIFF, permits=only_after(1, rule()))
    assert (trace.second.start_frame if trace.second else None) == start


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


# Bounds and missing numbers


@pytest.mark.parametrize("frames", [(1,), (0,), (-3,), (40_000,), (31, 31)])
def test_presses_that_cannot_be_made_are_refused(frames: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="frame"):
        run(GAME, MEDIUM, [Press(frame, LIGHT) for frame in frames])


def test_presses_may_be_given_in_any_order() -> None:
    backwards = run(GAME, MEDIUM, [Press(56, LIGHT), Press(31, LIGHT)])
    assert [started.start_frame for started in backwards.followups] == [31, 57]


@pytest.mark.parametrize("contact", [Contact(active_frame=4), Contact(first_hit=2)])
def test_a_contact_on_a_frame_that_does_not_exist_is_refused(contact: Contact) -> None:
    with pytest.raises(ValueError, match="5MP cannot touch"):
        run(GAME, MEDIUM, contact=contact)


@pytest.mark.parametrize(
    ("first", "contact"),
    [
        (replace(MEDIUM, startup_frames=None), Contact()),
        (replace(MEDIUM, recovery_frames=None), Contact()),
        (replace(MEDIUM, hits=()), Contact()),
        (replace(MEDIUM, hits=(hit(3, None),)), Contact()),
        (replace(MEDIUM, hits=(hit(3, 20, None),)), BLOCK),
        (replace(MEDIUM, hits=(hit(3, 20, 10, None),)), Contact()),
        (MEDIUM, Contact(state="unheard of")),
        (MEDIUM, Contact(juggle_count=0)),
        (replace(MEDIUM, outcomes=(("counter", Outcome(Effect.STAND)),)), Contact(state="counter")),
        (replace(MEDIUM, on_hit=Outcome(Effect.KNOCKDOWN, Range(20, 30))), Contact()),
        (shot(hit(1, 20), speed=None), Contact(distance=10)),
    ],
)
def test_a_first_move_without_a_number_it_needs_is_not_played(first: Move, contact: Contact) -> None:
    with pytest.raises(NumberMissingError):
        run(GAME, first, contact=contact)


def test_numbers_nobody_needs_may_be_missing() -> None:
    assert run(GAME, replace(MEDIUM, hits=(hit(3, 20, None),))).defender_free_frame == 37
    assert (
        run(GAME, replace(MEDIUM, hits=(hit(3, None, None, None),)), contact=WHIFF).attacker_free_frame == 21
    )
    assert run(GAME, shot(hit(1, 25), speed=None)).defender_free_frame == 48


def test_a_follow_up_without_its_stun_still_says_whether_it_combined() -> None:
    """The trace is whole as long as nothing after the touch was asked for."""
    bare = replace(LIGHT, hits=(hit(3, None, None, None),), recovery_frames=None)
    alone = run(GAME, MEDIUM, [Press(31, bare)])
    assert alone.complete
    assert second_of(alone) == (31, Means.LINK, (35,), True, -1)
    more = run(GAME, MEDIUM, [Press(31, bare), Press(57, LIGHT)])
    assert not more.complete
    assert more.lost == ()
    assert second_of(more) == (31, Means.LINK, (35,), True, -1)
