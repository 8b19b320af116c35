"""A server's own games: their versions, what is sent to become one, and numbers said to be wrong."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from bot.results.place import Owner
from core.model import Game
from core.patches import Patch
from core.verdict import Facts

REASON_CHARACTERS = 200
REPORT_NOTE_CHARACTERS = 200


@dataclass(frozen=True, slots=True)
class Edition:
    """One version of a game file, as it is kept. `version` is the name that it has in its server, which no
    other of the same game has there; `made_by` a member's id, None where it is the host's or they are gone."""

    id: int
    server_id: int
    game: str
    version: str
    made_by: int | None
    made_at: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class EditionList:
    """The versions of a game, the newest first; `current` is None where the host's own file is used."""

    game: Game
    editions: tuple[Edition, ...]
    current: int | None
    older: bool


class GameRefusalCode(StrEnum):
    """Why something cannot be done with a server's games, with the facts its sentence needs."""

    NO_SERVER = "no-server"
    NO_SUCH_GAME = "no-such-game"
    NO_SUCH_VERSION = "no-such-version"
    NO_SUCH_UPLOAD = "no-such-upload"
    """It was used, dropped, replaced by a later one, or is older than a day."""
    NOT_READABLE = "not-readable"
    """The upload still has problems."""
    NOTHING_NEW = "nothing-new"
    """It says what the present version says."""
    IS_CURRENT = "is-current"
    NO_SUCH_MOVE = "no-such-move"
    NO_SUCH_COLUMN = "no-such-column"
    WRONG_NUMBER = "wrong-number"
    """The game with this number cannot be read: `problem`."""
    SAME_NUMBER = "same-number"
    TOO_MANY_GAMES = "too-many-games"
    TOO_MANY_VERSIONS = "too-many-versions"
    TOO_MANY_REPORTS = "too-many-reports"
    NO_SUCH_REPORT = "no-such-report"
    """It was decided, or is of another server."""
    CHANGED_MEANWHILE = "changed-meanwhile"
    """The number is no longer what it was when it was reported."""


@dataclass(frozen=True, slots=True)
class GameRefusal:
    """Why not. `game`: the one of the channel where it was asked."""

    game: Game
    code: GameRefusalCode
    facts: Facts = Facts()


@dataclass(frozen=True, slots=True)
class EditionChange:
    """The game of a server changed from one version to another. `before_id`: the edition before, also where
    that is one of the host's; None where the server had no game of this name. `patch`: None then."""

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
    """A number that a member says is wrong. `found` is what the game file had, `right` what it should say."""

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
