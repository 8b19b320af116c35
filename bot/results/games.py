"""A server's own games: their versions, what is sent to become one, and numbers said to be wrong."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from bot.results.files import ColumnGuess, TableNote
from bot.results.place import Owner
from core.gamefile import Problem
from core.model import Game
from core.patches import Patch
from core.verdict import Facts

REASON_CHARACTERS = 200
REPORT_NOTE_CHARACTERS = 200


@dataclass(frozen=True, slots=True)
class Edition:
    """One version of a game file, as it is kept. `version` is the name that it has in its server, which no
    other of the same game has there; `made_by` a member's id, None where it is the host's or they erased what
    is kept of them. `server_id` is `DIRECT_MESSAGES` for the host's."""

    id: int
    server_id: int
    game: str
    version: str
    made_by: int | None
    made_at: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class EditionList:
    """Versions of a game, the newest first, those of the host's file among them. `current`: the id of the one
    that the server uses, which need not be among these; `older`: there are more before them."""

    game: Game
    editions: tuple[Edition, ...]
    current: int | None
    older: bool


@dataclass(frozen=True, slots=True)
class Contents:
    """How much a game has: characters, their moves, and rules of what cancels into what."""

    characters: int
    moves: int
    rules: int


@dataclass(frozen=True, slots=True)
class Preview:
    """What the files that a moderator sent would do to a game of the server.

    `here`: the game of the channel. `upload_id`: 0 where nothing is kept of the files, as only others can
    help. `name`, and `says`, the version that the files name, are empty, and `game` is None, where they have
    problems. `label`: what the version would be called here, as no two have one name. `before`: the server's
    present version, None where the game is new; `patch`: None then. `refusal`: why it cannot be used, though
    it can be read. `reason`: as it was typed. `moves_only`: no rules were sent.
    """

    here: Game
    upload_id: int
    problems: tuple[Problem, ...] = ()
    columns: tuple[ColumnGuess, ...] = ()
    notes: tuple[TableNote, ...] = ()
    name: str = ""
    says: str = ""
    label: str = ""
    game: Game | None = None
    contents: Contents | None = None
    before: Game | None = None
    patch: Patch | None = None
    refusal: GameRefusal | None = None
    reason: str = ""
    moves_only: bool = False

    @property
    def usable(self) -> bool:
        """Whether it can be used."""
        return self.game is not None and self.refusal is None


class GameRefusalCode(StrEnum):
    """Why something cannot be done with a server's games, with the facts its sentence needs. `near`: names
    that come near what was typed, with commas between them, or nothing."""

    NO_SERVER = "no-server"
    NO_SUCH_VERSION = "no-such-version"
    """`typed`, empty where it was a button."""
    ONE_VERSION = "one-version"
    """No other version is kept, so that there is nothing to compare with: `version`."""
    NO_SUCH_UPLOAD = "no-such-upload"
    """It was used, dropped, replaced by a later one, or is older than a day."""
    NOT_READABLE = "not-readable"
    """The upload still has problems: `count`."""
    NOTHING_NEW = "nothing-new"
    """It says what the present version says: `version`."""
    IS_CURRENT = "is-current"
    """`version`."""
    BAD_COLUMN_LINE = "bad-column-line"
    """A line of the form of columns is none of "their column = our column": `typed`, `line` from 1."""
    NO_SUCH_HEADER = "no-such-header"
    """The sheets have no column of this name: `typed`, `near`."""
    NO_SUCH_COLUMN = "no-such-column"
    """`typed`, `near`."""
    NO_SUCH_CHARACTER = "no-such-character"
    """`typed`, `near`."""
    NO_SUCH_MOVE = "no-such-move"
    """`typed`, `character`, empty where none was named, `near`."""
    WHICH_CHARACTER = "which-character"
    """Several have this move: `typed`, `names` with commas between them."""
    WHICH_MOVE = "which-move"
    """Several are called so: `typed`, `character`, `names`, their inputs."""
    WRONG_NUMBER = "wrong-number"
    """With this number the game cannot be read: `character`, `move`, `column`, `typed`, `wrong` and `right`,
    what is wrong and what would be right, as clauses."""
    SAME_NUMBER = "same-number"
    """It is so already: `character`, `move`, `column`, `number`, empty where it is left out."""
    TEXT_TOO_LONG = "text-too-long"
    """A reason or note: `most` characters."""
    TOO_MANY_GAMES = "too-many-games"
    """`most`."""
    TOO_MANY_VERSIONS = "too-many-versions"
    """`most`."""
    TOO_MANY_REPORTS = "too-many-reports"
    """`most`."""
    NO_SUCH_REPORT = "no-such-report"
    """It was decided, or is of another server."""
    CHANGED_MEANWHILE = "changed-meanwhile"
    """The number is no longer what it was when it was reported: `character`, `move`, `column`, `found`, and
    `now`, each empty where it was left out."""


@dataclass(frozen=True, slots=True)
class GameRefusal:
    """Why not. `game`: the one of the channel where it was asked."""

    game: Game
    code: GameRefusalCode
    facts: Facts = Facts()


@dataclass(frozen=True, slots=True)
class EditionChange:
    """The game of a server changed from one version to another. `before_id`: the edition before, also where
    that is one of the host's; None where the server had no game of this name. `patch`: None then. `again`:
    the same event did it before; then nothing is said of the version before."""

    edition: Edition
    game: Game
    before_id: int | None
    before: Game | None
    patch: Patch | None
    again: bool = False


class ReportStage(StrEnum):
    """What became of a report."""

    OPEN = "open"
    ACCEPTED = "accepted"
    DISMISSED = "dismissed"


@dataclass(frozen=True, slots=True)
class Report:
    """A number that a member says is wrong. `found`: what the game file had, empty where it left it out;
    `right`: what it should say."""

    id: int
    member: Owner
    game: str
    version: str
    character: str
    input: str
    column: str
    found: str
    right: str
    note: str
    made_at: datetime
    stage: ReportStage


@dataclass(frozen=True, slots=True)
class KeptGameData:
    """What is kept of a member as one who reports numbers, or as a moderator: `made`, versions of games, and
    the names of `files` that they sent and have not confirmed yet."""

    reports: tuple[Report, ...] = ()
    made: tuple[Edition, ...] = ()
    files: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReportList:
    """The reports of a server that wait, the oldest first; `more` how many wait besides these. `game`: the
    one of the channel where they are looked at."""

    game: Game
    reports: tuple[Report, ...]
    more: int
