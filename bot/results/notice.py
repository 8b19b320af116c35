"""What the bot tells one member of its own accord."""

from __future__ import annotations

from enum import StrEnum


class NoticeKind(StrEnum):
    """What it is about, and whose number goes with it."""

    SEEN = "seen"
    """A coach has seen a tally of a drill; a tally's."""
    STRUCK = "struck"
    """A coach struck a tally of a drill; a tally's."""
    DRILL_LOST = "drill-lost"
    """A drill could not be posted; a drill's. It goes to who opened it."""
    COACH_ASKS = "coach-asks"
    """A coach asks to be the member's; the coaching's."""
    COACH_ACCEPTED = "coach-accepted"
    """The member accepted; the coaching's. It goes to the coach."""
    HOMEWORK_SET = "homework-set"
    """A homework is new; its number, as with all that follow."""
    DUE_SOON = "due-soon"
    """It is due in a day."""
    DUE_NOW = "due-now"
    """It is due."""
    HANDED_IN = "handed-in"
    """It goes to the coach."""
    ACCEPTED = "accepted"
    RETURNED = "returned"
    ASKED_EASIER = "asked-easier"
    """The student asks for an easier route; it goes to the coach."""
    EASIER_ANSWERED = "easier-answered"
    """The coach took the easier route, or left it as it is."""
    PATCH = "patch"
    """A new version of a game changes what is the member's; the number of a row of its own."""
    REPORT_DECIDED = "report-decided"
    """What became of a number that the member said is wrong; the report's."""
