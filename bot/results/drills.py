"""Group drills: what is decided on, who takes part, and what comes of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time
from enum import StrEnum
from zoneinfo import ZoneInfo

from bot.results.place import Owner
from bot.results.tally import KeptTally, Subject
from core.drills.drill import Scoring
from core.drills.recap import Recap
from core.drills.standings import Row, Standings
from core.drills.suggest import Suggestion
from core.verdict import Facts

GOAL_CHARACTERS = DUMMY_CHARACTERS = 200
REASON_CHARACTERS = 200


class DrillStage(StrEnum):
    """Where a drill is in its life."""

    PLANNED = "planned"
    OPEN = "open"
    CLOSED = "closed"
    CANCELLED = "cancelled"


@dataclass(frozen=True, slots=True)
class DrillPlan:
    """What is drilled and how it is scored. `goal`, `dummy`: in the coach's words, empty for none; `dummy`:
    how to set the training dummy. `at_least`, `daily_cap`: as in `core.drills.drill.Drill`."""

    subject: Subject
    scoring: Scoring
    at_least: int
    daily_cap: int
    goal: str = ""
    dummy: str = ""


@dataclass(frozen=True, slots=True)
class DrillAsked:
    """A plan as it was typed; None where the usual is meant."""

    what: str
    scoring: Scoring
    goal: str = ""
    dummy: str = ""
    at_least: int | None = None
    daily_cap: int | None = None


@dataclass(frozen=True, slots=True)
class Exercise:
    """A plan in a server's list. `used_at`: when the weekly series last took it; None for never."""

    id: int
    plan: DrillPlan
    used_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Series:
    """When and where a server's weekly drill begins. `weekday`: of ISO 8601, Monday is 1; `at`: on the clocks
    of the server's zone."""

    server_id: int
    channel_id: int
    weekday: int
    at: time


@dataclass(frozen=True, slots=True)
class KeptDrill:
    """A drill of a server. `opened_by`: the id of the member who opened it, or who began its series; None
    once they have erased what is kept of them."""

    id: int
    server_id: int
    plan: DrillPlan
    weekly: bool
    channel_id: int
    opens_at: datetime
    closes_at: datetime
    stage: DrillStage
    opened_by: int | None = None


@dataclass(frozen=True, slots=True)
class DrillList:
    """What a server has: its list in the order in which the series takes it, the series, open drills, the one
    opened last first, and those that are yet to be opened."""

    exercises: tuple[Exercise, ...]
    series: Series | None
    open: tuple[KeptDrill, ...]
    zone: ZoneInfo
    planned: tuple[KeptDrill, ...] = ()


@dataclass(frozen=True, slots=True)
class DrillBoard:
    """A drill as its post shows it."""

    drill: KeptDrill
    standings: Standings
    members: int
    """How many take part, those without a tally too."""
    zone: ZoneInfo
    game_version: str


@dataclass(frozen=True, slots=True)
class DrillEnd:
    """A drill after its end, and the one of the next week. `late`: the bot was away over the end."""

    board: DrillBoard
    recap: Recap
    next: KeptDrill | None
    late: bool = False


@dataclass(frozen=True, slots=True)
class DrillPart:
    """One member's part, for their own eyes. `row`: None before their first tally that counts; `today`: clean
    reps of today, for the daily cap. `struck`: their tallies that a coach struck, with the reason."""

    drill: KeptDrill
    joined: bool
    listed: bool
    row: Row | None
    tallies: int
    today: int
    zone: ZoneInfo
    game_version: str
    struck: tuple[tuple[KeptTally, str], ...] = ()


@dataclass(frozen=True, slots=True)
class DrillEntry:
    """A tally of a drill as it was typed. `run`: the most in a row, empty where it was not said."""

    result: str
    run: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class DrillResult:
    """A tally of a drill, as coaches see it. `reason`: why it was struck; None where it was not."""

    member_id: int
    kept: KeptTally
    run: int | None
    seen: bool
    reason: str | None


@dataclass(frozen=True, slots=True)
class DrillVerdict:
    """A tally that a coach has seen or struck, for the member whose it is."""

    member: Owner
    drill: KeptDrill
    result: DrillResult


@dataclass(frozen=True, slots=True)
class DrillResults:
    """Tallies of a drill, the newest first; `older`: there are more before them."""

    drill: KeptDrill
    results: tuple[DrillResult, ...]
    older: bool
    zone: ZoneInfo


@dataclass(frozen=True, slots=True)
class Suggested:
    """What most members drop, the best to drill first."""

    game: str
    found: tuple[tuple[Subject, Suggestion], ...]


class DrillRefusalCode(StrEnum):
    """Why something cannot be done with a drill, with the facts its sentence needs."""

    NO_SUCH_DRILL = "no-such-drill"
    """There is none with this number here (any more)."""
    NONE_OPEN = "none-open"
    """No drill is open in this server."""
    NO_SERVER = "no-server"
    """A group drill is a server's, and here is none."""
    NOT_OPEN = "not-open"
    """It is over, cancelled or has not begun; stage (of `DrillStage`), closes (seconds of Unix time)."""
    NOT_JOINED = "not-joined"
    """Who does not take part has no place."""
    BAD_DAYS = "bad-days"
    """days, most."""
    BAD_NUMBER = "bad-number"
    """field (at_least or daily_cap), number, least, most."""
    TOO_LONG = "drill-too-long"
    """field (goal, dummy or reason), most."""
    NO_TIME = "no-drill-time"
    """typed: it is no time of day, or no moment."""
    IN_PAST = "in-past"
    """typed: a drill closes in the future."""
    TOO_MANY_OPEN = "too-many-open"
    """most: so many are open already."""
    LIST_FULL = "list-full"
    """most: so many stand in the list."""
    LIST_EMPTY = "list-empty"
    """A series takes its drills from the list, which is empty."""
    LISTED_ALREADY = "listed-already"
    """what: it stands in the list."""
    NO_SUCH_EXERCISE = "no-such-exercise"
    """typed: it does not stand in the list."""
    NO_SERIES = "no-series"
    """There is no weekly series."""
    NO_RUN = "no-run"
    """typed: it is no number of reps in a row."""
    RUN_RANGE = "run-range"
    """run, least, most: these counts cannot hold such a run."""
    NO_SUCH_TALLY = "no-such-tally"
    """It is no tally of a drill of this server (any more)."""
    NO_WEEKDAY = "no-weekday"
    """weekday: it is none of the seven."""
    NO_REASON = "no-reason"
    """A tally is struck with a reason."""
    NOT_DRILLABLE = "not-drillable"
    """what: it is no link, route or task in words."""
    CANNOT_POST = "cannot-post"
    """The bot may not write in the channel; channel (its name)."""
    OWN_TALLY = "own-tally"
    """Nobody judges a tally of their own."""


@dataclass(frozen=True, slots=True)
class DrillRefusal:
    """Nothing was stored or changed, and why."""

    code: DrillRefusalCode
    facts: Facts = Facts()
