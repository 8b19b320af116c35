"""What the stepper refuses, and the numbers it can do without."""

from __future__ import annotations

from dataclasses import replace

import pytest
from stepping import BLOCK, GAME, LIGHT, MEDIUM, WHIFF, hit, move, second_of, shot

from core.model import Contact, Effect, Means, Move, Outcome, Range
from core.stepper import NumberMissingError, Press, reversal, run


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


def test_a_move_without_recovery_touches_on_its_last_frame() -> None:
    """A6 is the first active and the last frame: touches on 6, stop 7-16, free on 17."""
    trace = run(GAME, move("5LP", 6, (hit(1, 3),), 0))
    assert (trace.first.touch_frames, trace.attacker_free_frame) == ((6,), 17)


def test_a_race_needs_nothing_of_the_follow_up_after_its_touch() -> None:
    bare = replace(LIGHT, hits=(hit(3, None, None, None),), recovery_frames=None)
    assert [reversal(GAME, MEDIUM, [Press(31, bare)], startup) for startup in (1, 2)] == ["beats", "trades"]
    with pytest.raises(NumberMissingError):
        reversal(GAME, MEDIUM, [Press(31, replace(bare, startup_frames=None))], 1)
