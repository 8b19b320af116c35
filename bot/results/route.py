"""A route that a member looks at, and the hands that are to play it."""

from __future__ import annotations

from dataclasses import dataclass, field

from core.routes import Repair, RouteCheck
from core.timing import TYPICAL, Spread

SURE = 0.95
"""What lands so often lands nearly every time: no press to speak of, or to practise alone."""


@dataclass(frozen=True, slots=True)
class KnownHands:
    """How somebody presses. `tries`: how many in the log say so; 0 for typical hands."""

    spread: Spread = field(default=TYPICAL)
    bias_frames: float = 0.0
    tries: int = 0


@dataclass(frozen=True, slots=True)
class OpenRoute:
    """A route judged for the one who looks at it. `subject_id`: its number in their log, which buttons carry;
    0 where nothing is kept, as in the terminal. `name`: under which they saved it, empty where not."""

    check: RouteCheck
    hands: KnownHands
    subject_id: int = 0
    name: str = ""


@dataclass(frozen=True, slots=True)
class Mended:
    """A change with which a route that fails works. `subject_id`: the number of the changed route."""

    repair: Repair
    subject_id: int
