"""What the stepper does with hit states, decay, launches and hits in the air."""

from __future__ import annotations

from dataclasses import replace

import pytest
from stepping import GAME, LIGHT, MEDIUM, SPECIAL, TWICE, hit, only_after, rule, second_of

from core.model import Contact, ContactKind, Effect, HitState, Means, Outcome, Range, WhichHit
from core.stepper import Press, run


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
    """Touched on 7, cancelled on 16: stun 16-27 and two more, 28-29; the special touches on 29."""
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
    of 16 would be on 46-61, with 14 it ends on 59; the next 5LP touches on 61: the defender is free on
    60 and 61."""
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
