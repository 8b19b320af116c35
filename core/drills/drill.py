"""A group drill as it is scored, and the tallies logged on it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, tzinfo
from enum import StrEnum

from core.learning.rates import ENOUGH_TRIES
from core.learning.tally import Tally


class Scoring(StrEnum):
    """What counts in a drill."""

    BEST_TALLY = "best-tally"
    """Landed in tries: the best share of one tally of at least so many tries; of equal shares the one with
    more landed."""
    TOTAL_CLEAN = "total-clean"
    """All landed reps, each day only up to a cap: many days count, and no day hurts the hands."""
    LONGEST_RUN = "longest-run"
    """The most reps landed in a row."""
    MOST_IMPROVED = "most-improved"
    """The rate in the drill against the member's own from before it opened."""


@dataclass(frozen=True, slots=True)
class Drill:
    """What is drilled and how it is scored, from `opens` on and before `closes` (aware moments).

    Days are those of `zone`. `at_least` (tries of a tally) is read by BEST_TALLY alone, `daily_cap` (landed
    reps) by TOTAL_CLEAN alone. Raises ValueError for values that cannot be.
    """

    what: str
    scoring: Scoring
    opens: datetime
    closes: datetime
    zone: tzinfo
    at_least: int = ENOUGH_TRIES
    daily_cap: int = 50

    def __post_init__(self) -> None:
        for moment in (self.opens, self.closes):
            if moment.utcoffset() is None:
                raise ValueError(f"A drill's moments need a time zone: {moment} has none.")
        if self.opens >= self.closes:
            raise ValueError(f"A drill closes after it opens, not at {self.closes} from {self.opens} on.")
        if self.at_least < 1:
            raise ValueError(f"A tally that counts needs at least 1 try, not {self.at_least}.")
        if self.daily_cap < 1:
            raise ValueError(f"A daily cap is at least 1 rep, not {self.daily_cap}.")


@dataclass(frozen=True, slots=True)
class Scored:
    """A tally that a member logged on a drill.

    `run`: the most reps landed in a row, where the member gave it. `struck`: a coach struck it, and it
    counts as if it were not there. Raises ValueError for a run that these counts cannot hold.
    """

    member: int
    tally: Tally
    run: int | None = None
    struck: bool = False

    def __post_init__(self) -> None:
        if self.run is not None and not self.sure_run <= self.run <= self.tally.landed:
            known = f"{self.tally.landed} landed of {self.tally.tries}"
            raise ValueError(
                f"With {known}, {self.sure_run} to {self.tally.landed} are in a row, not {self.run}."
            )

    @property
    def sure_run(self) -> int:
        """How many in a row the counts alone make certain."""
        return sure_run(self.tally.landed, self.tally.tries)

    @property
    def known_run(self) -> int:
        """The run as the member gave it, else what the counts make certain."""
        return self.sure_run if self.run is None else self.run


def sure_run(landed: int, tries: int) -> int:
    """How many in a row these counts make certain: d drops split the landed reps into d + 1 runs at most, and
    the longest of those is no shorter than their average. All of them where none dropped.

    >>> sure_run(7, 10), sure_run(10, 10), sure_run(0, 4)
    (2, 10, 0)
    """
    runs = tries - landed + 1
    return -(-landed // runs)
