"""Where students are stuck, and what they land in training but not in matches."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import timedelta

from bot.results.coaching import StuckLink
from bot.results.place import Owner
from bot.results.tally import Subject, SubjectKind, Total
from bot.storage.students import Lately
from core.learning.rates import ENOUGH_TRIES, Rate, tell
from core.learning.tally import Context

LATELY = timedelta(weeks=2)
BEFORE = timedelta(weeks=8)
"""What was tried earlier than this says nothing of how it goes now."""
ENOUGH = 2 * ENOUGH_TRIES
"""Tries of late, from which something is called stuck; a guess."""
BETTER = 0.05
"""By so much more often than before it lands where it is getting better; a guess."""
SEVERAL = 2


def is_stuck(one: Lately, goal: float) -> bool:
    """Whether a student is stuck on something: it had `ENOUGH` tries in the last two weeks, lands less often
    than their goal asks for, and not clearly more often than in the six weeks before. Where those had too few
    tries to tell, it may as well be new; it counts as stuck, for there is nothing to say that it gets better.
    """
    newer, older = (
        tell(one.newer_landed, one.newer_tries),
        tell(one.older_landed, one.older_tries),
    )
    if one.newer_tries < ENOUGH or not isinstance(newer, Rate) or newer.share >= goal:
        return False
    return not isinstance(older, Rate) or newer.share - older.share < BETTER


def stuck_on(practised: Iterable[Lately], goal: float) -> Subject | None:
    """What one student is stuck on, that which lands least often; None where they are stuck on nothing."""
    stuck = [one for one in practised if is_stuck(one, goal)]
    weakest = min(stuck, key=lambda one: one.newer_landed / one.newer_tries, default=None)
    return weakest.subject if weakest is not None else None


def stuck_together(practised: Iterable[Lately], goal_of: Callable[[Owner], float]) -> tuple[StuckLink, ...]:
    """What `SEVERAL` students or more are stuck on, that of the most students first, then what lands least
    often."""
    by_subject: dict[Subject, list[Lately]] = {}
    for one in practised:
        if is_stuck(one, goal_of(one.student)):
            by_subject.setdefault(one.subject, []).append(one)
    found = [
        StuckLink(
            subject,
            tuple(one.student for one in stuck),
            sum(one.newer_landed for one in stuck),
            sum(one.newer_tries for one in stuck),
        )
        for subject, stuck in by_subject.items()
        if len(stuck) >= SEVERAL
    ]
    return tuple(sorted(found, key=lambda link: (-len(link.students), link.landed / link.tries)))


def gap_to_match(totals: Iterable[Total]) -> float | None:
    """By how much less is landed in matches than in training, as a share, of what was tried in both: else a
    student who takes only what they own into matches would seem to have none. None for too few tries to
    tell."""
    training: dict[int, tuple[int, int]] = {}
    match: dict[int, tuple[int, int]] = {}
    for total in totals:
        if total.subject.kind is SubjectKind.CHOICE:
            continue
        counts = match if total.context.is_match else training
        if total.context.is_match or total.context is Context.TRAINING:
            landed, tries = counts.get(total.subject_id, (0, 0))
            counts[total.subject_id] = landed + total.landed, tries + total.tries
    both = training.keys() & match.keys()
    rates = [
        tell(sum(counts[number][0] for number in both), sum(counts[number][1] for number in both))
        for counts in (training, match)
    ]
    alone, against = rates
    return alone.share - against.share if isinstance(alone, Rate) and isinstance(against, Rate) else None
