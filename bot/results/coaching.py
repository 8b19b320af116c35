"""Coaches and their students, and the homework between them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from bot.results.notice import NoticeKind
from bot.results.place import Owner
from bot.results.tally import KeptTally, Subject
from core.learning.homework import Progress, Stage, Status, Target
from core.verdict import Facts

HOMEWORK_NOTE_CHARACTERS = 300
STUDENT_NOTE_CHARACTERS = 500
COMMENT_CHARACTERS = 300
CLIP_CHARACTERS = 200
PAGE = 10
"""Students, or pieces of homework, on a page."""


class TargetKind(StrEnum):
    """What is counted."""

    CLEAN_REPS = "clean-reps"
    RATE = "rate"
    MATCHES = "matches"


@dataclass(frozen=True, slots=True)
class Coaching:
    """Whom a coach asked; `accepted_at` is None while the member has not said yes."""

    id: int
    coach: Owner
    student: Owner
    asked_at: datetime
    accepted_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Ended:
    """A coaching that is over, and who ended it."""

    coaching: Coaching
    by_coach: bool


@dataclass(frozen=True, slots=True)
class HomeworkAsked:
    """Homework as it was typed. `rate`: a percentage, of TargetKind.RATE; None for the student's own goal."""

    what: str
    target: TargetKind
    amount: int
    due: str
    rate: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class KeptHomework:
    """One student's homework. `coach`: None once they erased what is kept of them. `easier`: the route that
    the student asked for in its place; it stays where the coach took it."""

    id: int
    coach: Owner | None
    student: Owner
    subject: Subject
    target: Target
    note: str
    set_at: datetime
    due_at: datetime
    stage: Stage = Stage.SET
    handed_in_at: datetime | None = None
    hand_in_note: str = ""
    clip: str = ""
    reviewed_at: datetime | None = None
    review_note: str = ""
    easier: str | None = None

    @property
    def asks_easier(self) -> bool:
        """Whether the coach has yet to say what they think of the easier route."""
        return self.easier is not None and self.easier != self.subject.what

    @property
    def waits_for_coach(self) -> bool:
        """Whether the coach is the one to do something with it."""
        return self.stage is Stage.HANDED_IN or self.asks_easier

    @property
    def took_easier(self) -> bool:
        """Whether the coach put an easier route in its place."""
        return self.easier == self.subject.what


@dataclass(frozen=True, slots=True)
class ClipComment:
    """What the coach said of a clip. `at_seconds`: from its beginning; None for the whole."""

    at_seconds: int | None
    text: str
    made_at: datetime


@dataclass(frozen=True, slots=True)
class HomeworkView:
    """A homework with how far it is. `subject_id`: in the student's log; 0 where they never practised it.
    `coached`: whether the coach is still the student's, so that somebody looks at it."""

    homework: KeptHomework
    progress: Progress
    status: Status
    subject_id: int
    comments: tuple[ClipComment, ...] = ()
    coached: bool = True


@dataclass(frozen=True, slots=True)
class EasierRoute:
    """A route that begins as a homework's does and lands more often. `chance`, `chance_now`: that all of the
    one and of the homework's lands, with the student's hands."""

    view: HomeworkView
    what: str
    chance: float
    chance_now: float
    damage: int


@dataclass(frozen=True, slots=True)
class HomeworkSet:
    """What was set, and for whom it was not: by member id, with the reason."""

    homework: tuple[KeptHomework, ...]
    refused: tuple[tuple[int, CoachRefusal], ...] = ()


@dataclass(frozen=True, slots=True)
class HomeworkPage:
    """Homework of a student, or a coach's to look at; `page` of `pages`, from 0."""

    views: tuple[HomeworkView, ...]
    page: int = 0
    pages: int = 1


@dataclass(frozen=True, slots=True)
class StudentRow:
    """A student on the coach's board. `gap`: by how much less is landed in matches than in training, as a
    share; None for too few tries to tell. `stuck_on`: None where nothing is known to be."""

    coaching: Coaching
    homework: tuple[HomeworkView, ...]
    """What is not accepted yet, that due first first."""
    last_practice: datetime | None
    gap: float | None
    stuck_on: Subject | None


@dataclass(frozen=True, slots=True)
class CoachBoard:
    """A coach's students, those who wait for the coach first, then by the earliest due homework."""

    rows: tuple[StudentRow, ...]
    asked: tuple[Coaching, ...]
    """Those who have not answered yet."""
    students: int
    page: int = 0
    pages: int = 1


@dataclass(frozen=True, slots=True)
class CoachNote:
    """What the coach noted."""

    id: int
    text: str
    made_at: datetime


