"""The fewest directions that make moves come out in a row: a shortest path over interpreter states.

Frame by frame the stick stays or goes on, and the next press is made or not; a path ends where anything
else comes out. The cost is the number of directions entered (letting go to neutral is free), and among
equals how many of them are entered before a press that needs none: a player enters a motion after
the press it does not belong to. `needs` bounds what is still to come, so few states are looked at,
and a state is dropped beside one that cost no more and is as good in every respect: both counts stay
exact. Among the paths that are left the search takes the one whose presses come soonest, step by step;
that choice is not searched to the end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

from core.inputs.commands import Command
from core.inputs.directions import NEUTRAL
from core.inputs.interpreter import Frame, Interpreter, State
from core.inputs.needs import HAND_FRAMES, Needs, Target


@dataclass(frozen=True, slots=True)
class Path:
    """What the hands do on each frame, the frame on which each target comes out, the directions
    entered in all, and how many states were looked at."""

    frames: tuple[Frame, ...]
    presses: tuple[int, ...]
    directions: int
    explored: int


@dataclass(frozen=True, slots=True)
class Stuck:
    """No path: the first `reached` targets can come out in a row. `complete`: there is none at all;
    else the search stopped at its limit."""

    reached: int
    complete: bool
    explored: int


@dataclass(slots=True, eq=False)
class _Node:
    """`step`: the target that is next. `since_press` and `since_turn`: frames, counted no further
    than they matter. `begun`: a direction has changed since the last press. `astray`: of the
    `directions`, those entered before a press that needs none. `effort` is the frames
    passed, a wait before a press whose time is given left out, and a little for every return to neutral."""

    step: int
    state: State
    since_press: int
    since_turn: int
    begun: bool
    directions: int = 0
    astray: int = 0
    effort: int = 0
    frame: Frame | None = None
    before: _Node | None = None
    beaten: bool = False
    standing: int = 0


def shortest(
    interpreter: Interpreter, targets: Sequence[Target], held: int = NEUTRAL, limit: int = 1_000_000
) -> Path | Stuck:
    """A path of the fewest directions. `held`: the direction held since long before the first frame.
    At most `limit` states are looked at."""
    needs = Needs(interpreter, targets)
    turns = _useful(targets)
    views = [_View.of(interpreter, targets[step:]) for step in range(len(targets) + 1)]
    fronts: dict[object, list[_Node]] = {}
    node = _Node(0, interpreter.resting(held), targets[0].least_frames, HAND_FRAMES, False)
    queue = [(needs.least(0, node.state), 0, 0, 0, 0, node)]
    explored = reached = made = 0
    while queue:
        *_, node = heappop(queue)
        if node.beaten:
            continue
        reached = max(reached, node.step)
        if node.step == len(targets):
            return _path(node, explored)
        if explored == limit:
            return Stuck(reached, False, explored)
        explored += 1
        for after in _next(interpreter, targets[node.step], node, turns):
            if not _stands(after, views[after.step], fronts):
                continue
            made += 1
            least = needs.least(after.step, after.state)
            effort = after.effort + least * HAND_FRAMES
            heappush(queue, (after.directions + least, after.astray, -after.step, effort, made, after))
    return Stuck(reached, True, explored)


def _next(interpreter: Interpreter, target: Target, node: _Node, useful: Sequence[int]) -> Iterator[_Node]:
    """What one more frame can bring: the press, where it is time, and none."""
    state, least, most = node.state, target.least_frames, target.most_frames
    since = node.since_press + 1 if most is not None else min(node.since_press + 1, least)
    turns = useful if node.since_turn >= HAND_FRAMES else (state.direction,)
    waits = most is not None and not node.begun
    at_rest = target.command.motion is None and NEUTRAL in target.command.directions
    for direction in turns:
        moved = interpreter.moved(state, direction)
        turned = direction != state.direction
        since_turn = 1 if turned else min(node.since_turn + 1, HAND_FRAMES)
        counts = turned and direction != NEUTRAL
        directions, astray = node.directions + counts, node.astray + (counts and at_rest)
        effort = node.effort + HAND_FRAMES * (turned and direction == NEUTRAL)
        if since >= least:
            out = _out(interpreter, target.command, moved)
            if out is not None:
                used, buttons = out
                frame = Frame(direction, buttons, target.command.airborne)
                yield _Node(
                    node.step + 1, used, 0, since_turn, False, directions, astray, effort + 1, frame, node
                )
        if (most is None or since < most) and interpreter.entered(moved) is None:
            effort += not (waits and not turned)
            begun = most is not None and (node.begun or turned)
            frame = Frame(direction)
            yield _Node(node.step, moved, since, since_turn, begun, directions, astray, effort, frame, node)


def _out(interpreter: Interpreter, command: Command, state: State) -> tuple[State, frozenset[str]] | None:
    """The state once this command comes out on the frame of `state`, and its buttons; None where
    it does not."""
    for buttons in command.choices:
        found = interpreter.pressed(state, buttons, command.airborne)
        if found is not None and found.command is command:
            return interpreter.after(state, found), buttons
    if command.choices:
        return None
    found = interpreter.entered(state)
    if command.motion is None:
        held = found is None and state.direction == command.direction
        return (state, frozenset()) if held else None
    if found is None or found.command is not command:
        return None
    return interpreter.after(state, found), frozenset()


def _useful(targets: Sequence[Target]) -> tuple[int, ...]:
    """The directions worth entering. Any other does to the game what neutral does, or harm."""
    found = {NEUTRAL: None}
    for target in targets:
        command = target.command
        if command.motion:
            found |= dict.fromkeys(int(digit) for form in command.motion.forms for digit in form)
        elif NEUTRAL not in command.directions:
            found |= dict.fromkeys([command.direction, *sorted(command.directions)])
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _View:
    """The bytes of a state that can still matter: those that help a target to come out alone,
    those that can only bring something else out, and those that can do both."""

    helping: tuple[int, ...]
    harming: tuple[int, ...]
    both: tuple[int, ...]
    guard: int

    @staticmethod
    def of(interpreter: Interpreter, targets: Sequence[Target]) -> _View:
        """What matters while these targets are still to come."""
        helping: set[int] = set()
        harming: set[int] = set()
        for target in targets:
            command = target.command
            if command.motion:
                helping |= interpreter.places_of(command.motion)
            for other in interpreter.commands:
                if other.motion and other is not command and _rivals(other, command):
                    harming |= interpreter.places_of(other.motion)
        both = helping & harming
        lanes = 3 + len(helping ^ harming)
        guard = sum(1 << 16 * lane + 15 for lane in range(lanes))
        return _View(tuple(sorted(helping - both)), tuple(sorted(harming - both)), tuple(sorted(both)), guard)


def _rivals(other: Command, command: Command) -> bool:
    """Whether the other command can come out in this one's place."""
    assert other.motion
    if not other.choices:
        return True
    if not any(other.fits(buttons, command.airborne) for buttons in command.choices):
        return False
    mine = command.motion
    return mine is None or (other.motion.name != mine.name and other.motion.priority >= mine.priority)


