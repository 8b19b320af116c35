"""How often something lands, and how sure that is.

Intervals hold 95 %. One rate: the score interval of Wilson 1927. Two independent rates: method 10 of
Newcombe 1998 (Statistics in Medicine 17:873-890), which joins the two score intervals.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, sqrt
from statistics import NormalDist

Z = NormalDist().inv_cdf(0.975)
"""How many standard errors a 95 % interval reaches to each side: 1.96."""

ENOUGH_TRIES = 10
"""Below this many tries a member is told that it is too few to tell."""


@dataclass(frozen=True, slots=True)
class Rate:
    """`landed` of `tries`, and the 95 % interval of the rate behind it, from 0 to 1.

    The counts are whole for plain tallies, and effective ones (see `recency`) where old tallies count less.
    """

    landed: float
    tries: float
    low: float
    high: float

    @property
    def share(self) -> float:
        """The rate seen, from 0 to 1."""
        return self.landed / self.tries


@dataclass(frozen=True, slots=True)
class TooFew:
    """Too few tries to tell: there are `tries`, and it takes `needed`."""

    landed: float
    tries: float
    needed: int = ENOUGH_TRIES


@dataclass(frozen=True, slots=True)
class Difference:
    """The first rate less the second, with its 95 % interval, from -1 to 1."""

    value: float
    low: float
    high: float

    @property
    def is_real(self) -> bool:
        """Whether the interval leaves zero out: chance alone would rarely give this."""
        return self.low > 0 or self.high < 0


def interval(landed: float, tries: float) -> tuple[float, float]:
    """Wilson's 95 % interval, without continuity correction; without a try it is everything, 0 to 1.

    >>> [round(bound, 4) for bound in interval(15, 148)]
    [0.0624, 0.1605]
    """
    if not 0 <= landed <= tries:
        raise ValueError(f"Of {tries} tries, 0 to {tries} can land, not {landed}.")
    if tries == 0:
        return 0.0, 1.0
    share = landed / tries
    middle = landed + Z * Z / 2
    reach = Z * sqrt(landed * (1 - share) + Z * Z / 4)
    whole = tries + Z * Z
    # At no drop and at nothing landed the bound is exactly the rate; rounding must not put it inside.
    low = 0.0 if landed == 0 else (middle - reach) / whole
    high = 1.0 if landed == tries else (middle + reach) / whole
    return low, high


def measure(landed: float, tries: float) -> Rate:
    """The rate and its interval, from one try on. Raises ValueError for counts that cannot be."""
    if tries <= 0:
        raise ValueError("A rate needs at least 1 try.")
    low, high = interval(landed, tries)
    return Rate(landed, tries, low, high)


def tell(landed: float, tries: float) -> Rate | TooFew:
    """What a member may be told: the rate, or that the tries are too few for one."""
    return measure(landed, tries) if tries >= ENOUGH_TRIES else TooFew(landed, tries)


def difference(first: Rate, second: Rate) -> Difference:
    """`first` less `second`, of independent tries, by Newcombe's method 10.

    >>> gap = difference(measure(56, 70), measure(48, 80))
    >>> round(gap.low, 4), round(gap.high, 4), gap.is_real
    (0.0524, 0.3339, True)
    """
    value = first.share - second.share
    below = hypot(first.share - first.low, second.high - second.share)
    above = hypot(first.high - first.share, second.share - second.low)
    return Difference(value, value - below, value + above)
