"""One logged bout of reps, and what it is about."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from core.learning.quiet import Quiet
from core.learning.tally import Context

if TYPE_CHECKING:
    from bot.results.audit import Entry
    from bot.results.coaching import KeptCoachData
    from bot.results.games import KeptGameData

MOST_TRIES = 1_000
MOST_GAPS = 200
LONGEST_GAP_FRAMES = 600
NOTE_CHARACTERS = 200
WHAT_CHARACTERS = 120


class SubjectKind(StrEnum):
    """What can be practised: two moves with a press to time, moves in a row, anything in words; or choosing
    what to do when a starter lands, which is no practice of the hands."""

    LINK = "link"
    ROUTE = "route"
    DRILL = "drill"
    CHOICE = "choice"


@dataclass(frozen=True, slots=True)
class Subject:
    """What is practised. `what` is canonical: a route as `format_route` writes it, a drill's words, a starter
    with its situation. `character` is empty for a drill."""

    game: str
    character: str
    kind: SubjectKind
    what: str


class Side(StrEnum):
    """Which way the player's character faced."""

    LEFT = "left"
    RIGHT = "right"


class Controller(StrEnum):
    """What the hands were on."""

    PAD = "pad"
    STICK = "stick"
    BUTTONS = "buttons only"
    KEYBOARD = "keyboard"


@dataclass(frozen=True, slots=True)
class Drops:
    """How many tries dropped, by reason; those whose reason is not known stand in none."""

    early: int = 0
    late: int = 0
    wrong_state: int = 0
    too_far: int = 0
    wrong_direction: int = 0
    motion_failed: int = 0
    no_gauge: int = 0
    mashed: int = 0

    @property
    def total(self) -> int:
        """All drops with a reason."""
        return sum(getattr(self, each.name) for each in fields(self))

    @property
    def not_timing(self) -> int:
        """Drops that say nothing about when the press came."""
        return self.total - self.early - self.late


@dataclass(frozen=True, slots=True)
class Setup:
    """How the member plays; None where it is not said. `controls`: the control scheme."""

    side: Side | None = None
    controller: Controller | None = None
    controls: str | None = None


@dataclass(frozen=True, slots=True)
class Tally:
    """One bout: `landed` of `tries` at `subject`, at `made_at` (aware).

    `presses`: how often the button was pressed for each try, 1 or 2. `gap_frames`: gaps of the first press
    read off the game's input history, of some or all tries. `game_version`: of the file it was logged under.
    Raises ValueError for numbers that cannot be.
    """

    subject: Subject
    made_at: datetime
    tries: int
    landed: int
    drops: Drops = Drops()
    context: Context = Context.TRAINING
    presses: int = 1
    setup: Setup = field(default=Setup())
    gap_frames: tuple[int, ...] = ()
    note: str = ""
    game_version: str = ""

    def __post_init__(self) -> None:
        if not 1 <= self.tries <= MOST_TRIES:
            raise ValueError(f"A tally has 1 to {MOST_TRIES} tries, not {self.tries}.")
        if self.landed < 0 or any(getattr(self.drops, each.name) < 0 for each in fields(self.drops)):
            raise ValueError("The numbers of a tally cannot be below 0.")
        if self.landed + self.drops.total > self.tries:
            raise ValueError(
                f"{self.landed} landed and {self.drops.total} drops are more than {self.tries} tries."
            )
        if self.presses not in (1, 2):
            raise ValueError(f"A try is pressed once or twice, not {self.presses} times.")
        if len(self.gap_frames) > min(self.tries, MOST_GAPS):
            raise ValueError(
                f"{len(self.gap_frames)} gaps are more than {self.tries} tries, or than {MOST_GAPS}."
            )
        if not all(1 <= gap <= LONGEST_GAP_FRAMES for gap in self.gap_frames):
            raise ValueError(f"A gap lasts 1 to {LONGEST_GAP_FRAMES} frames.")
        if self.made_at.utcoffset() is None:
            raise ValueError(f"A tally's moment needs a time zone: {self.made_at} has none.")


@dataclass(frozen=True, slots=True)
class KeptTally:
    """A tally as it is stored, with its number and its subject's."""

    id: int
    subject_id: int
    tally: Tally


