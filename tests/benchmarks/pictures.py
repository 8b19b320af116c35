"""What a picture costs through the pool of worker processes, beside drawing it here.

The longest turn is how much later than asked the event loop turned while pictures were drawn.
"""

from __future__ import annotations

import asyncio
import os
import time
from collections.abc import Callable
from datetime import date, timedelta
from functools import partial
from typing import Any

from benchmarks.figures import Figure, alone, beside
from benchmarks.stopwatch import best_ms, middle
from demo import demo
from inline import InlineWorker

from bot.ports import Worker
from bot.render.pictures import (
    beside_picture,
    progress_picture,
    rhythm_picture,
    sides_picture,
    warm_up,
)
from bot.results.practice import Beside, LinkSides, WeekPoint
from bot.results.tally import Subject, SubjectKind
from bot.services.opening import terminal_route
from bot.services.playing import clicks_of, inputs_of, timed
from bot.worker import WorkerPool
from core.inputs import Facing
from core.learning.calendar import Week
from core.learning.rates import measure
from core.notation import book_of
from core.timing import Window

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
PICTURES: list[tuple[str, str, Callable[..., bytes], tuple[Any, ...]]] = [
    (
        "progress",
        "progress, 12 weeks",
        progress_picture,
        ("5MP, 2MP", tuple(week(n, False) for n in range(12)), 0.8),
    ),
    (
        "progress_long",
        "progress, 104 weeks, twice",
        progress_picture,
        ("5MP, 2MP", tuple(week(n, both) for n in range(104) for both in (False, True)), 0.8),
    ),
    ("sides", "sides, 1 link", sides_picture, ((LINK,),)),
    ("sides_8", "sides, 8 links", sides_picture, ((LINK,) * 8,)),
    ("beside", "training beside match, 1 row", beside_picture, ((ROW,),)),
    ("beside_8", "training beside match, 8 rows", beside_picture, ((ROW,) * 8,)),
    ("rhythm", "rhythm sheet, 3 moves", rhythm_picture, ("5MP, 2MP xx 236HP", SHEET.schedule)),
]


async def through(pool: Worker, rounds: int, work: Callable[..., object], *arguments: Any) -> float:
    """The median of milliseconds through the pool."""
    times = []
    for _ in range(rounds):
        started = time.perf_counter()
        await pool.run(work, *arguments)
        times.append((time.perf_counter() - started) * 1000)
    return middle(times)


async def watch(turns: list[float]) -> None:
    """Note how much later than asked each turn of the event loop came, in ms."""
    while True:
        started = time.perf_counter()
        await asyncio.sleep(TURN_SECONDS)
        turns.append((time.perf_counter() - started - TURN_SECONDS) * 1000)


async def pooled(pool: Worker, rounds: int) -> dict[str, float]:
    """Milliseconds through the pool, by picture, and of the pool itself."""
    turns = [0.0]
    watching = asyncio.create_task(watch(turns))
    started = time.perf_counter()
    pool.start()
    await pool.run(os.getpid)
    took = {"start": (time.perf_counter() - started) * 1000}
    took["empty"] = await through(pool, rounds, os.getpid)
    for name, _, picture, arguments in PICTURES[: None if rounds > 1 else 1]:
        took[name] = await through(pool, rounds, picture, *arguments)
    started = time.perf_counter()
    await asyncio.gather(*(pool.run(*PICTURES[0][2:3], *PICTURES[0][3]) for _ in range(rounds)))
    took["together"] = (time.perf_counter() - started) * 1000 / rounds
    watching.cancel()
    await pool.close()
    return took | {"turn": max(turns)}


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of each picture, of the pool, and of what is no picture."""
    rounds = 1 if tiny else ROUNDS
    took = asyncio.run(pooled(InlineWorker() if tiny else WorkerPool(warm_up), rounds))
    warm_up()
    made = [
        beside(
            f"pictures.{name}",
            f"{what}, beside drawn here",
            took[name],
            best_ms(partial(picture, *arguments), 1, rounds),
        )
        for name, what, picture, arguments in PICTURES
        if name in took
    ]
    sheet = inputs_of(SHEET, Facing.RIGHT, None)
    inputs = best_ms(partial(inputs_of, SHEET, Facing.RIGHT, None), 1, rounds)
    clicks = best_ms(partial(clicks_of, sheet, 1.0, 4), 1, rounds)
    return (
        *made,
        alone("pictures.start", "from start to a warm process", took["start"]),
        alone("pictures.empty", "a task that does nothing", took["empty"]),
        alone("pictures.together", f"{rounds} of {PICTURES[0][1]} at once, each", took["together"]),
        alone("pictures.turn", "the longest turn of the event loop meanwhile", took["turn"]),
        alone("pictures.inputs", "its inputs, made here", inputs),
        alone("pictures.clicks", "its click track, 4 times, made here", clicks),
    )
