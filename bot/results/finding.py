"""What a search for routes comes to: few choices, and the next route to learn."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bot.results.route import KnownHands, OpenRoute
from core.model import Character, Game
from core.notation import Route
from core.routes import Aim, NextStep, Start

MOST_MOVES = 6
"""How many moves a route is looked for with, where nobody says."""
FEWEST_MOVES, LONGEST_MOVES = 2, 10


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for, as it was typed. `starter`: the first move, any of the own character's where empty;
    a hit state may stand before it. `gauge`: "none", or at most so much as in "salt 50". `with_moves` and
    `without`: moves apart by commas."""

    starter: str = ""
    aim: Aim = Aim.DAMAGE
    at_least: int = 0
    gauge: str = ""
    knockdown: bool = False
    with_moves: str = ""
    without: str = ""
    state: str = ""
    airborne: bool = False
    distance: float | None = None
    moves: int = MOST_MOVES


class Role(StrEnum):
    """Why a route is among the few that are offered."""

    ONLY = "only"
    SUREST = "surest"
    MIDDLE = "middle"
    MOST = "most"
    AVERAGE = "average"
    SHORTEST = "shortest"


class Limit(StrEnum):
    """What narrows a search, and so may be why nothing is found."""

    DAMAGE = "damage"
    GAUGE = "gauge"
    KNOCKDOWN = "knockdown"
    WITH = "with"
    WITHOUT = "without"
    DISTANCE = "distance"
    MOVES = "moves"


@dataclass(frozen=True, slots=True)
class HardPress:
    """The press of a route that lands least often, and its chance once it is reached."""

    first: str
    second: str
    chance: float


@dataclass(frozen=True, slots=True)
class Choice:
    """A route that was found. `chance`: that all of it lands. `hard`: None where nothing has to be timed.
    `subject_id`: its number in the member's log, 0 where it has none. `role`: None for a route that is on
    the picture alone."""

    route: Route
    damage: int
    chance: float
    expected_damage: float
    seconds: float | None
    spent: tuple[tuple[str, int], ...]
    hard: HardPress | None
    subject_id: int = 0
    role: Role | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """The routes that were found, the one aimed at first. `starter`: as it is written, empty for any.
    `start`: how a route begins. `spend`: at most so much of a gauge. `limits`: what narrowed the search.
    `left_out`: moves that were not tried, since the game file lacks a number of theirs. `complete`:
    whether nothing better exists within it."""

    game: Game
    character: Character
    starter: str
    aim: Aim
    start: Start
    hands: KnownHands
    most_moves: int
    routes: tuple[Choice, ...]
    spend: tuple[tuple[str, int], ...] = ()
    limits: tuple[Limit, ...] = ()
    left_out: tuple[str, ...] = ()
    complete: bool = True

    @property
    def choices(self) -> tuple[Choice, ...]:
        """The few that are offered, the surest first."""
        offered = [one for one in self.routes if one.role is not None]
        return tuple(sorted(offered, key=lambda one: -one.chance))


@dataclass(frozen=True, slots=True)
class NextUp:
    """The next route to learn, opened. `owned`: how many links and routes the member owns."""

    opened: OpenRoute
    step: NextStep
    owned: int


@dataclass(frozen=True, slots=True)
class NothingNext:
    """Nothing gains anything on what is owned. `starter`: empty for any."""

    game: Game
    character: Character
    starter: str
    owned: int


@dataclass(frozen=True, slots=True)
class Lesson:
    """What to learn from a starter: routes to choose from, and the next one up from what is owned. `next`:
    None where the log was not to be looked at."""

    finding: Finding
    next: NextUp | NothingNext | None = None
