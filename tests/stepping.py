"""Moves with numbers for the stepper, held against frame diaries worked out by hand.

A diary lists real frames: "A3" is the third own frame of A, "stop" hitstop, "stun n" the n-th frame
of stun. Every number in a diary was counted on paper, not taken from the program.
"""

from __future__ import annotations

from dataclasses import replace

from core.model import (
    CancelRule,
    Contact,
    ContactKind,
    Game,
    Hit,
    HitState,
    Means,
    Move,
    MoveKind,
    Projectile,
    Selector,
)
from core.stepper import Permits, Trace

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
    """A hit with as much hitstop on either side."""
    return Hit(
        active,
        gap_frames=gap,
        hitstun_frames=stun,
        blockstun_frames=block,
        attacker_hitstop_frames=stop,
        defender_hitstop_frames=stop,
    )


def move(name: str, startup: int, hits: tuple[Hit, ...], recovery: int | None, **more: object) -> Move:
    """A normal with these numbers; `more` are further fields."""
    plain = Move(name, name, MoveKind.NORMAL, startup_frames=startup, hits=hits, recovery_frames=recovery)
    return replace(plain, **more)  # type: ignore[arg-type]


def shot(*hits: Hit, stop: int = 0, speed: float | None = 8) -> Move:
    """A projectile with a defender's hitstop of 9 and an owner's of `stop`."""
    frozen = tuple(replace(one, attacker_hitstop_frames=stop, defender_hitstop_frames=9) for one in hits)
    return move("236LP", 13, frozen, 30, kind=MoveKind.SPECIAL, projectile=Projectile(speed))


def rule(means: Means = Means.CANCEL, first: int = 1, last: int | None = None) -> CancelRule:
    """A cancel rule for every move and contact."""
    return CancelRule(
        "paper", means, Selector(), Selector(), frozenset(ContactKind), first_frame=first, last_frame=last
    )


def always(*rules: CancelRule) -> Permits:
    """Permits these rules from every hit."""
    return lambda _hit: rules


def only_after(number: int, *rules: CancelRule) -> Permits:
    """Permits these rules from the hit of this number alone."""
    return lambda hit: rules if hit == number else ()


MEDIUM = move("5MP", 6, (hit(3, 20, 17),), 12)
LIGHT = move("5LP", 5, (hit(3, 15),), 9)
HEAVY = move("5HP", 9, (hit(4, 18, stop=12),), 15)
SPECIAL = move("236P", 14, (hit(3, 25),), 20)
TWICE = move("5HK", 7, (hit(2, 12, 11, 8), hit(3, 19, 15, 8, gap=6)), 14)


def second_of(trace: Trace) -> tuple[int, Means | None, tuple[int, ...], bool, int | None]:
    """Start, means, touches, whether it combined, and gap of the second move, which must be there."""
    second = trace.second
    assert second is not None
    return second.start_frame, second.means, second.touch_frames, second.combined, second.gap_frames
