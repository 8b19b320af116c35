"""Directions and presses: what the game reads out of them, and the fewest that bring out a route.

How inputs are read stands in `interpreter`; how the fewest are found, in `search`.
"""

from core.inputs.commands import BUTTON_FRAMES, STEP_FRAMES
from core.inputs.directions import (
    GAMEPAD,
    HAT,
    NAMES,
    NEUTRAL,
    Facing,
    facing,
    gamepad_buttons,
    mirrored,
    of_gamepad,
)
from core.inputs.interpreter import Entered, Frame, Result, read
from core.inputs.needs import HAND_FRAMES
from core.inputs.notes import Note, NoteCode
from core.inputs.planner import NoPlan, Plan, PlannedPress, Shared, Wanted, plan

__all__ = [
    "BUTTON_FRAMES",
    "GAMEPAD",
    "HAND_FRAMES",
    "HAT",
    "NAMES",
    "NEUTRAL",
    "STEP_FRAMES",
    "Entered",
    "Facing",
    "Frame",
    "NoPlan",
    "Note",
    "NoteCode",
    "Plan",
    "PlannedPress",
    "Result",
    "Shared",
    "Wanted",
    "facing",
    "gamepad_buttons",
    "mirrored",
    "of_gamepad",
    "plan",
    "read",
]
