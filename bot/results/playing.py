"""How a route is played: its presses in time, what the hands enter, and how that sounds."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bot.results.route import OpenRoute
from bot.results.tally import Subject
from core.inputs import Facing, NoPlan, Plan
from core.rhythm import Schedule, Track


@dataclass(frozen=True, slots=True)
class Unplayable:
    """The route does not work, or not enough of it is known to play it: `opened.check` says why."""

    opened: OpenRoute


@dataclass(frozen=True, slots=True)
class Twice:
    """A press that is planned twice: `step` its number from 0 among the presses. `own`: because the member
    logs it so; else because that lands clearly more often with hands like theirs."""

    step: int
    input: str
    own: bool


@dataclass(frozen=True, slots=True)
class RhythmSheet:
    """When to press. `twice`: the presses that are double taps; all others are one press."""

    opened: OpenRoute
    schedule: Schedule
    twice: tuple[Twice, ...] = ()


@dataclass(frozen=True, slots=True)
class InputSheet:
    """What to enter on this side, under a control scheme of the game (None: its usual one). `plan`: None
    where it could not be made in time. `as_scheduled`: whether the plan presses where `schedule` does; else
    the presses stand elsewhere in their windows, for the hands cannot be there sooner."""

    opened: OpenRoute
    schedule: Schedule
    side: Facing
    scheme: str | None
    plan: Plan | NoPlan | None
    as_scheduled: bool = False


@dataclass(frozen=True, slots=True)
class ClickTrack:
    """A click track as the bytes of a WAV file. `wanted_loops`: how many were asked for, of which
    `track.loops` fit. `directions`: whether the directions are heard too."""

    opened: OpenRoute
    schedule: Schedule
    track: Track
    wav: bytes
    wanted_loops: int
    directions: bool


@dataclass(frozen=True, slots=True)
class NoTrack:
    """No click track: one loop would be too long, or (`failed`) the work could not be done."""

    opened: OpenRoute
    failed: bool = False


class PieceKind(StrEnum):
    """What of a route a piece of its drill is."""

    ALONE = "alone"
    """One press by itself."""
    JOINED = "joined"
    """Several moves in a row, not all."""
    WHOLE = "whole"


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of a drill, with its number in the member's log. `chance`: of landing its one press, or all
    of them, with the member's hands; None where it is not known."""

    kind: PieceKind
    subject: Subject
    subject_id: int
    minutes: int
    reps: int
    chance: float | None = None


@dataclass(frozen=True, slots=True)
class RouteDrill:
    """A route as a drill: its pieces in the order in which to practise them. `reps_today`: made already;
    `cut`: whether the day's cap left out reps; `goal`: the share from which a piece is done. `confirm`: the
    move before the first cancel, and the cancelled one."""

    opened: OpenRoute
    pieces: tuple[Piece, ...]
    goal: float
    reps_today: int
    cut: bool
    confirm: tuple[str, str] | None
