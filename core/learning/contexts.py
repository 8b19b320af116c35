"""Training beside match: landing it alone is not yet landing it against someone."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from enum import StrEnum

from core.learning.rates import Difference, Rate, TooFew, difference, tell
from core.learning.tally import Context, Tally


class GapCode(StrEnum):
    """What can be said of training against matches."""

    NOT_TRIED_IN_A_MATCH = "not-tried-in-a-match"
    TOO_FEW_IN_TRAINING = "too-few-in-training"
    TOO_FEW_IN_MATCHES = "too-few-in-matches"
    NO_REAL_GAP = "no-real-gap"
    DROPS_IN_MATCHES = "drops-in-matches"
    BETTER_IN_MATCHES = "better-in-matches"


@dataclass(frozen=True, slots=True)
class Gap:
    """Training (alone, unhurried) beside match (ranked and tournament).

    `difference` is the first less the second, given where both can be told.
    """

    code: GapCode
    training: Rate | TooFew
    match: Rate | TooFew
    difference: Difference | None = None


def by_context(tallies: Iterable[Tally]) -> dict[Context, Rate | TooFew]:
    """What can be told of each context, from calm to serious; those without a try are there too."""
    known = tuple(tallies)
    return {context: _told(known, (context,)) for context in Context}


def training_to_match(tallies: Iterable[Tally]) -> Gap:
    """Whether what lands in training lands in matches too. Reaction drills and sparring are neither."""
    known = tuple(tallies)
    training = _told(known, (Context.TRAINING,))
    match = _told(known, [context for context in Context if context.is_match])
    if match.tries == 0:
        return Gap(GapCode.NOT_TRIED_IN_A_MATCH, training, match)
    if isinstance(training, TooFew):
        return Gap(GapCode.TOO_FEW_IN_TRAINING, training, match)
    if isinstance(match, TooFew):
        return Gap(GapCode.TOO_FEW_IN_MATCHES, training, match)
    gap = difference(training, match)
    if not gap.is_real:
        return Gap(GapCode.NO_REAL_GAP, training, match, gap)
    code = GapCode.DROPS_IN_MATCHES if gap.low > 0 else GapCode.BETTER_IN_MATCHES
    return Gap(code, training, match, gap)


def _told(tallies: Iterable[Tally], contexts: Collection[Context]) -> Rate | TooFew:
    chosen = [tally for tally in tallies if tally.context in contexts]
    return tell(sum(tally.landed for tally in chosen), sum(tally.tries for tally in chosen))
