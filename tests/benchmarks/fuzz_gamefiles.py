"""Whether any spoiled file brings the reader of game files down.

Run by hand: `python tests/benchmarks/fuzz_gamefiles.py [cases] [seed]`; 100,000 cases take some ten minutes.
Files of small and packaged games are spoiled at random. Each must be read or refused: a game and no problem,
or problems that say what and what would be right, and no game. What is read must come out again equal.
"""

from __future__ import annotations

import random
import sys
import time
import traceback
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from filed import RULES, TALLOW, TALLOW_MOVES, WICK, WICK_MOVES, lanterns, spoiled, upload  # noqa: E402

from bot.gamefiles import Upload, files_of, game_of, read_upload, template  # noqa: E402

GAMES = ROOT / "tests" / "data" / "games"
CASES, SEED = 100_000, 7
SLOW_SECONDS = 2.0


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


def main() -> int:
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else CASES
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else SEED
    chance, base, right = random.Random(seed), lanterns(), seeds()
    counts: Counter[str] = Counter()
    failures, slowest = 0, 0.0
    begun = time.perf_counter()
    for case in range(cases):
        files = spoiled(chance, chance.choice(right))
        started = time.perf_counter()
        try:
            reading = read_upload(files, base if chance.random() < 0.4 else None)
            assert (reading.game is None) == (reading.source is None) == bool(reading.problems)
            assert all(problem.wrong and problem.right for problem in reading.problems)
            if reading.source is not None:
                assert game_of(reading.source) == reading.game
                assert read_upload(files_of(reading.source)).game == reading.game
            counts["read" if reading.source else "refused"] += 1
        except Exception:
            failures += 1
            print(f"case {case}:", [(file.name, file.data) for file in files])
            traceback.print_exc()
        slowest = max(slowest, time.perf_counter() - started)
    seconds = time.perf_counter() - begun
    print(
        f"{cases:,} cases in {seconds:.0f} s, the slowest {slowest * 1000:.0f} ms: {dict(counts)}, "
        f"{failures} failed"
    )
    return 1 if failures or slowest > SLOW_SECONDS else 0


if __name__ == "__main__":
    sys.exit(main())
