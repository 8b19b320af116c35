"""What a member does when a starter lands, as a sheet; and the quiz about it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from bot.results.tally import KeptConversion, SavedRoute, Subject
from core.model import Character, Game
from core.routes import RouteCheck
from core.situations import Situation, SituationKind
from core.verdict import Facts


@dataclass(frozen=True, slots=True)
class SetConversion:
    """A conversion that is kept now. `check`: its route judged in that situation."""

    game: Game
    conversion: KeptConversion
    situation: Situation
    check: RouteCheck


@dataclass(frozen=True, slots=True)
class ClearedConversion:
    """A conversion that is no longer kept; its route still is."""

    game: Game
    conversion: KeptConversion
    situation: Situation


class CellState(StrEnum):
    """What stands at a starter in a situation."""

    FILLED = "filled"
    GAP = "gap"
    BROKEN = "broken"
    """A route is kept here that no longer works: the game's file has changed, or the route has."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One starter in one situation. `route` is None in a gap; `damage` where it is not known."""

    situation: Situation
    state: CellState
    route: SavedRoute | None = None
    damage: int | None = None


@dataclass(frozen=True, slots=True)
class StarterRow:
    """A starter, by its input, in every situation of the game."""

    starter: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Proposal:
    """What could fill a gap: a `route` that the member saved, else one that was found, which stands in their
    log as `subject_id` so that it can be looked at and saved."""

    starter: str
    situation: Situation
    damage: int | None
    route: SavedRoute | None = None
    found: Subject | None = None
    subject_id: int = 0


@dataclass(frozen=True, slots=True)
class Sheet:
    """A member's conversions with one character. Rows in the order of the character's moves. `searched`:
    routes for the gaps were looked for; else that failed."""

    game: Game
    character: Character
    rows: tuple[StarterRow, ...]
    proposals: tuple[Proposal, ...] = ()
    searched: bool = True

    @property
    def columns(self) -> tuple[Situation, ...]:
        """The situations in which there is something to show: a plain hit, what is kept, what is proposed."""
        proposed = {(one.starter, one.situation.name) for one in self.proposals}
        return tuple(
            cells[0].situation
            for cells in zip(*(row.cells for row in self.rows), strict=True)
            if cells[0].situation.kind is SituationKind.HIT
            or any(cell.state is not CellState.GAP for cell in cells)
            or any((row.starter, cells[0].situation.name) in proposed for row in self.rows)
        )

    @property
    def filled(self) -> int:
        """How many conversions are kept that work."""
        return sum(cell.state is CellState.FILLED for row in self.rows for cell in row.cells)

    @property
    def broken(self) -> int:
        """How many are kept that do not work any more."""
        return sum(cell.state is CellState.BROKEN for row in self.rows for cell in row.cells)


class ConversionRefusalCode(StrEnum):
    """Why there is nothing to keep, to show or to ask, with the facts its sentence needs."""

    NO_STARTER = "no-starter"
    """typed, problem (the sentence of the notation error)."""
    NO_SITUATION = "no-situation"
    """typed, known (names, joined)."""
    NO_CHARACTER = "no-character"
    """typed."""
    WHOSE = "whose"
    """No character is chosen, and there are routes of several or of none."""
    OTHER_STARTER = "other-starter"
    """name, begins, starter."""
    NOT_THERE = "not-there"
    """name, starter; the check says why."""
    NOT_READ = "not-read"
    """name, notation: the present game file has no such moves."""
    NOTHING_SET = "nothing-set"
    """starter."""
    TOO_MANY = "too-many"
    """most."""
    NO_ROUTES = "no-routes"
    """character: no route is saved yet."""
    NO_CONVERSIONS = "no-conversions"
    """The quiz has nothing to ask."""
    ONE_ROUTE = "one-route"
    """The quiz has nothing to choose between."""
    NONE_WORKS = "none-works"
    """No conversion works any more."""
    BUSY = "busy"
    """The work was given up."""
    OVER = "over"
    """The question was answered before, or another was asked since."""


@dataclass(frozen=True, slots=True)
class ConversionRefusal:
    """Nothing was kept, shown or asked, and why. `check`, `situation`: of a route that does not work
    there."""

    game: Game
    code: ConversionRefusalCode
    facts: Facts = Facts()
    check: RouteCheck | None = None
    situation: Situation | None = None


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """A question of the quiz as it is stored: about which conversion, between which routes, and since
    when."""

    id: int
    conversion: KeptConversion
    route_ids: tuple[int, ...]
    asked_at: datetime


@dataclass(frozen=True, slots=True)
class Question:
    """A question to answer. `choices` in the order in which they are shown. `ahead`: it was not due yet."""

    game: Game
    id: int
    conversion: KeptConversion
    situation: Situation
    choices: tuple[SavedRoute, ...]
    limit_seconds: int
    ahead: bool = False


class Outcome(StrEnum):
    """How an answer was."""

    RIGHT = "right"
    SLOW = "slow"
    """Right, but not in time."""
    WRONG = "wrong"


@dataclass(frozen=True, slots=True)
class QuizAnswer:
    """An answer that was given and is logged. `chosen` is None where that route is no longer kept.
    `subject_id`: the right route's number in the member's log."""

    game: Game
    conversion: KeptConversion
    situation: Situation
    outcome: Outcome
    seconds: float
    limit_seconds: int
    asked_again_at: datetime
    answered_at: datetime
    chosen: SavedRoute | None = None
    subject_id: int = 0
