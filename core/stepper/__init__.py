"""The frame-by-frame simulator: the second opinion on `core.frames` and `core.cancels`.

It knows nothing of advantages and windows: it counts frames, one after the other, and looks at what
happens. Frames are real ones: frame 1 is the first frame of the first move; hitstop and super
freezes pass on the same clock.
"""

from core.stepper.run import Started, Trace, punish, reversal, run, wake
from core.stepper.sheet import NumberMissingError
from core.stepper.world import LONGEST_RUN_FRAMES, Permits, Press

__all__ = [
    "LONGEST_RUN_FRAMES",
    "NumberMissingError",
    "Permits",
    "Press",
    "Started",
    "Trace",
    "punish",
    "reversal",
    "run",
    "wake",
]
