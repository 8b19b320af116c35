"""Homework: what is to be done, how far it is, and how it goes from the coach to the student and back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from math import sqrt

from core.learning.owned import ownership
from core.learning.rates import ENOUGH_TRIES, Z, interval, tell
from core.learning.tally import Tally

LAST_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class CleanReps:
    """So many landed reps, in any number of tries. Raises ValueError below 1."""

    reps: int

    def __post_init__(self) -> None:
        if self.reps < 1:
            raise ValueError(f"Homework takes at least 1 clean rep, not {self.reps}.")


@dataclass(frozen=True, slots=True)
class RateOver:
    """A rate (above 0, below 1) that the lower bound passes, over at least so many tries.

    The newest tallies decide, as many of them as do it: what was dropped while learning does not count for
    ever. As each tally is another look, the bound is a mark to reach here, not a certainty of 95 %.
    Raises ValueError for a rate that no tries prove, and for tries that are too few to tell.
    """

    rate: float
    tries: int

    def __post_init__(self) -> None:
        if not 0 < self.rate < 1:
            raise ValueError(f"A rate to reach lies above 0 % and below 100 %, not at {self.rate:.0%}.")
        if self.tries < ENOUGH_TRIES:
            raise ValueError(f"A rate takes at least {ENOUGH_TRIES} tries, not {self.tries}.")


@dataclass(frozen=True, slots=True)
class MatchAttempts:
    """So many tries in a real match, landed or dropped. Raises ValueError below 1."""

    tries: int

    def __post_init__(self) -> None:
        if self.tries < 1:
            raise ValueError(f"Homework takes at least 1 try in a match, not {self.tries}.")


Target = CleanReps | RateOver | MatchAttempts


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a homework is: `share` from 0 to 1 (1 only when done) and what is `missing` (0 when done).

    CleanReps: landed reps are missing; MatchAttempts: tries in matches; RateOver: clean reps in a row from
    now on, which is the shortest way. `landed` of `tries` are all that was logged on it. `late`: it was
    reached, at `done_at`, only when it was due or after.
    """

    done_at: datetime | None
    late: bool
    share: float
    missing: int
    landed: int
    tries: int

    @property
    def done(self) -> bool:
        """Whether the target is reached. What is dropped after that does not take it back."""
        return self.done_at is not None


def progress(target: Target, tallies: Iterable[Tally], since: datetime, due: datetime) -> Progress:
    """How far the target is after these tallies on the homework's subject, in any order.

    Those from `since` on count, those after `due` too: late work is work.
    """
    known = sorted(
        (tally for tally in tallies if tally.when >= since),
        key=lambda tally: (tally.when, tally.tries, tally.landed),
    )
    match target:
        case CleanReps(reps):
            done_at, share, missing = _counted(known, [tally.landed for tally in known], reps)
        case MatchAttempts(tries):
            in_match = [tally.tries if tally.context.is_match else 0 for tally in known]
            done_at, share, missing = _counted(known, in_match, tries)
        case RateOver():
            done_at, share, missing = _rate(known, target)
    late = done_at is not None and done_at >= due
    landed, tried = sum(tally.landed for tally in known), sum(tally.tries for tally in known)
    return Progress(done_at, late, share, missing, landed, tried)


def _counted(
    known: Sequence[Tally], counts: Sequence[int], needed: int
) -> tuple[datetime | None, float, int]:
    total = 0
    for tally, count in zip(known, counts, strict=True):
        total += count
        if total >= needed:
            return tally.when, 1.0, 0
    return None, total / needed, needed - total


def _rate(known: Sequence[Tally], target: RateOver) -> tuple[datetime | None, float, int]:
    done_at = _first_passed(known, target)
    if done_at is not None:
        return done_at, 1.0, 0
    from_nothing = _clean_more(0, 0, target)
    missing = min(
        (_clean_more(landed, tries, target) for landed, tries in _stretches(known)), default=from_nothing
    )
    missing = min(missing, from_nothing)
    return None, 1 - missing / from_nothing, missing


