"""Press timing: the chance that a press lands, and a player's timing from tallies: import from here."""

from core.timing.chain import RouteChance, Step, in_rhythm, route_chance
from core.timing.chance import Chance, best_chance, chance
from core.timing.diagnosis import Bottleneck, Diagnosis, Tendency, bottleneck, diagnose, tendency
from core.timing.double_tap import (
    Edges,
    TapAdvice,
    TapCode,
    TapReason,
    best_aim,
    edges,
    hole_chance,
    press_chance,
    tap_advice,
)
from core.timing.fit import Estimate, Fit, Hands, TooFew, fit
from core.timing.likelihood import WEAK, Prior
from core.timing.mashing import Mashing, mashing, period_frames
from core.timing.spread import TYPICAL, Spread, from_clock_and_motor
from core.timing.tally import Tally
from core.timing.window import Window, cancel_window, link_window

__all__ = [
    "TYPICAL",
    "WEAK",
    "Bottleneck",
    "Chance",
    "Diagnosis",
    "Edges",
    "Estimate",
    "Fit",
    "Hands",
    "Mashing",
    "Prior",
    "RouteChance",
    "Spread",
    "Step",
    "Tally",
    "TapAdvice",
    "TapCode",
    "TapReason",
    "Tendency",
    "TooFew",
    "Window",
    "best_aim",
    "best_chance",
    "bottleneck",
    "cancel_window",
    "chance",
    "diagnose",
    "edges",
    "fit",
    "from_clock_and_motor",
    "hole_chance",
    "in_rhythm",
    "link_window",
    "mashing",
    "period_frames",
    "press_chance",
    "route_chance",
    "tap_advice",
    "tendency",
]
