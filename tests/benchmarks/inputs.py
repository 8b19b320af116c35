"""How fast inputs are read and planned, beside a plain reading and a plain search in the same run.

Run by hand: `python tests/benchmarks/inputs.py`. Each row is the best of several rounds.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Sequence
from heapq import heappop, heappush
from itertools import count
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from demo import demo, move, owner  # noqa: E402
from stopwatch import best_ms  # noqa: E402

from core.inputs import HAND_FRAMES, Frame, Plan, Wanted, plan  # noqa: E402
from core.inputs.commands import commands_of  # noqa: E402
from core.inputs.interpreter import Interpreter, State  # noqa: E402
from core.model import Character, Game, Motion  # noqa: E402

ROUTE = (("5LP", None), ("2LP", 7), ("5MP", 20), ("2MP", 22), ("623PP", None), ("236236HP", None))
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


def main() -> None:
    game = demo("saltglass")
    who = owner(game, "odrun")
    interpreter = Interpreter(game, commands_of(game, who))
    rng = random.Random(1)
    frames = [
        Frame(direction, frozenset({"HP"}) if n == 0 else frozenset())
        for direction in rng.choices((2, 3, 6, 4, 5), k=2000)
        for n in range(rng.randint(1, 4))
    ]
    presses = sum(bool(frame.pressed) for frame in frames)

    def ours() -> None:
        state = interpreter.start
        for frame in frames:
            state, _ = interpreter.step(state, frame)

    def plainly() -> None:
        for at, frame in enumerate(frames[:800]):
            if frame.pressed:
                history = [one.direction for one in frames[max(0, at - 120) : at + 1]]
                for motion in game.motions:
                    for form in motion.forms:
                        found_plainly(motion, form, history)

    ms = best_ms(ours, 3, 5)
    plain_presses = sum(bool(frame.pressed) for frame in frames[:800])
    plain_ms = best_ms(plainly, 1, 3)
    ratio = (presses / ms) / (plain_presses / plain_ms)
    print(f"interpreter: {presses / ms * 1000:,.0f} presses a second, {len(frames) / ms * 1000:,.0f} frames")
    print(
        f"the history read backwards: {plain_presses / plain_ms * 1000:,.0f} presses a second: x{ratio:.0f}"
    )

    for length in (2, 4, 6):
        wanted = [Wanted(move(who, written), gap) for written, gap in ROUTE[:length]]
        planned = plan(game, who, wanted)
        assert isinstance(planned, Plan)
        ms = best_ms(lambda wanted=wanted: plan(game, who, wanted), 2, 5)  # type: ignore[misc]
        print(f"plan of {length} moves: {ms:.1f} ms, {planned.directions} directions, {planned.saved} saved")
    short = (("2MP", None), ("236236HP", 24))
    wanted = [Wanted(move(who, written), gap) for written, gap in short]
    ms = best_ms(lambda: plan(game, who, wanted), 2, 5)
    started = time.perf_counter()
    plain = fewest_plainly(game, who, short)
    plain_ms = (time.perf_counter() - started) * 1000
    planned = plan(game, who, wanted)
    assert isinstance(planned, Plan)
    assert planned.directions == plain
    print(
        f"plan of 2MP, 236236HP: {ms:.1f} ms; "
        f"Dijkstra without bounds: {plain_ms:,.0f} ms: x{plain_ms / ms:.0f}"
    )


if __name__ == "__main__":
    main()