def _first_passed(known: Sequence[Tally], target: RateOver) -> datetime | None:
    """When a stretch of the then newest tallies first passed.

    Wilson's bound passes g where landed - g n > z sqrt(g (1 - g) n): so none passes while the stretch that
    is furthest ahead of the rate is less far ahead than the fewest tries would need.
    """
    least = Z * sqrt(target.rate * (1 - target.rate) * target.tries)
    ahead = 0.0
    for index, newest in enumerate(known):
        ahead = max(ahead, 0.0) + newest.landed - target.rate * newest.tries
        if (
            ahead > least - 1e-6
            and any(  # the sum rounds
                tries >= target.tries and interval(landed, tries)[0] > target.rate
                for landed, tries in _stretches(known[: index + 1])
            )
        ):
            return newest.when
    return None


def _stretches(known: Sequence[Tally]) -> Iterator[tuple[int, int]]:
    """Landed and tries of the newest tally, of the newest two, and so on."""
    landed = tries = 0
    for tally in reversed(known):
        landed, tries = landed + tally.landed, tries + tally.tries
        yield landed, tries


def _clean_more(landed: int, tries: int, target: RateOver) -> int:
    """How many clean reps after this stretch would do."""
    return max(target.tries - tries, ownership(tell(landed, tries), target.rate).clean_more)


class Stage(StrEnum):
    """Where a homework lies, as it is stored."""

    SET = "set"
    """With the student, who has not handed it in."""
    HANDED_IN = "handed-in"
    """With the coach, to be looked at."""
    ACCEPTED = "accepted"
    RETURNED = "returned"
    """With the student again, with a note."""


class Step(StrEnum):
    """What someone does with a homework."""

    HAND_IN = "hand-in"
    ACCEPT = "accept"
    SEND_BACK = "send-back"


STEPS: dict[tuple[Stage, Step], Stage] = {
    (Stage.SET, Step.HAND_IN): Stage.HANDED_IN,
    (Stage.RETURNED, Step.HAND_IN): Stage.HANDED_IN,
    (Stage.HANDED_IN, Step.ACCEPT): Stage.ACCEPTED,
    (Stage.HANDED_IN, Step.SEND_BACK): Stage.RETURNED,
    # A coach who changed their mind:
    (Stage.RETURNED, Step.ACCEPT): Stage.ACCEPTED,
    (Stage.ACCEPTED, Step.SEND_BACK): Stage.RETURNED,
}
"""Every step that can be taken, and where it leads."""


def after(stage: Stage, step: Step) -> Stage | None:
    """The stage after a step; None where it cannot be taken here (handing in twice, say)."""
    return STEPS.get((stage, step))


class Time(StrEnum):
    """How a moment lies to the one at which a homework is due."""

    EARLY = "early"
    LAST_DAY = "last-day"
    """The 24 hours before it is due."""
    PAST = "past"


class Status(StrEnum):
    """What a homework is called on a board."""

    OPEN = "open"
    DUE_SOON = "due-soon"
    OVERDUE = "overdue"
    HANDED_IN = "handed-in"
    ACCEPTED = "accepted"
    RETURNED = "returned"


STATUSES: dict[tuple[Stage, Time], Status] = {
    (Stage.SET, Time.EARLY): Status.OPEN,
    (Stage.SET, Time.LAST_DAY): Status.DUE_SOON,
    (Stage.SET, Time.PAST): Status.OVERDUE,
    **{(Stage.HANDED_IN, time): Status.HANDED_IN for time in Time},
    **{(Stage.ACCEPTED, time): Status.ACCEPTED for time in Time},
    # Often it comes back after it was due: that is no reason to call it overdue.
    **{(Stage.RETURNED, time): Status.RETURNED for time in Time},
}
"""The status of every stage at every time. It follows from the clock and is not stored."""


def time_of(now: datetime, due: datetime) -> Time:
    """How `now` lies to `due`; at that very moment it is past."""
    if now >= due:
        return Time.PAST
    return Time.LAST_DAY if now >= due - LAST_DAY else Time.EARLY


def status(stage: Stage, now: datetime, due: datetime) -> Status:
    """The status of a homework now."""
    return STATUSES[stage, time_of(now, due)]
