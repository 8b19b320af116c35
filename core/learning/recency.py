"""Old tallies count less.

The reference is the forgetting curve: savings of Ebbinghaus (1885) as printed by Murre & Dros 2015, PLoS ONE
10(7):e0120644, Table 3, from 20 minutes to 31 days. `savings` is a power of the age, fitted to that table by
least squares: it is off by 0.02 on the average (root mean square) and by 0.038 at most (at 1 hour, too high).
The table is one man's memory for syllables; hands are likely to keep more. It says how fast the past fades
against the recent past, not how much of a combo is left; and past 31 days it is an extrapolation.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from core.learning.rates import Rate, TooFew, tell
from core.learning.tally import Tally

SAVINGS_AT_AN_HOUR = 0.4804
FADING = 0.1302
FRESH = timedelta(days=1)
HOUR = timedelta(hours=1)


def savings(age: timedelta) -> float:
    """The share of the learning work that is still saved after `age`: 1 at once, then ever less.

    >>> round(savings(timedelta(days=31)), 3)
    0.203
    """
    hours = age / HOUR
    return min(1.0, SAVINGS_AT_AN_HOUR * hours**-FADING) if hours > 0 else 1.0


def weight(age: timedelta) -> float:
    """What a try of this age counts against a fresh one: its savings over those of one day.

    All of the last day counts in full: within one session, an hour's difference says nothing about anyone.

    >>> round(weight(timedelta(days=31)), 2), round(weight(timedelta(days=365)), 2)
    (0.64, 0.46)
    """
    return savings(age) / savings(FRESH) if age > FRESH else 1.0


def recent_rate(tallies: Iterable[Tally], now: datetime) -> Rate | TooFew:
    """The rate of these tallies with each try weighted by its age, and its interval.

    Its tries are the effective number (Kish 1965): the sum of weights, squared, over the sum of squared
    weights. It equals the plain number where all are of one age, and is less where ages differ. A tally from
    after `now` (a clock set back) counts as fresh.
    """
    weighted = [(weight(now - tally.when), tally) for tally in tallies]
    if not weighted:
        return TooFew(0, 0)
    total = sum(share * tally.tries for share, tally in weighted)
    landed = sum(share * tally.landed for share, tally in weighted)
    effective = total * total / sum(share * share * tally.tries for share, tally in weighted)
    # min: rounding must not make a spotless record land more than it tried.
    return tell(min(landed / total, 1.0) * effective, effective)
