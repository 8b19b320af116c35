"""One member's score in a drill, from their tallies and from what they landed before it opened."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import IntEnum
from typing import NamedTuple

from core.drills.drill import Drill, Scored, Scoring
from core.learning.calendar import day_of
from core.learning.rates import ENOUGH_TRIES, Difference, Rate, TooFew, difference, interval, measure


class Group(IntEnum):
    """Whom a member is compared with. Each group has its own places."""

    COMPARED = 0
    """Those with a score."""
    NEW = 1
    """In MOST_IMPROVED alone: too few tries from before the drill to compare with. They are ordered by the
    lower bound of their rate in the drill, among themselves."""
    NOT_YET = 2
    """They take part, without a score so far: they have no place, not the last one."""


@dataclass(frozen=True, slots=True)
class Score:
    """What is compared: the higher `points`, then the more `landed`.

    BEST_TALLY: the share of the best tally, and its counts. TOTAL_CLEAN: the reps that count, as points and
    as landed, of all tries. LONGEST_RUN: the run, three times. MOST_IMPROVED: the lower bound of the gain
    (Newcombe's method 10) or, of those who are new, of the rate (Wilson), and all counts of the drill.
    """

    points: float
    landed: int
    tries: int


@dataclass(frozen=True, slots=True)
class Entry:
    """A member's part in a drill: `landed` of `tries` in all tallies that count, and their score so far.

    `took` is how many of the tries it took to reach the score, at the moment `reached`; what is logged after
    that without bettering it changes neither. `earlier` is the rate from before the drill.
    """

    member: int
    group: Group
    score: Score | None
    tries: int
    landed: int
    earlier: Rate | TooFew
    took: int
    reached: datetime

    @property
    def gain(self) -> Difference | None:
        """The rate in the drill less the earlier one; None where either has too few tries to tell."""
        return _gain(self.landed, self.tries, self.earlier)


class _Reached(NamedTuple):
    """A score, and the index of the tally that reached it."""

    score: Score
    at: int
    group: Group = Group.COMPARED


def counts(drill: Drill, one: Scored) -> bool:
    """Whether this tally counts in the drill: not struck, in its time, and at its subject."""
    tally = one.tally
    return not one.struck and drill.opens <= tally.when < drill.closes and tally.what == drill.what


def entry_of(drill: Drill, member: int, tallies: Iterable[Scored], earlier: Rate | TooFew) -> Entry | None:
    """This member's part; None where no tally of theirs counts. In any order; others' are passed over."""
    # Two of one moment stand in an order of their own, so that the order of reading changes no score.
    known = sorted((one for one in tallies if one.member == member and counts(drill, one)), key=_in_time)
    if not known:
        return None
    tries = sum(one.tally.tries for one in known)
    landed = sum(one.tally.landed for one in known)
    match drill.scoring:
        case Scoring.BEST_TALLY:
            found = _best_tally(drill, known)
        case Scoring.TOTAL_CLEAN:
            found = _total_clean(drill, known, tries)
        case Scoring.LONGEST_RUN:
            found = _longest_run(drill, known)
        case Scoring.MOST_IMPROVED:
            found = _improved(known, landed, tries, earlier)
    if found is None:
        return Entry(member, Group.NOT_YET, None, tries, landed, earlier, tries, known[-1].tally.when)
    took = sum(one.tally.tries for one in known[: found.at + 1])
    reached = known[found.at].tally.when
    return Entry(member, found.group, found.score, tries, landed, earlier, took, reached)


def _in_time(one: Scored) -> tuple[datetime, int, int, int]:
    return one.tally.when, one.tally.tries, one.tally.landed, one.known_run


def _best_tally(drill: Drill, known: Sequence[Scored]) -> _Reached | None:
    landed, tries, at = 0, 1, -1
    for index, one in enumerate(known):
        tally = one.tally
        # Shares compared without a division, so that equal ones are equal.
        ahead = tally.landed * tries - landed * tally.tries
        if tally.tries >= drill.at_least and (ahead > 0 or (ahead == 0 and tally.landed > landed)):
            landed, tries, at = tally.landed, tally.tries, index
    return _Reached(Score(landed / tries, landed, tries), at) if landed else None


def _total_clean(drill: Drill, known: Sequence[Scored], tries: int) -> _Reached | None:
    total, at = 0, -1
    left: dict[date, int] = {}
    for index, one in enumerate(known):
        day = day_of(one.tally.when, drill.zone)
        room = left.get(day, drill.daily_cap)
        counted = min(room, one.tally.landed)
        left[day] = room - counted
        if counted:
            total, at = total + counted, index
    return _Reached(Score(total, total, tries), at) if total else None


def _longest_run(drill: Drill, known: Sequence[Scored]) -> _Reached | None:
    """Tallies hold counts, not the order of their reps: a run goes on from one tally into the next only where
    both landed all their tries, next to each other on one day.
    """
    longest, at = 0, -1
    joined = 0
    day: date | None = None
    for index, one in enumerate(known):
        tally = one.tally
        if tally.landed < tally.tries:
            joined, run = 0, one.known_run
        else:
            today = day_of(tally.when, drill.zone)
            joined = run = joined + tally.tries if today == day else tally.tries
            day = today
        if run > longest:
            longest, at = run, index
    return _Reached(Score(longest, longest, longest), at) if longest else None


def _improved(known: Sequence[Scored], landed: int, tries: int, earlier: Rate | TooFew) -> _Reached | None:
    """Ranked by the lower bound of the gain, so that 1 of 1 after 0 of 1 says little, and by no rate that was
    made up: who has too few earlier tries is new. Who did not gain has no place.
    """
    last = len(known) - 1
    if tries < ENOUGH_TRIES:
        return None
    if isinstance(earlier, TooFew):
        low = interval(landed, tries)[0]
        return _Reached(Score(low, landed, tries), last, Group.NEW) if landed else None
    gain = _gain(landed, tries, earlier)
    if gain is None or gain.value <= 0:
        return None
    return _Reached(Score(gain.low, landed, tries), last)


def _gain(landed: int, tries: int, earlier: Rate | TooFew) -> Difference | None:
    if tries < ENOUGH_TRIES or isinstance(earlier, TooFew):
        return None
    return difference(measure(landed, tries), earlier)
