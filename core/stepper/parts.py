"""The parts of the stepper's world that keep their own counters."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from core.model import Means, Move
from core.stepper.stun import Condition


class Touch(NamedTuple):
    """A touch on a real frame, which is this active frame of its move (the first: 1, gaps counted)."""

    frame: int
    active_frame: int


@dataclass(slots=True, eq=False)
class Log:
    """What a move did so far."""

    move: Move
    start_frame: int
    means: Means | None
    touches: list[Touch] = field(default_factory=list)
    combined: bool = False
    gap_frames: int | None = None


@dataclass(slots=True, eq=False)
class Shot:
    """A projectile under way: it waits while it travels, then runs through its own frames."""

    log: Log
    spans: tuple[int, ...]
    wait: int
    freeze: int = 0
    at: int = 0
    spent: int = 0

    @property
    def to_come(self) -> bool:
        """Whether a span before it did not touch yet."""
        return any(span > self.spent for span in self.spans[self.at :])


@dataclass(slots=True, eq=False)
class Defender:
    """The defender: hitstop first, then stun, then free.

    `held`: stuck on this frame. `free_frames` counts since the last touch, from frame `free_since`.
    """

    condition: Condition = Condition.FREE
    freeze: int = 0
    stun: int = 0
    held: bool = False
    touched: bool = False
    free_frames: int = 0
    free_since: int = 0

    def tick(self, frame: int) -> None:
        """Live one frame."""
        if self.freeze:
            self.freeze -= 1
        elif self.stun:
            self.stun -= 1
        else:
            self.held = False
            self.condition = Condition.FREE
            if self.touched:
                self.free_frames += 1
                if self.free_frames == 1:
                    self.free_since = frame

    def take(self, condition: Condition, freeze: int, stun: int) -> None:
        """Be touched on this frame: frozen from the next one, then stunned."""
        self.condition, self.freeze, self.stun = condition, freeze, stun
        self.held = self.touched = True
        self.free_frames = 0
