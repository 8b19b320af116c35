"""A route: moves in order, how each follows the one before, and what is said about each step."""

from __future__ import annotations

from dataclasses import dataclass

from core.model import Means, Move
from core.notation.inputs import Press


@dataclass(frozen=True, slots=True)
class Step:
    """One move of a route.

    `joined`: how it follows the step before; None for the first step and where whatever works.
    `delayed` by `delay_frames`, None where it is not said how many. `state`: the hit state it hits
    in. `meaty`: it hits late, on its `meaty_frame`-th active frame, None where it is not said.
    `press`: what the hand does with its buttons.
    """

    move: Move
    joined: Means | None = None
    delayed: bool = False
    delay_frames: int | None = None
    state: str | None = None
    meaty: bool = False
    meaty_frame: int | None = None
    press: Press = Press.TAP

    def __post_init__(self) -> None:
        if self.delay_frames is not None and not (self.delayed and self.delay_frames > 0):
            raise ValueError("delay_frames needs delayed, and is 1 or more")
        if self.meaty_frame is not None and not (self.meaty and self.meaty_frame > 0):
            raise ValueError("meaty_frame needs meaty, and is 1 or more")

    @property
    def held(self) -> bool:
        """Whether the buttons are held down."""
        return self.press is Press.HOLD


@dataclass(frozen=True, slots=True)
class Route:
    """One step or more."""

    steps: tuple[Step, ...]

    def __post_init__(self) -> None:
        if not self.steps:
            raise ValueError("a route needs a step")
        if self.steps[0].joined is not None:
            raise ValueError("the first step follows nothing")

    @property
    def moves(self) -> tuple[Move, ...]:
        """The moves alone, in order."""
        return tuple(step.move for step in self.steps)
