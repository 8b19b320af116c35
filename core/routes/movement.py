"""A movement between two moves of a route."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from core.cancels import CancelWindow
from core.model import Move
from core.verdict import Code, Facts, Reason


@dataclass(frozen=True, slots=True)
class Dash:
    """A movement that came after a move, and is not yet followed by one.

    `frames`: until it is over, its delay inside. `out_of`: where it was begun out of the move before;
    None where the player was free.
    """

    move: Move
    frames: int
    out_of: CancelWindow | None = None

    @property
    def key(self) -> tuple[object, ...]:
        """What tells it from others, quicker than the whole of it."""
        window = self.out_of
        if window is None:
            return id(self.move), self.frames
        delays = (window.first_delay_frames, window.last_delay_frames)
        return id(self.move), self.frames, window.rule.name, window.hit, *delays


def after_dash(move: Move, frames: int) -> Move:
    """The move as if it started so many frames later and reached anywhere: a movement comes before it.

    Whether it reaches from where the movement ends is not a question of the two moves alone.
    """
    later = None if move.startup_frames is None else move.startup_frames + frames
    reach = None if move.reach is None else math.inf
    return replace(move, startup_frames=later, cancelled_startup_frames=None, reach=reach)


def moves_between(move: Move) -> Reason:
    """That the movement takes its frames."""
    return Reason(Code.MOVES_BETWEEN, Facts(move=move.input, move_frames=move.recovery_frames or 0))
