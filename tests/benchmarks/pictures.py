"""What a picture costs through the pool of worker processes, beside drawing it here and an empty task.

Run by hand: `python tests/benchmarks/pictures.py`. "turn" is the longest time in which the event loop did not
turn while pictures were drawn.
"""

from __future__ import annotations

import asyncio
import os
import statistics
import sys
import time
from collections.abc import Callable
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from demo import demo  # noqa: E402
from stopwatch import best_ms  # noqa: E402

from bot.render.pictures import (  # noqa: E402
    beside_picture,
    progress_picture,
    rhythm_picture,
    sides_picture,
    warm_up,
)
from bot.results.practice import Beside, LinkSides, WeekPoint  # noqa: E402
from bot.results.tally import Subject, SubjectKind  # noqa: E402
from bot.services.opening import terminal_route  # noqa: E402
from bot.services.playing import clicks_of, inputs_of, timed  # noqa: E402
from bot.worker import WorkerPool  # noqa: E402
from core.inputs import Facing  # noqa: E402
from core.learning.calendar import Week  # noqa: E402
from core.learning.rates import measure  # noqa: E402
from core.notation import book_of  # noqa: E402
from core.timing import Window  # noqa: E402

ROUNDS = 20
TURN_SECONDS = 0.001


def week(number: int, in_match: bool) -> WeekPoint:
    rate = measure(10 + number % 10, 25)
    monday = date(2024, 1, 1) + timedelta(weeks=number)
    return WeekPoint(Week.of(monday), in_match, 25, 10 + number % 10, rate.low, rate.high)


LINK = LinkSides(
    Subject("Saltglass", "Odrun", SubjectKind.LINK, "5MP, 2MP"), Window(20, 22), 12, 80, 5, 3, -1.3, 2.1
)
SALT = demo("saltglass")
ROUTE = terminal_route(SALT, SALT.characters[0], book_of(SALT, SALT.characters[0]).route("5MP, 2MP xx 236HP"))
SHEET = timed(ROUTE)
ROW = Beside("5MP, 2MP", measure(80, 100), measure(5, 10))
PICTURES: list[tuple[str, Callable[..., bytes], tuple[Any, ...]]] = [
    ("progress, 12 weeks", progress_picture, ("5MP, 2MP", tuple(week(n, False) for n in range(12)), 0.8)),
    (
        "progress, 104 weeks, twice",
        progress_picture,
        ("5MP, 2MP", tuple(week(n, both) for n in range(104) for both in (False, True)), 0.8),
    ),
    ("sides, 1 link", sides_picture, ((LINK,),)),
    ("sides, 8 links", sides_picture, ((LINK,) * 8,)),
    ("beside, 1 row", beside_picture, ((ROW,),)),
    ("beside, 8 rows", beside_picture, ((ROW,) * 8,)),
    ("rhythm sheet, 3 moves", rhythm_picture, ("5MP, 2MP xx 236HP", SHEET.schedule)),
]


async def through(pool: WorkerPool, work: Callable[..., object], *arguments: Any) -> str:
    times = []
    for _ in range(ROUNDS):
        started = time.perf_counter()
        await pool.run(work, *arguments)
        times.append((time.perf_counter() - started) * 1000)
    return f"best {min(times):6.1f} ms   median {statistics.median(times):6.1f} ms"


async def watch(turns: list[float]) -> None:
    """Note how much later than asked each turn of the event loop came, in ms."""
    while True:
        started = time.perf_counter()
        await asyncio.sleep(TURN_SECONDS)
        turns.append((time.perf_counter() - started - TURN_SECONDS) * 1000)


async def main() -> None:
    pool = WorkerPool(warm_up)
    turns: list[float] = []
    watching = asyncio.create_task(watch(turns))
    started = time.perf_counter()
    pool.start()
    await pool.run(os.getpid)
    print(f"{'from start to a warm process':28} {(time.perf_counter() - started) * 1000:6.0f} ms")
    print(f"{'a task that does nothing':28} {await through(pool, os.getpid)}")
    for name, picture, arguments in PICTURES:
        print(f"{name:28} {await through(pool, picture, *arguments)}")
    started = time.perf_counter()
    await asyncio.gather(*(pool.run(PICTURES[0][1], *PICTURES[0][2]) for _ in range(20)))
    print(f"{'20 at once, each':28} {(time.perf_counter() - started) * 50:6.1f} ms")
    print(f"{'longest turn':28} {max(turns):6.1f} ms")
    watching.cancel()
    await pool.close()
    warm_up()
    for name, picture, arguments in PICTURES:
        here_ms = best_ms(partial(picture, *arguments), 1, ROUNDS)
        print(f"{name:28} best {here_ms:6.1f} ms, drawn here")
    sheet = inputs_of(SHEET, Facing.RIGHT, None)
    for name, work in (
        ("its inputs", partial(inputs_of, SHEET, Facing.RIGHT, None)),
        ("its click track, 4 times", partial(clicks_of, sheet, 1.0, 4)),
    ):
        print(f"{name:28} best {best_ms(work, 1, ROUNDS):6.1f} ms, made here")


if __name__ == "__main__":
    asyncio.run(main())
