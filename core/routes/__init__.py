"""Routes: checking one step by step, finding the best, and the next one to learn. Import from here."""

from core.routes.check import check, presses, reliability, usual_check
from core.routes.checked import Repair, RouteCheck, StepCheck
from core.routes.ending import Ending
from core.routes.one_step_up import NextStep, expected_damage, next_step
from core.routes.query import Aim, Found, FoundRoute, Hands, JointKey, Query, hands
from core.routes.search import find
from core.routes.state import Start, full_gauges

__all__ = [
    "Aim",
    "Ending",
    "Found",
    "FoundRoute",
    "Hands",
    "JointKey",
    "NextStep",
    "Query",
    "Repair",
    "RouteCheck",
    "Start",
    "StepCheck",
    "check",
    "expected_damage",
    "find",
    "full_gauges",
    "hands",
    "next_step",
    "presses",
    "reliability",
    "usual_check",
]
