"""On which frames a route's presses fall, counted from the first press in real frames.

Each press is placed as `core.timing.chain` has it: a press held by the buffer starts its move later than
it was pressed, and what the game accepts next counts from there. So each bracket holds for a player who
has pressed everything before it where the schedule says.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from core.model import Means
from core.timing.double_tap import best_aim
from core.timing.spread import TYPICAL, Spread
from core.timing.window import Window


@dataclass(frozen=True, slots=True)
class RhythmStep:
    """One move of a route, as it is pressed. Of the first one only `input`, `contact_frames` and
    `freeze_frames` count: its press is where time begins.

    `window`: the accepted gaps from the start of the move before, None where they are not known.
    `spacing_frames`: of a double tap; 0 is one press. `aim_gap`: where the press, or the first of two, should
    fall; None: where it lands most often. `contact_frames`: from the move's start to its contact.
    `freeze_frames`: the move's super freeze, which `core.timing` leaves out of the next move's window and
    `core.frames` out of its contact; 0 where theirs have it inside.
    """

    input: str
    means: Means | None = None
    window: Window | None = None
    spacing_frames: float = 0.0
    aim_gap: float | None = None
    contact_frames: int | None = None
    freeze_frames: int = 0


@dataclass(frozen=True, slots=True)
class TimedPress:
    """One step's press, in real frames from the first press, which is on frame 0.

    `frame`: the whole frame to press on; `aim_frames`: the exact aim that it is nearest to.
    `second_frame`: the second press of a double tap, None for one press. `first_frame` to `last_frame`:
    the presses that the game accepts, both counted. One before `at_once_frame` is held, and starts its
    move there; None: none is held. `start_frame`, `contact_frame`: of the move. `after`, `after_frame`:
    the step before, and its first press.
    """

    input: str
    means: Means | None
    frame: int
    aim_frames: float
    second_frame: int | None
    first_frame: int
    last_frame: int
    at_once_frame: int | None
    start_frame: int
    contact_frame: int | None
    after: str | None
    after_frame: int

    @property
    def frames(self) -> tuple[int, ...]:
        """The frames to press on: one or two."""
        return (self.frame,) if self.second_frame is None else (self.frame, self.second_frame)

    @property
    def gap_frames(self) -> int:
        """From the first press of the step before to this one."""
        return self.frame - self.after_frame


@dataclass(frozen=True, slots=True)
class Schedule:
    """The presses in order. `untold`: the moves from the first one on whose gaps are not known."""

    fps: float
    presses: tuple[TimedPress, ...]
    untold: tuple[str, ...] = ()

    def ms(self, frames: float) -> float:
        """Frames as milliseconds.

        >>> schedule([RhythmStep("5MP")], 60).ms(3)
        50.0
        """
        return frames * 1000 / self.fps

    @property
    def length_frames(self) -> int:
        """From the first press to the last one."""
        return max(frame for press in self.presses for frame in press.frames)


def schedule(steps: Sequence[RhythmStep], fps: float, spread: Spread = TYPICAL) -> Schedule:
    """The schedule of these steps. `spread`: the player's, which decides the aim of a double tap with a hole.

    A second press that would come no sooner than the next step's press is left out: by then the first
    has landed. Raises ValueError for no steps, an fps that is not above 0, a spacing below 0, and an aim
    that lands on no accepted frame.
    """
    if not steps:
        raise ValueError("A rhythm needs at least one move, so that there is a press.")
    if not 0 < fps < math.inf:
        raise ValueError(f"The frames of a second must be more than 0, not {fps}.")
    presses = [_first(steps[0])]
    origin = steps[0].freeze_frames
    for number, step in enumerate(steps[1:], start=1):
        if step.window is None:
            return Schedule(fps, tuple(presses), tuple(one.input for one in steps[number:]))
        before = presses[-1]
        press = _after(before, origin, step, step.window, spread)
        if before.second_frame is not None and before.second_frame >= press.frame:
            presses[-1] = replace(before, second_frame=None)
        presses.append(press)
        origin = press.start_frame + step.freeze_frames
    return Schedule(fps, tuple(presses))


def _first(step: RhythmStep) -> TimedPress:
    return TimedPress(
        input=step.input,
        means=None,
        frame=0,
        aim_frames=0.0,
        second_frame=None,
        first_frame=0,
        last_frame=0,
        at_once_frame=None,
        start_frame=0,
        contact_frame=_contact(step, 0),
        after=None,
        after_frame=0,
    )


def _after(before: TimedPress, origin: int, step: RhythmStep, window: Window, spread: Spread) -> TimedPress:
    """The press of a step whose window counts from the frame `origin`."""
    aim = step.aim_gap
    if aim is None:
        aim = best_aim(spread.frames(window.middle_gap), window, step.spacing_frames)
    spacing = _whole_spacing(step)
    gap = _nearest(step, window, aim, spacing)
    landing = gap if _accepted(window, gap) else gap + spacing
    start = origin + int(window.starts(landing))
    held = window.start_gap is not None and window.start_gap > window.first_gap
    return TimedPress(
        input=step.input,
        means=step.means,
        frame=origin + gap,
        aim_frames=origin + aim,
        second_frame=origin + gap + spacing if spacing else None,
        first_frame=origin + window.first_gap,
        last_frame=origin + window.last_gap,
        at_once_frame=origin + window.start_gap if held and window.start_gap is not None else None,
        start_frame=start,
        contact_frame=_contact(step, start),
        after=before.input,
        after_frame=before.frame,
    )


def _nearest(step: RhythmStep, window: Window, aim: float, spacing: int) -> int:
    """The whole gap nearest to the aim with which one of the presses is accepted.

    Of two as near the later one: people are a little early on a click (Repp 2005).
    """
    mended = 0 if window.early_chains else spacing
    landing = [
        gap
        for gap in range(max(1, window.first_gap - mended), window.last_gap + 1)
        if _accepted(window, gap) or (mended and _accepted(window, gap + mended))
    ]
    gap = min(landing, key=lambda gap: (abs(gap - aim), -gap))
    if step.aim_gap is not None and abs(gap - aim) > 0.5:
        raise ValueError(
            f"{step.input} cannot be aimed at the gap {aim:g}: {window.first_gap} to {window.last_gap} are "
            f"accepted, so aim there."
        )
    return gap


def _accepted(window: Window, gap: int) -> bool:
    return window.first_gap <= gap <= window.last_gap


def _whole_spacing(step: RhythmStep) -> int:
    """The spacing in whole frames: of two presses at least 1, as one a frame is read."""
    if not 0 <= step.spacing_frames < math.inf:
        raise ValueError(
            f"The spacing of a double tap must be 0 frames or more, not {step.spacing_frames:g}."
        )
    return max(1, math.floor(step.spacing_frames + 0.5)) if step.spacing_frames else 0


def _contact(step: RhythmStep, start: int) -> int | None:
    return None if step.contact_frames is None else start + step.freeze_frames + step.contact_frames