def _stands(node: _Node, view: _View, fronts: dict[object, list[_Node]]) -> bool:
    """Whether no known node is as good in every respect; those that this one beats are dropped."""
    state, progress = node.state, node.state.progress
    alike = bytes([progress[place] for place in view.both])
    key = node.step, state.direction, node.since_press, node.begun, state.charged_frames, alike
    values = [255 - min(node.directions, 255), 255 - min(node.astray, 255), node.since_turn]
    values += [progress[place] for place in view.helping]
    values += [255 - progress[place] for place in view.harming]
    # Two bytes a value, the high one free for a borrow: one subtraction compares them all.
    node.standing = standing = int.from_bytes(b"\0".join(_BYTES[value] for value in values))
    guard = view.guard
    front = fronts.get(key)
    if front is None:
        fronts[key] = [node]
        return True
    for other in front:
        if ((other.standing | guard) - standing) & guard == guard:
            return False
    guarded, kept = standing | guard, [node]
    for other in front:
        if (guarded - other.standing) & guard == guard:
            other.beaten = True
        else:
            kept.append(other)
    fronts[key] = kept
    return True


_BYTES = [bytes([value]) for value in range(256)]


def _path(node: _Node, explored: int) -> Path:
    directions, frames, presses = node.directions, [], []
    while node.before is not None and node.frame is not None:
        frames.append(node.frame)
        presses.append(node.step > node.before.step)
        node = node.before
    made = tuple(number for number, press in enumerate(reversed(presses)) if press)
    return Path(tuple(reversed(frames)), made, directions, explored)
