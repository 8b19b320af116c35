"""What to take care of when a plan is entered: codes with facts, which `bot/render` puts into words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from core.inputs.commands import BUTTON_FRAMES, LONGEST_WINDOW, STEP_FRAMES, Command
from core.inputs.directions import NEUTRAL, Facing, facing
from core.inputs.interpreter import Frame, Interpreter, State
from core.inputs.needs import HAND_FRAMES, Target
from core.inputs.search import Path
from core.verdict import Facts

_HELD_BEFORE = (6, 4, 2, 3, 1)
"""What players hold before a route: walking, or crouching."""


class NoteCode(StrEnum):
    """Every note there is. In all facts, `press` is the number of the press from 0, `move` its move."""

    RIGHT_AFTER = "right-after"
    """Enter `move` right after the press of `after`; do not wait to see it."""
    NOT_AT_ONCE = "not-at-once"
    """The press must come at least `frames` after the one of `after`: a charge, or what was entered
    before, needs that long."""
    KEEP_HELD = "keep-held"
    """Keep `direction` held from the press of `after` for `frames`: it is the first of `move`."""
    SHARED_GIVES_WRONG = "shared-gives-wrong"
    """Going straight on after `after` with only `directions`, which would do for `move`, gives
    `instead` (empty: nothing)."""
    WHOLE_GIVES_WRONG = "whole-gives-wrong"
    """Entering the whole of `directions` right after `after` gives `instead`."""
    HELD_GIVES_WRONG = "held-gives-wrong"
    """Holding `direction` and then entering `directions` gives `instead`."""
    WINDOW_ASSUMED = "window-assumed"
    """The game file does not give `field` of `motion`; `frames` is taken."""


@dataclass(frozen=True, slots=True)
class Note:
    """One note. Where something wrong comes out, `neutral_frames`, if it is there, is how long to let
    go first so that all of the move's directions, entered then, bring it out."""

    code: NoteCode
    facts: Facts


def notes_of(
    interpreter: Interpreter,
    targets: Sequence[Target],
    early: Sequence[bool],
    path: Path,
    alone: dict[Command, Path],
    start: int,
    side: Facing,
) -> tuple[Note, ...]:
    """The notes on a path; `start` is what was held before it, seen facing right."""
    notes = list(_assumed(targets))
    first = targets[0].command
    for direction in _HELD_BEFORE:
        state = interpreter.resting(direction)
        instead = _wrong(interpreter, state, alone[first].frames, first)
        if instead is not None:
            facts = Facts(
                press=0,
                move=first.move.input,
                instead=instead,
                direction=facing(direction, side),
                directions=_digits(alone[first].frames, direction, side),
            )
            facts = _with_neutral(interpreter, state, alone[first].frames, first, facts)
            notes.append(Note(NoteCode.HELD_GIVES_WRONG, facts))
    state = interpreter.resting(start)
    presses = dict.fromkeys(path.presses)
    states: list[State] = []
    for number, frame in enumerate(path.frames):
        state, _ = interpreter.step(state, frame)
        if number in presses:
            states.append(state)
    for number in range(1, len(targets)):
        notes += _after(interpreter, targets, early, path, alone, states[number - 1], number, side)
    return tuple(notes)


def _assumed(targets: Sequence[Target]) -> Iterator[Note]:
    for motion in {t.command.motion.name: t.command.motion for t in targets if t.command.motion}.values():
        usual = [("step_frames", motion.step_frames, STEP_FRAMES)]
        if any(t.command.motion == motion and t.command.choices for t in targets):
            usual.append(("button_frames", motion.button_frames, BUTTON_FRAMES))
        for field, given, frames in usual:
            if given is None:
                yield Note(NoteCode.WINDOW_ASSUMED, Facts(motion=motion.name, field=field, frames=frames))


