"""One logged bout of reps, as the learning modules read it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Context(StrEnum):
    """Where reps were made. Sparring is load without stakes: it is no match."""

    TRAINING = "training"
    REACTION = "reaction"
    SPARRING = "sparring"
    RANKED = "ranked"
    TOURNAMENT = "tournament"

    @property
    def is_match(self) -> bool:
        """Whether reps made here were made in a real match."""
        return self in (Context.RANKED, Context.TOURNAMENT)


@dataclass(frozen=True, slots=True)
class Tally:
    """`landed` of `tries` at `what` (a link, a route or a drill), logged at `when` (an aware moment).

    Raises ValueError for numbers that cannot be.
    """

    when: datetime
    what: str
    tries: int
    landed: int
    context: Context

    def __post_init__(self) -> None:
        if self.when.utcoffset() is None:
            raise ValueError(f"A tally's moment needs a time zone: {self.when} has none.")
        if self.tries < 1:
            raise ValueError(f"A tally needs at least 1 try, not {self.tries}.")
        if not 0 <= self.landed <= self.tries:
            raise ValueError(f"Of {self.tries} tries, 0 to {self.tries} can land, not {self.landed}.")
