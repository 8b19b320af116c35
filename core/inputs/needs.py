"""How many directions are needed at least, whatever the timing: what guides the search and keeps it exact.

The bound forgets ages and every move that could come out instead. It keeps how far each form has
come, and two facts about time: a form that is complete must be completed anew where the next press
comes later than its window, and one that lacks its last direction alone, and does not hold the one
before it, is lost where the next press comes later than both windows. Progress then only grows, so
each press is made as soon as it can be, and the bound is a shortest path over small tuples. Where
the motion before outranks the next one for the same buttons, the next must be completed after it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from core.inputs.commands import Command
from core.inputs.directions import NEUTRAL
from core.inputs.interpreter import Interpreter, State, window_of
from core.model import Motion

HAND_FRAMES = 2
"""Fewest frames between two different directions, and between two presses (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Target:
    """A move to come out from `least_frames` to `most_frames` after the one before (None: no most)."""

    command: Command
    least_frames: int = HAND_FRAMES
    most_frames: int | None = None


@dataclass(frozen=True, slots=True)
class _Form:
    """One form of a motion that is still to come: its digits, its place in a state, and the step
    after which it is needed no more."""

    digits: tuple[int, ...]
    first: int
    last_step: int
    firsts: frozenset[int]
    window_frames: tuple[int, int]


class Needs:
    """The bound for these targets; it remembers what it has worked out."""

    def __init__(self, interpreter: Interpreter, targets: Sequence[Target]) -> None:
        self._targets = tuple(targets)
        self._uses_up = interpreter.uses_up
        last_steps = {t.command.motion.name: n for n, t in enumerate(targets) if t.command.motion}
        motions = {t.command.motion.name: t.command.motion for t in targets if t.command.motion}
        self._forms: list[_Form] = []
        self._own: dict[str, tuple[int, ...]] = {}
        for name, motion in motions.items():
            forms = interpreter.forms_of(motion)
            self._own[name] = tuple(range(len(self._forms), len(self._forms) + len(forms)))
            firsts = frozenset(int(form[0]) for form, _ in forms if motion.charge_frames)
            self._forms += [
                _Form(tuple(map(int, form)), first, last_steps[name], firsts, window_of(motion))
                for form, first in forms
            ]
        self._known: dict[tuple[int, int, tuple[int, ...]], int] = {}
        self._seen: dict[tuple[int, State], int] = {}

    def least(self, step: int, state: State) -> int:
        """A lower bound on the directions still to be entered before the last target is out."""
        key = step, state
        if key not in self._seen:
            later = self._completed_later(step, state)
            self._seen[key] = self._least(step + later, state.direction, self._come(step, state))
        return self._seen[key]

    def _come(self, step: int, state: State) -> tuple[int, ...]:
        """How many directions of each form are there already."""
        progress = state.progress
        come = []
        for form in self._forms:
            count = len(form.digits) if form.last_step >= step else 0
            while count and not progress[form.first + count - 1]:
                count -= 1
            count = max(count, int(form.last_step >= step and state.direction in form.firsts))
            come.append(_past_neutral(form, count))
        return tuple(come)

    def _least(self, step: int, direction: int, come: tuple[int, ...]) -> int:
        if step == len(self._targets):
            return 0
        key = step, direction, come
        found = self._known.get(key)
        if found is None:
            if self._ready(step, direction, come):
                found = self._least(step + 1, direction, self._after(step, direction, come))
            else:
                found = min(
                    (1 + self._least(step, turn, after) for turn, after in self._turns(step, come)),
                    default=0,
                )
            self._known[key] = found
        return found

    def _ready(self, step: int, direction: int, come: tuple[int, ...]) -> bool:
        command = self._targets[step].command
        if command.motion is None:
            return NEUTRAL in command.directions or direction in command.directions
        return any(come[n] == len(self._forms[n].digits) for n in self._own[command.motion.name])

    def _turns(self, step: int, come: tuple[int, ...]) -> list[tuple[int, tuple[int, ...]]]:
        """The directions that bring anything, and how far each form has come then."""
        command = self._targets[step].command
        held = command.directions if command.motion is None else frozenset()
        turns = {form.digits[n] for form, n in zip(self._forms, come, strict=True) if n < len(form.digits)}
        found = [(turn, self._entered(step, turn, come)) for turn in sorted((turns | held) - {NEUTRAL})]
        return [(turn, after) for turn, after in found if after != come or turn in held]

    def _entered(self, step: int, turn: int, come: tuple[int, ...]) -> tuple[int, ...]:
        after = []
        for form, n in zip(self._forms, come, strict=True):
            grows = (
                form.last_step >= step
                and n < len(form.digits)
                and (form.digits[n] == turn or (n == 0 and turn in form.firsts))
            )
            after.append(_past_neutral(form, n + 1) if grows else n)
        return tuple(after)

    def _completed_later(self, step: int, state: State) -> bool:
        """Whether this motion and the next are complete, the next one last: then only what comes
        after this press is bounded, for the next motion need not be completed anew."""
        if step + 1 >= len(self._targets) or not self._outranked(step):
            return False
        first, second = (self._age(self._targets[n].command.motion, state) for n in (step, step + 1))
        return second < first < inf

    def _age(self, motion: Motion | None, state: State) -> float:
        """Frames since the motion was completed; infinite where it is not."""
        if motion is None:
            return inf
        left = max(
            state.progress[self._forms[n].first + len(self._forms[n].digits) - 1]
            for n in self._own[motion.name]
        )
        return window_of(motion)[1] + 1 - left if left else inf

    def _outranked(self, step: int) -> bool:
        """Whether the motion that has just come out, while it still counts, comes out for the next
        press too, so that the next motion must be completed after that one counts no more."""
        mine, other = self._targets[step + 1].command, self._targets[step].command
        if mine.motion is None or other.motion is None or mine.motion.priority >= other.motion.priority:
            return False
        if not all(other.fits(buttons, mine.airborne) for buttons in mine.choices):
            return False
        return window_of(mine.motion)[1] <= window_of(other.motion)[1]

    def _after(self, step: int, direction: int, come: tuple[int, ...]) -> tuple[int, ...]:
        """How far each form has come for the next target, once this one is out."""
        if step + 1 == len(self._targets):
            return come
        if self._uses_up and self._targets[step].command.motion:
            # All is gone, but a direction that stays held charges anew.
            return tuple(int(form.last_step > step and direction in form.firsts) for form in self._forms)
        gap_frames = self._targets[step + 1].least_frames
        after = []
        for form, n in zip(self._forms, come, strict=True):
            step_frames, button_frames = form.window_frames
            length = len(form.digits)
            if form.last_step <= step:
                n = 0
            elif (gap_frames > button_frames or (n == length and self._outranked(step))) and n >= length - 1:
                n = length - 1
                held = n and (form.digits[n - 1] == direction or (n == 1 and direction in form.firsts))
                if gap_frames > step_frames + button_frames and not held and NEUTRAL not in form.digits:
                    n = max(n - 1, 0)
            after.append(n)
        return tuple(after)


def _past_neutral(form: _Form, count: int) -> int:
    """The directions that are there, with the neutral after them: letting go is free."""
    while 0 < count < len(form.digits) and form.digits[count] == NEUTRAL:
        count += 1
    return count
