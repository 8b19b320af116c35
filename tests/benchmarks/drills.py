"""How fast the standings of a drill are computed, beside a plain sum over the same tallies in the same run.

Run by hand: `python tests/benchmarks/drills.py`. The plain sum adds up landed and tries by member in a dict;
each figure is the best of several rounds. "one changed" is `rescored` after one more tally of one member.
"""

from __future__ import annotations

import os
import random
import sys
from pathlib import Path
from zoneinfo import ZoneInfo

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from drilled import drill, logged  # noqa: E402
from stopwatch import best_ms  # noqa: E402

from core.drills.drill import Scored, Scoring  # noqa: E402
from core.drills.standings import rescored, standings  # noqa: E402
from core.learning.rates import Rate, TooFew, tell  # noqa: E402

SIZES = (1_000, 10_000, 100_000)
PER_MEMBER = 50
"""Tallies that a member logs in the drill."""


def tallies(size: int) -> list[Scored]:
    """Tallies of ten tries over the week, in the order of time."""
    chance = random.Random(1)
    members = size // PER_MEMBER
    return [
        logged(min(10, chance.randint(4, 12)), 10, hour=168 * at / size, member=at % members)
        for at in range(size)
    ]


def plain_sum(made: list[Scored]) -> dict[int, tuple[int, int]]:
    sums: dict[int, tuple[int, int]] = {}
    for one in made:
        landed, tries = sums.get(one.member, (0, 0))
        sums[one.member] = landed + one.tally.landed, tries + one.tally.tries
    return sums


def main() -> None:
    print(f"load {os.getloadavg()[0]:.2f}; {PER_MEMBER} tallies a member\n")
    print(
        f"{'scoring':16}{'tallies':>9}{'sum, ms':>10}{'all, ms':>10}{'ratio':>8}"
        f"{'us a tally':>12}{'one changed, ms':>17}{'ratio':>8}"
    )
    for scoring in Scoring:
        of = drill(scoring, zone=ZoneInfo("America/New_York"), closes=logged(1, 1, hour=169).tally.when)
        for size in SIZES:
            made = tallies(size)
            members = range(size // PER_MEMBER)
            earlier: dict[int, Rate | TooFew] = {member: tell(member % 9, 12) for member in members}
            listed = {member for member in members if member % 4}
            times = max(1, 20_000 // size)
            plain = best_ms(lambda: plain_sum(made), times, 5)  # noqa: B023
            whole = best_ms(lambda: standings(of, made, earlier, listed), times, 5)  # noqa: B023
            current = standings(of, made, earlier, listed)
            own = [*(one for one in made if one.member == 1), logged(10, 10, hour=168, member=1)]
            one = best_ms(lambda: rescored(current, 1, own, earlier[1], listed=True), times, 5)  # noqa: B023
            print(
                f"{scoring.value:16}{size:>9,}{plain:>10.2f}{whole:>10.2f}{whole / plain:>8.1f}"
                f"{whole / size * 1000:>12.2f}{one:>17.3f}{one / plain:>8.2f}"
            )


if __name__ == "__main__":
    main()