@dataclass(frozen=True, slots=True)
class StudentPage:
    """One student, for their coach: the homework that this coach set, the last set first, what they logged
    last, and the coach's notes, the newest first; `PAGE` of each at most."""

    row: StudentRow
    homework: tuple[HomeworkView, ...]
    latest: tuple[KeptTally, ...]
    notes: tuple[CoachNote, ...]


@dataclass(frozen=True, slots=True)
class KeptCoachData:
    """What is kept of a member as a coach and as a student. `comments` by the homework's number, on their own
    homework; `notes` as a coach, by whom they are of. What coaches noted of them is not theirs to read."""

    coachings: tuple[Coaching, ...] = ()
    homework: tuple[KeptHomework, ...] = ()
    comments: tuple[tuple[int, ClipComment], ...] = ()
    set_for_others: tuple[KeptHomework, ...] = ()
    notes: tuple[tuple[Owner, CoachNote], ...] = ()


@dataclass(frozen=True, slots=True)
class CoachNotice:
    """What is told to somebody unasked. `coaching`: of a coach who asks and of one who was accepted; `view`:
    of all that is about homework."""

    kind: NoticeKind
    to: Owner
    coaching: Coaching | None = None
    view: HomeworkView | None = None


@dataclass(frozen=True, slots=True)
class StuckLink:
    """Something that several of a coach's students are stuck on: what they landed of their latest tries."""

    subject: Subject
    students: tuple[Owner, ...]
    landed: int
    tries: int


class CoachRefusalCode(StrEnum):
    """Why something cannot be done, with the facts its sentence needs."""

    NO_SERVER = "coach-no-server"
    """Coaches and students are of a server, and here is none."""
    YOURSELF = "yourself"
    """Nobody coaches themselves."""
    A_BOT = "a-bot"
    ASKED_ALREADY = "asked-already"
    """The member has not answered yet."""
    STUDENT_ALREADY = "student-already"
    NOT_STUDENT = "not-student"
    """The member has not accepted this coach, or it is over."""
    NO_SUCH_COACHING = "no-such-coaching"
    """It is over, or is not between this member and anybody."""
    NO_STUDENTS = "no-students"
    """Nobody has accepted this coach yet."""
    TOO_MANY_STUDENTS = "too-many-students"
    """most."""
    COACH_GONE = "coach-gone"
    """The coaching of this homework is over: nobody looks at it any more."""
    HAS_IT = "has-it"
    """The very same homework is open for this student."""
    NO_SUCH_HOMEWORK = "no-such-homework"
    """It does not exist (any more), or is not between this member and anybody."""
    TOO_MUCH_HOMEWORK = "too-much-homework"
    """most: so much is open for this student."""
    NO_DUE = "no-due"
    """typed: it is no day or moment."""
    DUE_IN_PAST = "due-in-past"
    """typed."""
    DUE_TOO_FAR = "due-too-far"
    """typed, most (days)."""
    BAD_AMOUNT = "bad-amount"
    """amount, least, most."""
    BAD_RATE = "bad-rate"
    """rate, least, most: in percent."""
    TOO_LONG = "coach-too-long"
    """field, most."""
    TOO_MANY = "coach-too-many"
    """field (notes or comments), most."""
    NO_TEXT = "coach-no-text"
    """A note or comment without a word."""
    BAD_CLIP = "bad-clip"
    """typed: it is no link to a clip."""
    NO_CLIP = "no-clip"
    """There is no clip to say anything of."""
    WRONG_STAGE = "wrong-stage"
    """stage: the step cannot be taken there (handing in twice, say)."""
    NO_NOTE = "no-note"
    """A homework is returned with a note, and there is none."""
    NO_CLIP_TIME = "no-clip-time"
    """typed: it is no place in a clip."""
    NO_EASIER = "no-easier"
    """No easier route was found, or what is practised is no route."""
    NOT_ASKED = "not-asked"
    """Nobody waits for an easier route: that is answered, or the homework was handed in."""
    NOBODY_NAMED = "nobody-named"
    """Neither a student nor a role."""
    NO_SUCH_ROLE = "nobody-with-role"
    """None of the coach's students has this role."""
    BAD_QUIET = "bad-quiet"
    """typed: they are no hours of the day."""
    BAD_ZONE = "bad-zone"
    """typed, near (names, joined)."""


@dataclass(frozen=True, slots=True)
class CoachRefusal:
    """Nothing was stored or changed, and why."""

    code: CoachRefusalCode
    facts: Facts = Facts()
