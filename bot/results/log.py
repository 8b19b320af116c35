"""What logging a tally leads to."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bot.results.practice import LinkTiming
from bot.results.tally import KeptTally
from core.learning.wins import Win
from core.verdict import Facts


@dataclass(frozen=True, slots=True)
class Logged:
    """A tally that is stored. `total_tries`, `total_landed`: of its subject in its context so far, this one
    included. `timing`: what the log now says of a link's timing. `again`: it had been stored before, and
    was delivered once more."""

    kept: KeptTally
    total_tries: int
    total_landed: int
    wins: tuple[Win, ...] = ()
    timing: LinkTiming | None = None
    again: bool = False


@dataclass(frozen=True, slots=True)
class Changed:
    """A tally with its new values."""

    kept: KeptTally


@dataclass(frozen=True, slots=True)
class Undone:
    """A tally that was taken out of the log. It can be put back."""

    kept: KeptTally


@dataclass(frozen=True, slots=True)
class PutBack:
    """A tally that was put back into the log."""

    kept: KeptTally


@dataclass(frozen=True, slots=True)
class Listed:
    """Tallies, the newest first; `older`: there are more before them."""

    tallies: tuple[KeptTally, ...]
    older: bool


class LogRefusalCode(StrEnum):
    """Why a tally cannot be logged, changed or found, with the facts its sentence needs."""

    NO_COUNT = "no-count"
    """typed: it is no count."""
    MORE_THAN_TRIES = "more-than-tries"
    """landed, drops, tries."""
    TRIES_RANGE = "tries-range"
    """tries, most."""
    NO_SUCH_WHAT = "no-such-what"
    """typed, problem (the sentence of the notation error)."""
    WHOSE = "whose"
    """typed, names (of characters, joined): they all have these moves, or a route of this name."""
    UNKNOWN_CHARACTER = "unknown-character"
    """typed, near (names, joined)."""
    TOO_LONG = "too-long"
    """field, most."""
    NO_GAPS = "no-gaps"
    """typed: they are no frame numbers."""
    GAP_RANGE = "gap-range"
    """gap, most."""
    MORE_GAPS = "more-gaps"
    """gaps, tries."""
    NO_TIME = "no-time"
    """typed: it is no time."""
    IN_FUTURE = "in-future"
    """typed."""
    TOO_OLD = "too-old"
    """typed."""
    UNKNOWN_CONTROLS = "unknown-controls"
    """typed, known (names, joined)."""
    NOTHING_LOGGED = "nothing-logged"
    """There is no tally to undo."""
    NOT_YOURS = "not-yours"
    """The tally does not exist (any more), or is not this member's."""
    NO_NAME = "no-name"
    """A route is saved under a name, and there is none."""
    NO_SUCH_ROUTE = "no-such-route"
    """typed: no route is saved under this name."""
    TOO_MANY = "too-many"
    """most: so many routes are saved already."""


@dataclass(frozen=True, slots=True)
class LogRefusal:
    """Nothing was stored or changed, and why."""

    code: LogRefusalCode
    facts: Facts = Facts()
