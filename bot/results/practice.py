"""What the practice log says about a member: timing, progress, and what to do next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from bot.results.tally import Subject
from core.learning.calendar import Row, Week
from core.learning.contexts import Gap
from core.learning.owned import Ownership
from core.learning.plan import Plan
from core.learning.rates import Rate, TooFew
from core.learning.spacing import NextPractice
from core.learning.tally import Context
from core.model import Game, Means
from core.timing import Bottleneck, Diagnosis, Mashing, Window
from core.timing import TooFew as TooFewToFit
from core.verdict import Facts, Verdict


@dataclass(frozen=True, slots=True)
class LinkSides:
    """Where the tries at one link came out: early, hit, late, or dropped with the side not noted; and where
    the member's presses stand: frames from the window's middle, None where not known."""

    subject: Subject
    window: Window
    early: int
    hit: int
    late: int
    unknown: int
    mean_off_frames: float | None = None
    spread_frames: float | None = None


@dataclass(frozen=True, slots=True)
class LinkTiming:
    """One link and one member's hands. `window`: the accepted gaps, or why there are none to be told.
    `tries` at this very link; 0 where it is predicted from other links. `diagnosis` is None where there is no
    window. `mashing` at `mash_rate` presses a second, one of three patterns beside one press and two.
    `sides`: where its tries came out; None where there are none. `lost_tries`: the member's tries of whatever
    links that say nothing, for the version of the game file that they were logged under is not kept."""

    game: Game
    subject: Subject
    window: Window | Verdict
    tries: int
    landed: int
    diagnosis: Diagnosis | TooFewToFit | None
    mashing: Mashing | None
    mash_rate: float
    sides: LinkSides | None = None
    lost_tries: int = 0


@dataclass(frozen=True, slots=True)
class RouteStep:
    """A press of a route: between which two moves, by which means, and the accepted gaps where known."""

    first: str
    second: str
    means: Means | None
    window: Window | None


@dataclass(frozen=True, slots=True)
class RouteTiming:
    """Where a route drops. `steps` in order; `timed` are the places of those whose window is known, which is
    what `bottleneck` counts; None where none is, or where the fit has too few tries. `lost_tries` as in
    `LinkTiming`."""

    game: Game
    subject: Subject
    steps: tuple[RouteStep, ...]
    timed: tuple[int, ...]
    bottleneck: Bottleneck | TooFewToFit | None
    lost_tries: int = 0


@dataclass(frozen=True, slots=True)
class AllTiming:
    """One member's hands over all links: each link with tries, the weakest first. `lost_tries` as in
    `LinkTiming`."""

    game: Game
    links: tuple[LinkTiming, ...]
    tries: int
    lost_tries: int = 0

    @property
    def sides(self) -> tuple[LinkSides, ...]:
        """Where the tries at each link came out."""
        return tuple(link.sides for link in self.links if link.sides is not None)


@dataclass(frozen=True, slots=True)
class WeekPoint:
    """All tries of one ISO week in training, or in matches."""

    week: Week
    in_match: bool
    tries: int
    landed: int
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Beside:
    """How often one subject lands in training, and how often in matches; None where the tries are too few to
    tell. `name`: as the member reads it."""

    name: str
    training: Rate | None
    match: Rate | None


@dataclass(frozen=True, slots=True)
class SubjectProgress:
    """How one link, route or drill goes. `recent` counts old tallies less. `next`: for a date that the member
    named, None where none."""

    game: Game
    subject: Subject
    subject_id: int
    by_context: Mapping[Context, Rate | TooFew]
    recent: Rate | TooFew
    ownership: Ownership
    gap: Gap
    points: tuple[WeekPoint, ...]
    tallies: int
    last_day: date | None
    next: NextPractice | None = None


@dataclass(frozen=True, slots=True)
class Practised:
    """One line of the overview: what, how often it lands of late, and whether it is owned."""

    subject: Subject
    subject_id: int
    tries: int
    recent: Rate | TooFew
    owned: bool
    match_tries: int
    last_day: date


@dataclass(frozen=True, slots=True)
class Overview:
    """Everything a member practises in one game, the latest first, and the rows of days and weeks with
    practice in any game. `tries`: all of this game; `points`: all of it by week; `beside`: what was tried in
    training and in matches too. `next`: for a date that the member named, None where none. `choosing`: what
    they choose in the quiz; it counts in the rows of days and weeks, and in nothing else here."""

    game: Game
    practised: tuple[Practised, ...]
    days: Row
    weeks: Row
    tries: int
    points: tuple[WeekPoint, ...]
    goal: float
    beside: tuple[Beside, ...] = ()
    next: NextPractice | None = None
    choosing: tuple[Practised, ...] = ()


@dataclass(frozen=True, slots=True)
class PlannedSession:
    """A plan for the minutes someone has. `route`: what it is about."""

    game: Game
    subject: Subject
    minutes: int
    plan: Plan
    weakest: str | None
    next: NextPractice | None = None


class PracticeRefusalCode(StrEnum):
    """Why there is nothing to tell, with the facts its sentence needs."""

    NO_TALLIES = "no-tallies"
    """Nothing is logged here yet."""
    NOT_PRACTISED = "not-practised"
    """what: nothing is logged for it."""
    NO_LINKS = "no-links"
    """Nothing logged here says when a press came: no link that the present game file has a window for."""
    HAS_NO_PRESS = "has-no-press"
    """what: a drill, which has no press to time."""
    NO_ROUTE = "no-route"
    """A plan needs something to practise: nothing is logged and nothing was named."""
    NO_DATE = "no-date"
    """typed: it is no date."""
    DATE_OVER = "date-over"
    """typed: the date has passed."""
    NO_GOAL = "no-goal"
    """typed: it is no rate from 50 to 99 %."""
    BUSY = "busy"
    """It could not be worked out just now."""


@dataclass(frozen=True, slots=True)
class PracticeRefusal:
    """Nothing to tell, and why."""

    game: Game
    code: PracticeRefusalCode
    facts: Facts = Facts()
