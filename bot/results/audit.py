"""What moderators and coaches did."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

WHAT_CHARACTERS = 200


class Deed(StrEnum):
    """What was done; beside it stands what it was done to, in words."""

    GAME_CHOSEN = "game-chosen"
    CHANNEL_GAME = "channel-game"
    GAME_LOADED = "game-loaded"
    VERSION_USED = "version-used"
    NUMBER_EDITED = "number-edited"
    REPORT_ACCEPTED = "report-accepted"
    REPORT_DISMISSED = "report-dismissed"
    PATCH_POSTED = "patch-posted"
    SETTING = "setting"
    DRILL_OPENED = "drill-opened"
    DRILL_PLANNED = "drill-planned"
    DRILL_UNPLANNED = "drill-unplanned"
    DRILL_WEEKLY = "drill-weekly"
    DRILL_STOPPED = "drill-stopped"
    DRILL_MOVED = "drill-moved"
    DRILL_CANCELLED = "drill-cancelled"
    TALLY_SEEN = "tally-seen"
    TALLY_STRUCK = "tally-struck"
    TALLY_COUNTED = "tally-counted"
    STUDENT_ASKED = "student-asked"
    COACHING_ENDED = "coaching-ended"
    HOMEWORK_SET = "homework-set"
    HOMEWORK_ACCEPTED = "homework-accepted"
    HOMEWORK_RETURNED = "homework-returned"
    ROUTE_REMOVED = "route-removed"


@dataclass(frozen=True, slots=True)
class Entry:
    """One deed. `made_by`: a member's id; None where they have erased what is kept of them, or the bot did it
    of its own accord."""

    id: int
    made_by: int | None
    made_at: datetime
    deed: Deed
    what: str
