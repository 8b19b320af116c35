"""How far presses scatter, and how that grows with the time between them."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Spread:
    """Generalised Weber form: spread^2 = motor^2 + (weber * interval)^2, all in frames.

    Variance linear in the squared interval: Ivry & Hazeltine 1995; a fraction near .05: Getty 1975.
    """

    motor_frames: float
    weber: float

    def frames(self, interval_frames: float) -> float:
        """The spread of gaps of this length.

        >>> Spread(3.0, 0.1).frames(40)
        5.0
        """
        return math.hypot(self.motor_frames, self.weber * interval_frames)

    def times(self, scale: float) -> Spread:
        """The spread of hands that scatter `scale` times as much at every interval."""
        return Spread(self.motor_frames * scale, self.weber * scale)


def from_clock_and_motor(clock_frames: float, motor_frames: float) -> float:
    """The spread of the interval between two presses, from the timekeeper's and one press's.

    Wing & Kristofferson 1973 (formula from memory): Var(I) = clock^2 + 2 motor^2; neighbouring
    intervals have the covariance -motor^2. So `Spread.motor_frames` is sqrt(2) times one press's.

    >>> round(from_clock_and_motor(1.0, 2.0), 6)
    3.0
    """
    return math.hypot(clock_frames, motor_frames * math.sqrt(2))


TYPICAL = Spread(motor_frames=0.6, weber=0.05)
"""Hands to begin with, at 60 frames a second: 10 ms of motor scatter (a guess) and Weber's .05."""
