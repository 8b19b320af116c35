"""Whether any spoiled file brings the reader of game files down; 100,000 of them take some ten minutes.

Files of small and packaged games are spoiled at random. Each must be read or refused: a game and no problem,
or problems that say what and what would be right, and no game. What is read must come out again equal. Those
that fail are printed to stderr with their traceback.
"""

from __future__ import annotations

import random
import sys
import time
import traceback
from collections import Counter
from pathlib import Path

from benchmarks.figures import Figure, alone, at_most
from filed import RULES, TALLOW, TALLOW_MOVES, WICK, WICK_MOVES, lanterns, spoiled, upload

from bot.gamefiles import Source, Upload, files_of, game_of, read_upload, template

GAMES = Path(__file__).parents[1] / "data" / "games"
CASES, SEED = 100_000, 7
SLOW_MS = 2000


def seeds() -> list[list[Upload]]:
    """Files that are right, in each form that can be sent."""
    inline = GAMES / "tinwhistle_inline.toml"
    folder = [Upload(path.name, path.read_bytes()) for path in sorted((GAMES / "tinwhistle").iterdir())]
    return [
        [
            upload("game.toml", RULES + WICK + TALLOW),
            upload("wick.csv", WICK_MOVES),
            upload("tallow.csv", TALLOW_MOVES),
        ],
        list(files_of(lanterns())),
        list(template()[:2]),
        [Upload("game.toml", inline.read_bytes())],
        folder,
        [upload("wick.csv", WICK_MOVES)],
    ]


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """How many failed, and how long the slowest took."""
    cases = 10 if tiny else CASES
    chance, base, right = random.Random(SEED), lanterns(), seeds()
    counts: Counter[str] = Counter()
    slowest = 0.0
    begun = time.perf_counter()
    for case in range(cases):
        files = spoiled(chance, chance.choice(right))
        started = time.perf_counter()
        try:
            counts[_read(files, base if chance.random() < 0.4 else None)] += 1
        except Exception:
            counts["failed"] += 1
            print(f"case {case}:", [(file.name, file.data) for file in files], file=sys.stderr)
            traceback.print_exc()
        slowest = max(slowest, time.perf_counter() - started)
    seconds = time.perf_counter() - begun
    of = f"of {cases:,} spoiled files"
    return (
        alone("fuzz_gamefiles.failed", f"{of}, how many failed", counts["failed"], "files", at_most(0)),
        alone("fuzz_gamefiles.slowest", f"{of}, the slowest", slowest * 1000, "ms", at_most(SLOW_MS)),
        alone("fuzz_gamefiles.each", f"{of}, each", seconds / cases * 1000),
        alone("fuzz_gamefiles.read", f"{of}, how many could be read", counts["read"], "files"),
    )


def _read(files: list[Upload], base: Source | None) -> str:
    reading = read_upload(files, base)
    assert (reading.game is None) == (reading.source is None) == bool(reading.problems)
    assert all(problem.wrong and problem.right for problem in reading.problems)
    if reading.source is None:
        return "refused"
    assert game_of(reading.source) == reading.game
    assert read_upload(files_of(reading.source)).game == reading.game
    return "read"
