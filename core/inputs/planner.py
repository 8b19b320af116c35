"""A route as inputs: the fewest directions that bring out its moves and nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from core.inputs.commands import Command, command_of, commands_of
from core.inputs.directions import NEUTRAL, Facing, facing
from core.inputs.interpreter import Entered, Frame, Interpreter, Result, replayed
from core.inputs.needs import Target
from core.inputs.notes import Note, notes_of
from core.inputs.search import Path, Stuck, shortest
from core.model import Character, Game, Move
from core.notation import read_input

LIMIT = 100_000
"""States looked at before a plan is given up: some seconds."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """A move of the route. Its press comes `least_frames` to `most_frames` after the one before (one
    of them alone stands for both); with neither it may be entered early: as soon as hands can."""

    move: Move
    least_frames: int | None = None
    most_frames: int | None = None


@dataclass(frozen=True, slots=True)
class Shared:
    """A direction taken a second time, and the numbers (from 0) of the presses that took it before."""

    entered: Entered
    presses: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PlannedPress:
    """One press, or a motion without a button, on `frame` counted from the plan's first (0).

    `buttons` go down together (`keep`: and stay down) while `held` is held. `entered` are the
    directions since the press before, up to this one; neutral (5) stands for letting go. `form` and
    `took` are what the game reads: see `Result`. `alone`: directions it takes by itself.
    """

    move: Move
    frame: int
    buttons: tuple[str, ...]
    keep: bool
    held: int
    entered: tuple[Entered, ...]
    form: str | None
    took: tuple[Entered, ...]
    shared: tuple[Shared, ...]
    alone: int


@dataclass(frozen=True, slots=True)
class Plan:
    """A route's inputs, as entered on the side the player faces.

    `frames` is what the hands do, frame by frame; `directions` how many are entered, neutral not
    counted; `notes` what to take care of.
    """

    presses: tuple[PlannedPress, ...]
    frames: tuple[Frame, ...]
    directions: int
    notes: tuple[Note, ...]

    @property
    def inputs(self) -> int:
        """Directions and presses together."""
        return self.directions + sum(bool(press.buttons) for press in self.presses)

    @property
    def alone(self) -> int:
        """The directions it would take to enter each move by itself."""
        return sum(press.alone for press in self.presses)

    @property
    def saved(self) -> int:
        """How many directions sharing saves."""
        return self.alone - self.directions


@dataclass(frozen=True, slots=True)
class NoPlan:
    """Why there is none: the move (by its number from 0) that cannot be entered, `unreadable` where
    the game has no input for it, and whether all was tried (else the search stopped at its limit)."""

    step: int
    unreadable: bool = False
    complete: bool = True


def plan(
    game: Game,
    character: Character,
    moves: Sequence[Wanted],
    side: Facing = Facing.RIGHT,
    scheme: str | None = None,
    held: int = NEUTRAL,
    limit: int = LIMIT,
) -> Plan | NoPlan:
    """The fewest directions and presses with which exactly these moves come out, in this order.

    `held`: the direction held long before, as entered on this side. `limit`: at most so many states are
    looked at before it is given up. Raises ValueError for no moves.
    """
    if not moves:
        raise ValueError("A plan needs a move.")
    commands = commands_of(game, character, scheme)
    targets: list[Target] = []
    for number, wanted in enumerate(moves):
        command = command_of(game, commands, wanted.move, scheme)
        if command is None:
            return NoPlan(number, unreadable=True)
        targets.append(_target(command, wanted))
    interpreter = Interpreter(game, _concerned(commands, targets))
    start = facing(held, side)
    found = shortest(interpreter, targets, start, limit)
    if isinstance(found, Stuck):
        return NoPlan(found.reached, complete=found.complete)
    alone: dict[Command, Path] = {}
    for target in targets:
        if target.command not in alone:
            path = shortest(interpreter, [Target(target.command)], limit=LIMIT)
            if isinstance(path, Stuck):
                return NoPlan(targets.index(target), complete=path.complete)
            alone[target.command] = path
    early = [wanted.least_frames is None and wanted.most_frames is None for wanted in moves]
    notes = notes_of(interpreter, targets, early, found, alone, start, side)
    order = {button.name: place for place, button in enumerate(game.buttons)}
    presses = _presses(interpreter, targets, found, alone, order, start)
    kept = [_keeps(game, wanted.move.under(scheme)) for wanted in moves]
    return Plan(
        tuple(_facing(replace(press, keep=keep), side) for press, keep in zip(presses, kept, strict=True)),
        tuple(replace(frame, direction=facing(frame.direction, side)) for frame in found.frames),
        found.directions,
        notes,
    )


def _target(command: Command, wanted: Wanted) -> Target:
    least, most = wanted.least_frames, wanted.most_frames
    if least is None and most is None:
        return Target(command)
    first = most if least is None else least
    last = least if most is None else most
    assert first is not None
    assert last is not None
    if not 0 < first <= last:
        raise ValueError(f"{command.move.input} cannot be pressed {first} to {last} frames after a press.")
    return Target(command, first, last)


def _concerned(commands: Sequence[Command], targets: Sequence[Target]) -> list[Command]:
    """The commands that can come out while these targets are entered."""
    return [
        command
        for command in commands
        if not command.choices
        or any(command.fits(b, t.command.airborne) for t in targets for b in t.command.choices)
    ]


def _keeps(game: Game, move: Move) -> bool:
    return read_input(move.input, game.buttons).held


def _presses(
    interpreter: Interpreter,
    targets: Sequence[Target],
    path: Path,
    alone: dict[Command, Path],
    order: dict[str, int],
    start: int,
) -> list[PlannedPress]:
    results = _results(interpreter, path, start)
    presses: list[PlannedPress] = []
    taken: dict[Entered, list[int]] = {}
    turns = _turns(path.frames, start)
    since = -1
    for number, (target, frame) in enumerate(zip(targets, path.presses, strict=True)):
        result = results.get(frame)
        took = result.took if result else ()
        shared = tuple(Shared(one, tuple(taken[one])) for one in took if one in taken)
        neutral_only = result is not None and result.form is None and NEUTRAL in target.command.directions
        if not neutral_only:
            for one in took:
                taken.setdefault(one, []).append(number)
        presses.append(
            PlannedPress(
                target.command.move,
                frame,
                tuple(sorted(path.frames[frame].pressed, key=order.__getitem__)),
                False,
                path.frames[frame].direction,
                tuple(turn for turn in turns if since < turn.frame <= frame),
                result.form if result else None,
                took,
                () if neutral_only else shared,
                alone[target.command].directions,
            )
        )
        since = frame
    return presses


def _results(interpreter: Interpreter, path: Path, start: int) -> dict[int, Result]:
    """What the interpreter makes of the path, by frame. What was held before it counts as held long."""
    before = [] if start == NEUTRAL else [Frame(start)] * interpreter.longest_memory
    shift = len(before)
    results = replayed(interpreter, [*before, *path.frames])
    return {
        result.frame - shift: replace(
            result, took=tuple(replace(one, frame=one.frame - shift) for one in result.took)
        )
        for result in results
        if result.frame >= shift
    }


def _turns(frames: Sequence[Frame], start: int) -> list[Entered]:
    turns = []
    direction = start
    for number, frame in enumerate(frames):
        if frame.direction != direction:
            direction = frame.direction
            turns.append(Entered(direction, number))
    return turns


def _facing(press: PlannedPress, side: Facing) -> PlannedPress:
    def seen(one: Entered) -> Entered:
        return replace(one, direction=facing(one.direction, side))

    return replace(
        press,
        held=facing(press.held, side),
        entered=tuple(map(seen, press.entered)),
        took=tuple(map(seen, press.took)),
        shared=tuple(replace(shared, entered=seen(shared.entered)) for shared in press.shared),
    )
