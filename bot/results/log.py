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
    CHOICE = "choice"
    """It is an answer of the quiz: only the quiz logs those, as they were."""
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
    BAD_TAGS = "bad-tags"
    """typed, most (tags), characters (of each)."""
    GONE_ROUTE = "gone-route"
    """The route that a button or list carries does not exist (any more), or is not this member's."""
    NOT_SAVED = "not-saved"
    """Only a saved route can be shared, and this one is not."""
    NO_SERVER = "no-server"
    """A library is a server's, and here is none."""
    NAME_SHARED = "name-shared"
    """typed, character: somebody else shared a route of this character under this name."""
    TOO_MANY_SHARED = "too-many-shared"
    """most: so many the member has shared already."""
    LIBRARY_FULL = "library-full"
    """most: so many are shared in the server already."""
    NO_SUCH_SHARED = "no-such-shared"
    """It is not in the server's library (any more)."""
    NO_GAUGE = "no-gauge"
    """typed, known (names of gauges, joined), example: it is no amount of a gauge."""
    GAUGE_RANGE = "gauge-range"
    """gauge, amount, most."""
    NO_STATE = "no-state"
    """typed, known (names of hit states, joined)."""
    NO_MOVE = "no-move"
    """typed, problem (the sentence of the notation error)."""
    NO_CHARACTER = "no-character"
    """example: nobody is named, and the member has no character of their own."""
    NOT_FOUND_IN_TIME = "not-found-in-time"
    """The search failed or was given up."""
    NOT_YOURS_TO_TIDY = "not-yours-to-tidy"
    """typed: it was shared by somebody else, and the member does not moderate the server."""


@dataclass(frozen=True, slots=True)
class LogRefusal:
    """Nothing was stored or changed, and why."""

    code: LogRefusalCode
    facts: Facts = Facts()
