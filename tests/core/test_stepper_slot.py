"""The stepper's one held press: which is kept, and until when."""

from __future__ import annotations

from dataclasses import replace

import pytest
from stepping import GAME, HEAVY, LIGHT, MEDIUM, SPECIAL, always, hit, rule, second_of, shot

from core.model import Contact, Means
from core.stepper import Press, run


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
