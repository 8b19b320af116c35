"""Questions put to the stepper: a run, a meaty, a race after a block."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from core.model import Contact, ContactKind, Game, Means, Move
from core.stepper.parts import Log
from core.stepper.sheet import NumberMissingError
from core.stepper.stun import Condition
from core.stepper.world import LONGEST_RUN_FRAMES, Permits, Press, World, no_rules

CLEAN_HIT = Contact()


@dataclass(frozen=True, slots=True)
class Started:
    """A move that came out. Frames are real ones.

    `means` is None for the first move. `combined`: its first touch found the defender in hitstun or
    in the air after a launch (False when it never touched). `gap_frames` at its first touch: the
    frames from the defender's first free one to the touch, both counted, super freezes left out:
    1 = free on the very frame of the touch, 0 = touched on the last frame of stun, -n = n more frames
    of hitstop and stun were left. None: never touched, or the defender had not been touched before.
    """

    move: Move
    start_frame: int
    means: Means | None
    touch_frames: tuple[int, ...]
    combined: bool
    gap_frames: int | None


@dataclass(frozen=True, slots=True)
class Trace:
    """What happened.

    `attacker_free_frame` and `defender_free_frame` are the first free frames after the first move
    had nothing else been pressed; the second is None where the move touched nothing (after a launch:
    the first frame on which the defender can no longer be hit in the air; after a knockdown: the
    first one on which it can be hit standing up). `lost` presses started nothing. `complete` is
    False where a follow-up lacks a number: the trace then ends at that point.
    """

    first: Started
    followups: tuple[Started, ...]
    attacker_free_frame: int
    defender_free_frame: int | None
    lost: tuple[Press, ...]
    complete: bool = True

    @property
    def second(self) -> Started | None:
        """The move that came out after the first one."""
        return self.followups[0] if self.followups else None


def run(
    game: Game,
    first: Move,
    presses: Iterable[Press] = (),
    contact: Contact = CLEAN_HIT,
    permits: Permits = no_rules,
    *,
    lands_after_frames: int | None = None,
) -> Trace:
    """Play `first` from frame 1 with these presses until nothing can happen any more.

    `permits` tells which rules let the first move be followed, by its last hit that touched; on
    whiff it is asked for hit 1 on the first active frame. `lands_after_frames`: an airborne first
    move keeps the attacker busy for so many frames after its first touch, hitstop left out, instead
    of its own remaining frames.

    Raises NumberMissingError where the first move lacks a number, ValueError where presses share a frame or
    lie outside 2 ... LONGEST_RUN_FRAMES (the press on frame 1 is the first move's own), or the
    contact names a frame the move does not have.
    """
    ordered = _in_order(presses)
    alone = World(game, contact, lands_after_frames=lands_after_frames)
    alone.begin(first)
    alone.play()
    world, complete = alone, True
    if ordered:
        world = World(game, contact, deque(ordered), permits, lands_after_frames=lands_after_frames)
        world.begin(first)
        try:
            world.play(until_settled=True)
        except NumberMissingError:
            if len(world.logs) == 1:
                raise
            complete = world.settled
    return Trace(
        first=_started(world.logs[0]),
        followups=tuple(_started(log) for log in world.logs[1:]),
        attacker_free_frame=alone.first_free_frame,
        defender_free_frame=alone.defender.free_since or None,
        lost=_lost(world, ordered, complete),
        complete=complete,
    )


def wake(game: Game, second: Move, lead_frames: int, delay_frames: int = 0) -> int | None:
    """The active frame (the move's first: 1, gaps counted) on which a meaty meets the rising defender.

    After a knockdown the attacker is free `lead_frames` before the first frame on which the defender
    can be hit standing up, and starts `second` `delay_frames` after that. None: it is not active on
    that very frame, so it whiffs or comes late. Raises NumberMissingError; ValueError for a delay below 0.
    """
    if delay_frames < 0:
        raise ValueError(f"A delay of {delay_frames} frames is too small: it is 0 or more.")
    world = World(game, Contact(), deque((Press(1 + delay_frames, second),)))
    if lead_frames > 0:
        world.defender.take(Condition.DOWN, 0, lead_frames)
    else:
        world.defender.touched, world.defender.free_frames = True, -lead_frames
    try:
        while not world.over and not (world.logs and world.logs[0].touches):
            world.tick()
    except NumberMissingError:
        if not world.logs:
            raise
    log = world.logs[0]
    return log.touches[0].active_frame if log.touches and log.gap_frames == 1 else None


def reversal(
    game: Game,
    first: Move,
    presses: Iterable[Press],
    reversal_startup_frames: int,
    permits: Permits = no_rules,
    *,
    distance: float | None = None,
    lands_after_frames: int | None = None,
) -> Literal["beats", "trades", "loses"]:
    """How a reversal fares against the follow-up, on block.

    The defender blocks the whole of `first` and begins the reversal on the first free frame after it,
    if there is one before the follow-up touches. Where no follow-up touches, the reversal beats.
    Raises as `run`.
    """
    world = World(
        game,
        Contact(ContactKind.BLOCK, distance=distance),
        deque(_in_order(presses)),
        permits,
        lands_after_frames=lands_after_frames,
        answer_startup_frames=reversal_startup_frames,
    )
    world.begin(first)
    touch = None
    while touch is None and not world.over:
        try:
            world.tick()
        except NumberMissingError:
            if not any(log.touches for log in world.logs[1:]):
                raise
        touch = next((log.touches[0] for log in world.logs[1:] if log.touches), None)
    answer_frame = world.answer_frame
    if touch is None or 0 < answer_frame < touch.frame:
        return "beats"
    return "trades" if answer_frame == touch.frame else "loses"


def punish(
    game: Game,
    first: Move,
    punish_startup_frames: int,
    *,
    distance: float | None = None,
    lands_after_frames: int | None = None,
) -> bool:
    """Whether a punish begun on the defender's first free frame after blocking `first` touches before
    the attacker is free. Raises as `run`."""
    world = World(
        game,
        Contact(ContactKind.BLOCK, distance=distance),
        lands_after_frames=lands_after_frames,
        answer_startup_frames=punish_startup_frames,
    )
    world.begin(first)
    world.play()
    return 0 < world.answer_frame < world.first_free_frame


def _in_order(presses: Iterable[Press]) -> tuple[Press, ...]:
    ordered = tuple(sorted(presses, key=lambda press: press.frame))
    last_frame = 1
    for press in ordered:
        if not 2 <= press.frame <= LONGEST_RUN_FRAMES:
            raise ValueError(
                f"A press on frame {press.frame} cannot be played: frame 1 is the first move's own press, "
                f"later ones lie on 2 to {LONGEST_RUN_FRAMES}."
            )
        if press.frame == last_frame:
            raise ValueError(f"Two presses fall on frame {last_frame}: one a frame is read.")
        last_frame = press.frame
    return ordered


def _started(log: Log) -> Started:
    frames = tuple(touch.frame for touch in log.touches)
    return Started(log.move, log.start_frame, log.means, frames, log.combined, log.gap_frames)


def _lost(world: World, presses: tuple[Press, ...], complete: bool) -> tuple[Press, ...]:
    """The presses that started nothing; in a run that broke off, those already judged."""
    used = {press.frame for press in world.used}
    return tuple(
        press
        for press in presses
        if press.frame not in used and (complete or (press.frame <= world.frame and press is not world.slot))
    )