def _after(
    interpreter: Interpreter,
    targets: Sequence[Target],
    early: Sequence[bool],
    path: Path,
    alone: dict[Command, Path],
    state: State,
    number: int,
    side: Facing,
) -> Iterator[Note]:
    """The notes on one press after the first; `state` is the one after the press before."""
    command = targets[number].command
    about = Facts(press=number, move=command.move.input, after=targets[number - 1].command.move.input)
    begin, end = path.presses[number - 1], path.presses[number]
    if early[number]:
        turns = sum(a.direction != b.direction for a, b in pairwise(path.frames[begin : end + 1]))
        at_once = end - begin <= HAND_FRAMES * (turns + 1)
        code = NoteCode.RIGHT_AFTER if at_once else NoteCode.NOT_AT_ONCE
        yield Note(code, about if at_once else about.plus(frames=end - begin))
    kept = next((n for n in range(begin + 1, end + 1) if path.frames[n].direction != state.direction), end)
    if command.motion and state.direction != NEUTRAL and kept - begin > HAND_FRAMES:
        firsts = {form for form in command.motion.forms if str(state.direction) in form[:-1]}
        if firsts:
            facts = about.plus(direction=facing(state.direction, side), frames=kept - begin - 1)
            yield Note(NoteCode.KEEP_HELD, facts)
    whole = alone[command].frames
    wait = 0 if early[number] else max(end - begin - len(whole), 0)
    waited = state
    for _ in range(wait):
        waited = interpreter.moved(waited, state.direction)
    for short in _shortened(interpreter, command, waited):
        instead = _wrong(interpreter, waited, short, command)
        if instead is not None:
            facts = about.plus(instead=instead, directions=_digits(short, waited.direction, side))
            facts = _with_neutral(interpreter, state, whole, command, facts)
            yield Note(NoteCode.SHARED_GIVES_WRONG, facts)
            break
    instead = _wrong(interpreter, waited, whole, command)
    if instead is not None:
        facts = about.plus(instead=instead, directions=_digits(whole, waited.direction, side))
        facts = _with_neutral(interpreter, state, whole, command, facts)
        yield Note(NoteCode.WHOLE_GIVES_WRONG, facts)


def _shortened(interpreter: Interpreter, command: Command, state: State) -> Iterator[tuple[Frame, ...]]:
    """What a player enters who relies on the directions that are there already: for each form that
    has begun, the rest of it."""
    if command.motion is None:
        return
    for form, first in interpreter.forms_of(command.motion):
        come = max((n for n in range(len(form)) if state.progress[first + n]), default=-1) + 1
        if 0 < come < len(form):
            rest = [int(digit) for digit in form[come:]]
            turns = [Frame(digit) for digit in rest[:-1] for _ in range(HAND_FRAMES)]
            yield (*turns, Frame(rest[-1], next(iter(command.choices), frozenset()), command.airborne))


def _wrong(interpreter: Interpreter, state: State, frames: Sequence[Frame], command: Command) -> str | None:
    """What comes out instead of the command (nothing: empty); None where it comes out, alone."""
    for frame in frames:
        state, found = interpreter.step(state, frame)
        if found is not None and found.command is not command:
            return found.move.input
        if found is not None:
            return None
    return ""


def _with_neutral(
    interpreter: Interpreter, state: State, whole: Sequence[Frame], command: Command, facts: Facts
) -> Facts:
    """The facts, with the fewest frames of neutral after which the whole motion is safe."""
    for frames in range(1, LONGEST_WINDOW + 2):
        state = interpreter.moved(state, NEUTRAL)
        if _wrong(interpreter, state, whole, command) is None:
            return facts.plus(neutral_frames=frames)
    return facts


def _digits(frames: Sequence[Frame], held: int, side: Facing) -> str:
    """The directions that these frames enter, neutral left out."""
    digits = ""
    for frame in frames:
        if frame.direction not in (held, NEUTRAL):
            digits += str(facing(frame.direction, side))
        held = frame.direction
    return digits