@dataclass(frozen=True, slots=True)
class Total:
    """All tallies of one subject in one context added up."""

    subject_id: int
    subject: Subject
    context: Context
    tallies: int
    tries: int
    landed: int
    early: int
    late: int


@dataclass(frozen=True, slots=True)
class Mark:
    """The little of a tally that rates, rows of weeks and small wins need."""

    id: int
    subject_id: int
    made_at: datetime
    tries: int
    landed: int
    context: Context


@dataclass(frozen=True, slots=True)
class SavedRoute:
    """A member's route under a name of their own, as notation and the game version it was saved with.
    `tags`: words without blanks, in lower case, in order."""

    id: int
    game: str
    game_version: str
    character: str
    name: str
    notation: str
    saved_at: datetime
    tags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SharedRoute:
    """A route that a member shared with everybody in the server, under a name that is the server's.
    `shared_by`: the member's number on the platform."""

    id: int
    game: str
    game_version: str
    character: str
    name: str
    notation: str
    tags: tuple[str, ...]
    shared_by: int
    shared_at: datetime


@dataclass(frozen=True, slots=True)
class KeptConversion:
    """What a member does when `starter` (an input) lands in a situation: a route that they saved.

    `step`: how often it was known lately, from 0; `due_at`: when the quiz is to ask it again, None for one
    that was never asked.
    """

    id: int
    game: str
    character: str
    starter: str
    situation: str
    route: SavedRoute
    step: int = 0
    due_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class MemberSettings:
    """What a member chose in one server; None where nothing. `goal`: the rate, above 0 and below 1, from
    which a link or route is called owned. `setup` is that of the last tally. `zone`: their own IANA time
    zone; `quiet`: when they are not to be reminded. `listed`: they agreed to be named in standings of drills;
    `muted`: the bot writes to them only when they ask."""

    character: str | None = None
    goal: float | None = None
    setup: Setup = field(default=Setup())
    zone: str | None = None
    quiet: Quiet | None = None
    listed: bool = False
    muted: bool = False


class Notation(StrEnum):
    """How a server has its moves written. Any of them is understood, whichever it is."""

    NUMPAD = "numpad"
    LETTERS = "letters"


@dataclass(frozen=True, slots=True)
class ServerSettings:
    """What a server chose; None where nothing. `zone`: its IANA time zone. `coach_role`: who has this role is
    a coach, with `moderator_role` a moderator of the bot; `notice_channel`: where those are called whose
    direct messages are closed; `patch_channel`: where changes of a game are told. `notation`: how moves are
    written; `quiet`: when members who chose no hours of their own are not to be reminded. `keep_days`: how
    long tallies are kept."""

    game: str | None = None
    zone: str | None = None
    coach_role: int | None = None
    notice_channel: int | None = None
    moderator_role: int | None = None
    patch_channel: int | None = None
    notation: Notation | None = None
    quiet: Quiet | None = None
    keep_days: int | None = None


@dataclass(frozen=True, slots=True)
class DrillNote:
    """What a group drill knows of a tally: the most in a row, and what a coach said of it. `reason`: why it
    was struck, None where it was not."""

    tally_id: int
    run: int | None
    seen: bool
    reason: str | None


@dataclass(frozen=True, slots=True)
class JoinedDrill:
    """A group drill that a member took part in; `left`: and does no longer."""

    id: int
    subject: Subject
    opens_at: datetime
    closes_at: datetime
    joined_at: datetime
    left: bool
    notes: tuple[DrillNote, ...] = ()


@dataclass(frozen=True, slots=True)
class Everything:
    """All that is kept of one member in one server. `undone`: tallies that were taken out of the log.
    `coaching`: None where they neither coach nor are coached, nor ever had homework; `games`: None where they
    reported no number, and neither sent a game nor made a version of one. `deeds`: what they did as a coach
    or moderator, as the server's list has it."""

    tallies: tuple[KeptTally, ...] = ()
    routes: tuple[SavedRoute, ...] = ()
    settings: MemberSettings = field(default=MemberSettings())
    undone: tuple[KeptTally, ...] = ()
    shared: tuple[SharedRoute, ...] = ()
    conversions: tuple[KeptConversion, ...] = ()
    drills: tuple[JoinedDrill, ...] = ()
    coaching: KeptCoachData | None = None
    games: KeptGameData | None = None
    deeds: tuple[Entry, ...] = ()
