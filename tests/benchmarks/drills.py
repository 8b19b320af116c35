"""How fast the standings of a drill are computed, beside adding up landed and tries by member in a dict.
"one changed" is `rescored` after one more tally of one member."""

from __future__ import annotations

import random
from zoneinfo import ZoneInfo

from benchmarks.figures import Figure, beside
from benchmarks.stopwatch import best_ms
from drilled import drill, logged

from core.drills.drill import Scored, Scoring
from core.drills.standings import rescored, standings
from core.learning.rates import Rate, TooFew, tell

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


def of_one(scoring: Scoring, made: list[Scored], rounds: int) -> list[Figure]:
    """All standings, and those after one more tally."""
    size = len(made)
    of = drill(scoring, zone=ZoneInfo("America/New_York"), closes=logged(1, 1, hour=169).tally.when)
    members = range(size // PER_MEMBER)
    earlier: dict[int, Rate | TooFew] = {member: tell(member % 9, 12) for member in members}
    listed = {member for member in members if member % 4}
    times = max(1, 20_000 // size) if rounds > 1 else 1
    plain = best_ms(lambda: plain_sum(made), times, rounds)
    whole = best_ms(lambda: standings(of, made, earlier, listed), times, rounds)
    current = standings(of, made, earlier, listed)
    own = [*(one for one in made if one.member == 1), logged(10, 10, hour=168, member=1)]
    one = best_ms(lambda: rescored(current, 1, own, earlier[1], listed=True), times, rounds)
    name = f"drills.{scoring.value.replace('-', '_')}_{size}"
    what = f"standings by {scoring.value} of {size:,} tallies"
    return [
        beside(name, f"{what}, beside a plain sum", whole, plain),
        beside(f"{name}_one", f"{what}, one changed, beside a plain sum", one, plain),
    ]


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of each scoring with the most tallies, and of the first with fewer."""
    sizes = (100, 200) if tiny else SIZES
    first, *_ = Scoring
    made = {size: tallies(size) for size in sizes}
    asked = [(first, size) for size in sizes[:-1]] + [(scoring, sizes[-1]) for scoring in Scoring]
    rounds = 1 if tiny else 5
    return tuple(figure for scoring, size in asked for figure in of_one(scoring, made[size], rounds))
