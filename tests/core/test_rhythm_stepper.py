"""Scheduled presses are fed to the frame-by-frame stepper, which knows nothing of windows and aims."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import pytest
from agreement import in_time
from demo import GAMES, demo
from stepping import GAME, hit, move

from core.cancels import windows
from core.followups import follow_up
from core.frames import contact_clock
from core.model import (
    CancelRule,
    Character,
    Contact,
    ContactKind,
    Effect,
    Freeze,
    Game,
    Means,
    Move,
    MoveKind,
    Outcome,
    Range,
    Selector,
    Stance,
)
from core.permission import permission
from core.rhythm import RhythmStep, Schedule, schedule
from core.stepper import Permits, Press, Trace, run
from core.timing import Window, cancel_window, link_window

CHARACTERS = [(name, who) for name in GAMES for who in demo(name).characters]
each_character = pytest.mark.parametrize(("name", "who"), CHARACTERS, ids=[who.name for _, who in CHARACTERS])


@dataclass(frozen=True, slots=True)
class Played:
    """A route of moves that combo, with the contact of each."""

    game: Game
    who: Character
    moves: tuple[Move, ...]
    contacts: tuple[Contact, ...]
    steps: tuple[RhythmStep, ...]

    @property
    def schedule(self) -> Schedule:
        return schedule(self.steps, self.game.fps)

    def label(self) -> str:
        return f"{self.who.name}: {', '.join(move.input for move in self.moves)}"

    def run(self, frames: Sequence[Sequence[int]]) -> Trace:
        """Play the moves with the first on frame 1 and these presses, counted from it, for the next ones."""
        presses = [
            Press(1 + frame, self.moves[number], self._permits(number))
            for number, of_step in enumerate(frames, start=1)
            for frame in of_step
        ]
        return run(self.game, self.moves[0], presses, Contact(), self._permits(1))

    def lands(self, frames: Sequence[Sequence[int]]) -> bool:
        """Whether just the planned moves come out, each as planned, and each combos."""
        found = self.run(frames).followups
        planned = [
            (self.moves[number].input, self.steps[number].means) for number in range(1, len(frames) + 1)
        ]
        return [(one.move.input, one.means) for one in found] == planned and all(map(in_time, found))

    def _permits(self, number: int) -> Permits:
        first, second, contact = self.moves[number - 1], self.moves[number], self.contacts[number - 1]
        return lambda hit: permission(self.game, self.who, first, second, contact, hit).rules


def begun(game: Game, who: Character, first: Move) -> Played:
    """A route of one move."""
    return Played(game, who, (first,), (Contact(),), (step_of(first, None, None, Contact()),))


def as_it_came_out(one: Move, means: Means | None) -> Move:
    """The move with the startup it has by these means, which the closed forms take from the move alone."""
    if means is not Means.CANCEL or one.cancelled_startup_frames is None:
        return one
    return replace(one, startup_frames=one.cancelled_startup_frames)


def step_of(one: Move, means: Means | None, window: Window | None, contact: Contact) -> RhythmStep:
    touches = contact_clock(as_it_came_out(one, means), contact, 1)
    frozen = one.freeze.frames if one.freeze else 0
    assert isinstance(touches, int), one.input
    return RhythmStep(one.input, means, window, contact_frames=touches - 1, freeze_frames=frozen)


def longer(route: Played, second: Move) -> Played | None:
    """The route with one more move; None where it does not combo, or leaves the ground.

    None too where it may be cancelled out of several hits: the window is that of one of them, and a press
    before it belongs to another.
    """
    game, who, contact = route.game, route.who, route.contacts[-1]
    first = as_it_came_out(route.moves[-1], contact.came_by)
    found = follow_up(game, who, first, second, contact)
    if found.means is None or second.stance is Stance.AIRBORNE:
        return None
    of_means = link_window if found.means is Means.LINK else cancel_window
    window = of_means(game, who, first, second, contact)
    if not isinstance(window, Window):
        return None
    if found.means is not Means.LINK and len(windows(game, who, first, second, contact)) > 1:
        return None
    by_cancel = found.cancel.window if found.means is not Means.LINK else None
    touched = by_cancel.hit if by_cancel else len(first.hits)
    used = (*contact.rules_used, by_cancel.rule.name) if by_cancel else contact.rules_used
    after = Contact(hits_before=contact.hits_before + touched, came_by=found.means, rules_used=used)
    return replace(
        route,
        moves=(*route.moves, second),
        contacts=(*route.contacts, after),
        steps=(*route.steps, step_of(second, found.means, window, after)),
    )


def stands(one: Move) -> bool:
    """Whether the move leaves the opponent standing, so that the next one meets them on the ground."""
    return one.on_hit is not None and one.on_hit.effect is Effect.STAND


def whole(one: Move) -> bool:
    """Whether the stepper has every number of the move, and it starts and ends on the ground."""
    numbers = [one.total_frames, *(span.attacker_hitstop_frames for span in one.hits)]
    numbers += [span.hitstun_frames for span in one.hits[:-1]]
    on_ground = one.stance is not Stance.AIRBORNE and one.kind not in (MoveKind.THROW, MoveKind.MOVEMENT)
    return on_ground and bool(one.hits) and None not in numbers


def routes(name: str, who: Character, most: int) -> Iterator[Played]:
    """Routes of two to four moves; of each length at most so many that end in a link, a chain, a cancel."""
    game, moves = demo(name), [one for one in who.moves if whole(one)]
    level = [begun(game, who, one) for one in moves]
    for _ in range(3):
        found = [
            more
            for route in level
            if stands(route.moves[-1])
            for second in moves
            if (more := longer(route, second)) is not None
        ]
        level = []
        for means in Means:
            ending = [route for route in found if route.steps[-1].means is means]
            level += ending[:: max(1, len(ending) // most)][:most]
        yield from level


@each_character
def test_the_scheduled_presses_land_every_route(name: str, who: Character) -> None:
    seen: set[Means | None] = set()
    lengths: set[int] = set()
    for route in routes(name, who, 10):
        assert route.lands([press.frames for press in route.schedule.presses[1:]]), route.label()
        seen |= {step.means for step in route.steps[1:]}
        lengths.add(len(route.moves))
    assert seen == set(Means)
    assert lengths == {2, 3, 4}


@each_character
def test_the_first_and_last_frame_of_each_bracket_land_and_one_frame_outside_does_not(
    name: str, who: Character
) -> None:
    outside = 0
    for route in routes(name, who, 5):
        presses = route.schedule.presses[1:]
        for number, press in enumerate(presses):
            before = [one.frames for one in presses[:number]]
            assert route.lands([*before, [press.first_frame]]), (route.label(), press)
            assert route.lands([*before, [press.last_frame]]), (route.label(), press)
            assert not route.lands([*before, [press.last_frame + 1]]), (route.label(), press)
            window = route.steps[number + 1].window
            assert window is not None
            if window.first_gap > 1:  # else the frame before is that on which the move before starts
                assert not route.lands([*before, [press.first_frame - 1]]), (route.label(), press)
                outside += 1
    assert outside > 10


@each_character
def test_moves_start_and_touch_on_the_frames_of_the_schedule(name: str, who: Character) -> None:
    for route in routes(name, who, 5):
        planned = route.schedule.presses
        trace = route.run([press.frames for press in planned[1:]])
        played = (trace.first, *trace.followups)
        assert [one.start_frame - 1 for one in played] == [press.start_frame for press in planned]
        assert [one.touch_frames[0] - 1 for one in played] == [press.contact_frame for press in planned]


def paper(name: str, startup: int, stun: int, recovery: int, **more: object) -> Move:
    """A move with three active frames, a hitstop of 10, and the advantage that follows from these."""
    lead = stun - (2 + recovery)
    stands = Outcome(Effect.STAND, Range(lead, lead))
    return move(name, startup, (hit(3, stun),), recovery, on_hit=stands, **more)


INTO_SUPER = CancelRule(
    "into super",
    Means.CANCEL,
    Selector(kinds=frozenset({MoveKind.NORMAL})),
    Selector(kinds=frozenset({MoveKind.SUPER})),
    frozenset({ContactKind.HIT}),
)
LIGHT, MEDIUM = paper("5LP", 5, 15, 9), paper("5MP", 8, 20, 12)
SUPER = paper("236236HP", 9, 40, 20, kind=MoveKind.SUPER, freeze=Freeze(50, before_frames=5))
FROZEN_AT_ONCE = paper("214214HP", 9, 40, 20, kind=MoveKind.SUPER, freeze=Freeze(45, before_frames=0))
WHO = Character("Paper", moves=(LIGHT, MEDIUM, SUPER, FROZEN_AT_ONCE))
FREEZES = replace(GAME, rules=(INTO_SUPER,), characters=(WHO,))


@pytest.mark.parametrize("frozen", [SUPER, FROZEN_AT_ONCE], ids=lambda one: one.input)
def test_a_link_after_a_super_freeze_lands_where_the_schedule_has_it_and_nowhere_else(frozen: Move) -> None:
    route: Played | None = begun(FREEZES, WHO, MEDIUM)
    for second in (frozen, MEDIUM, LIGHT):
        assert route is not None
        route = longer(route, second)
    assert route is not None
    presses = route.schedule.presses[1:]
    assert [press.means for press in presses] == [Means.CANCEL, Means.LINK, Means.LINK]
    assert route.lands([press.frames for press in presses])
    for number, press in enumerate(presses):
        before = [one.frames for one in presses[:number]]
        for frame, landed in (
            (press.first_frame - 1, False),
            (press.first_frame, True),
            (press.last_frame, True),
            (press.last_frame + 1, False),
        ):
            assert route.lands([*before, [frame]]) is landed, (press.input, frame)


def test_the_frames_of_a_route_through_a_super_freeze_are_those_worked_out_by_hand() -> None:
    """5MP touches on its frame 8 (gap 7) and stops 10: the super may start from gap 7 + 11 on. It freezes 50
    and touches on its own frame 9, stops 10, and is over after 9 - 1 + 3 + 20 = 31 own frames, so the next
    start is 31 + 10 + 50 frames after its own; it leads by 40 - 22 = 18, so that 5MP, which touches on its
    frame 8, links for 18 - 8 + 1 frames."""
    route: Played | None = begun(FREEZES, WHO, MEDIUM)
    for second in (SUPER, MEDIUM):
        assert route is not None
        route = longer(route, second)
    assert route is not None
    first, into, after = route.schedule.presses
    assert first.contact_frame == 7
    assert (into.at_once_frame, into.contact_frame) == (18, into.start_frame + 50 + 8)
    free = into.start_frame + 31 + 10 + 50
    assert (after.first_frame, after.at_once_frame, after.last_frame) == (free - 3, free, free + 10)


def tapped(route: Played, spacing: int) -> Played:
    return replace(route, steps=(route.steps[0], replace(route.steps[1], spacing_frames=spacing)))


@pytest.mark.parametrize("spacing", range(1, 8))
def test_a_double_tap_lands_with_the_link_it_is_planned_for(spacing: int) -> None:
    route = longer(begun(FREEZES, WHO, MEDIUM), LIGHT)
    assert route is not None
    (press,) = tapped(route, spacing).schedule.presses[1:]
    assert len(press.frames) == 2
    trace = route.run([press.frames])
    assert trace.second is not None
    assert (trace.second.means, in_time(trace.second)) == (Means.LINK, True)
    assert trace.second.start_frame - 1 == press.start_frame
