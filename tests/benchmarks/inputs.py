"""How fast inputs are read and planned, beside a plain reading of the history and a plain search."""

from __future__ import annotations

import random
import time
from collections.abc import Sequence
from heapq import heappop, heappush
from itertools import count

from benchmarks.figures import Figure, alone, times_as_fast
from benchmarks.stopwatch import best_ms
from demo import demo, move, owner

from core.inputs import HAND_FRAMES, Frame, Plan, Wanted, plan
from core.inputs.commands import commands_of
from core.inputs.interpreter import Interpreter, State
from core.model import Character, Game, Motion

ROUTE = (("5LP", None), ("2LP", 7), ("5MP", 20), ("2MP", 22), ("623PP", None), ("236236HP", None))
SHORT = (("2MP", None), ("236236HP", 24))
TURNS, PLAIN_FRAMES = 2000, 800
Key = tuple[int, State, int, int]


def found_plainly(motion: Motion, form: str, directions: Sequence[int]) -> bool:
    """Whether a press on the last frame finds the form, read off the history backwards."""
    runs: list[tuple[int, int, int]] = []
    for number, direction in enumerate(directions):
        if runs and runs[-1][0] == direction:
            runs[-1] = (direction, runs[-1][1], number)
        else:
            runs.append((direction, number, number))
    step, button = motion.step_frames or 10, motion.button_frames or 10

    def ends(k: int, n: int) -> bool:
        if runs[n][0] != int(form[k]):
            return False
        return k == 0 or any(
            runs[n][1] - runs[m][2] <= step and ends(k - 1, m) for m in range(max(0, n - 2 * step), n)
        )

    last = len(directions) - 1
    return any(last - runs[n][1] <= button and ends(len(form) - 1, n) for n in range(len(runs)))


def fewest_plainly(game: Game, who: Character, route: Sequence[tuple[str, int | None]]) -> int:
    """Dijkstra over the same states without a bound or dominance: the directions needed."""
    interpreter = Interpreter(game, commands_of(game, who))
    commands = {command.move.input: command for command in interpreter.commands}
    number = count()
    start: Key = (0, interpreter.start, HAND_FRAMES, HAND_FRAMES)
    queue = [(0, 0, next(number), start)]
    seen: dict[Key, int] = {start: 0}
    useful = (5, 2, 3, 6)
    while queue:
        cost, _, _, key = heappop(queue)
        step, state, since_press, since_turn = key
        if seen[key] < cost:
            continue
        if step == len(route):
            return cost
        written, gap = route[step]
        since = since_press + 1 if gap is not None else min(since_press + 1, HAND_FRAMES)
        for direction in useful if since_turn >= HAND_FRAMES else (state.direction,):
            moved = interpreter.moved(state, direction)
            turned = direction != state.direction
            turn = 1 if turned else min(since_turn + 1, HAND_FRAMES)
            price = cost + (turned and direction != 5)
            after: list[Key] = []
            if (gap is None or since < gap) and interpreter.entered(moved) is None:
                after.append((step, moved, since, turn))
            if since >= HAND_FRAMES if gap is None else since == gap:
                found = interpreter.pressed(moved, commands[written].choices[0])
                if found is not None and found.command is commands[written]:
                    after.append((step + 1, interpreter.after(moved, found), 0, turn))
            for one in after:
                if seen.get(one, 10**9) > price:
                    seen[one] = price
                    heappush(queue, (price, -one[0], next(number), one))
    raise AssertionError("no plan")


def reading(game: Game, who: Character, turns: int, rounds: int) -> Figure:
    """A press that the interpreter reads, and one that is looked for in the history backwards."""
    interpreter = Interpreter(game, commands_of(game, who))
    rng = random.Random(1)
    frames = [
        Frame(direction, frozenset({"HP"}) if n == 0 else frozenset())
        for direction in rng.choices((2, 3, 6, 4, 5), k=turns)
        for n in range(rng.randint(1, 4))
    ]
    plain_frames = frames[:PLAIN_FRAMES]

    def ours() -> None:
        state = interpreter.start
        for frame in frames:
            state, _ = interpreter.step(state, frame)

    def plainly() -> None:
        for at, frame in enumerate(plain_frames):
            if frame.pressed:
                history = [one.direction for one in frames[max(0, at - 120) : at + 1]]
                for motion in game.motions:
                    for form in motion.forms:
                        found_plainly(motion, form, history)

    a_press = best_ms(ours, 3, rounds) / sum(bool(frame.pressed) for frame in frames)
    a_plain = best_ms(plainly, 1, rounds) / sum(bool(frame.pressed) for frame in plain_frames)
    what = "reading a press, beside reading the history backwards"
    return times_as_fast("inputs.reading", what, a_press, a_plain)


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of reading and of planning."""
    game = demo("saltglass")
    who = owner(game, "odrun")
    rounds = 1 if tiny else 5
    made = [reading(game, who, 20 if tiny else TURNS, rounds)]
    for length in (2,) if tiny else (2, 4, 6):
        wanted = [Wanted(move(who, written), gap) for written, gap in ROUTE[:length]]
        ms = best_ms(lambda wanted=wanted: plan(game, who, wanted), 2, rounds)  # type: ignore[misc]
        made.append(alone(f"inputs.plan_{length}", f"plan of a route of {length} moves", ms))
    short = SHORT[:1] if tiny else SHORT
    wanted = [Wanted(move(who, written), gap) for written, gap in short]
    ms = best_ms(lambda: plan(game, who, wanted), 2, rounds)
    started = time.perf_counter()
    plain = fewest_plainly(game, who, short)
    plain_ms = (time.perf_counter() - started) * 1000
    planned = plan(game, who, wanted)
    assert isinstance(planned, Plan)
    assert planned.directions == plain
    what = f"plan of {', '.join(written for written, _ in short)}, beside Dijkstra without bounds"
    return (*made, times_as_fast("inputs.plan_plain", what, ms, plain_ms))
