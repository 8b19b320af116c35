"""A move laid out frame by frame, as the stepper reads it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from core.model import Contact, ContactKind, Means, Move, MoveKind


class NumberMissingError(ValueError):
    """The run needs a number that the game file leaves out."""


def known(value: int | None, owner: str, field: str) -> int:
    """`value`, or NumberMissingError with the name of what is missing."""
    if value is None:
        raise NumberMissingError(f"{owner} has no {field}: the stepper needs it.")
    return value


@dataclass(frozen=True, slots=True)
class Sheet:
    """One move as it is played in one run.

    `body` and `projectile` hold one number a frame: the active span on that frame, or 0. The body's
    frames are the move's own, from the first; a projectile's begin when it arrives, `travel_frames`
    after it left on the owner's frame `startup_frames`. Spans that whiff are left at 0.
    `ends`: whether the frames after the last span are known.
    """

    move: Move
    body: tuple[int, ...]
    projectile: tuple[int, ...]
    startup_frames: int
    travel_frames: int
    ends: bool


def lay_out(move: Move, means: Means | None, distance: float | None) -> Sheet:
    """The move's frames when it comes out by these means; every span touches as soon as it can.

    Raises NumberMissingError where the file leaves out the startup or the hits, or the speed of a projectile
    that has a distance to travel.
    """
    if move.kind is MoveKind.MOVEMENT:
        length = known(move.recovery_frames, move.input, "length")
        return Sheet(move, (0,) * length, (), 0, 0, True)
    startup = move.cancelled_startup_frames if means is Means.CANCEL else None
    if startup is None:
        startup = known(move.startup_frames, move.input, "startup")
    if not move.hits:
        raise NumberMissingError(f"{move.input} has no active frames: the stepper needs them.")
    active: list[int] = []
    for number, hit in enumerate(move.hits, start=1):
        active += [0] * hit.gap_frames
        active += [number] * hit.active_frames
    before = (0,) * (startup - 1)
    after = (0,) * (move.recovery_frames or 0)
    ends = move.recovery_frames is not None
    if move.projectile is None:
        return Sheet(move, (*before, *active, *after), (), startup, 0, ends)
    travel = _travel_frames(move, distance)
    return Sheet(move, (*before, *[0] * len(active), *after), tuple(active), startup, travel, ends)


def meet(sheet: Sheet, contact: Contact) -> Sheet:
    """The first move's sheet as it met the defender: what comes before its first touch is blank.

    Raises ValueError where the move has no such span, or the span no such frame.
    """
    if contact.kind is ContactKind.WHIFF:
        return _with_spans(sheet, (0,) * len(sheet.body), (0,) * len(sheet.projectile))
    if contact.first_hit == contact.active_frame == 1 or sheet.move.kind is MoveKind.MOVEMENT:
        return sheet
    spans = sheet.projectile or sheet.body
    met = 0
    for index, span in enumerate(spans):
        met += span == contact.first_hit
        if met == contact.active_frame:
            spans = (0,) * index + spans[index:]
            break
    else:
        raise ValueError(
            f"{sheet.move.input} cannot touch on frame {contact.active_frame} of hit {contact.first_hit}: "
            f"name a frame on which that hit is active."
        )
    return _with_spans(sheet, sheet.body, spans) if sheet.projectile else _with_spans(sheet, spans, ())


def _with_spans(sheet: Sheet, body: tuple[int, ...], projectile: tuple[int, ...]) -> Sheet:
    return Sheet(sheet.move, body, projectile, sheet.startup_frames, sheet.travel_frames, sheet.ends)


def _travel_frames(move: Move, distance: float | None) -> int:
    if not distance or move.projectile is None:
        return 0
    if not move.projectile.speed:
        raise NumberMissingError(
            f"{move.input} has no projectile speed: from a distance the stepper needs it."
        )
    return math.ceil(distance / move.projectile.speed)
