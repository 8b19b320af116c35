"""A question in plain words, what was understood of it, and its answer; or a typed refusal."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from core.blocks import Gap, PunishAnswer
from core.followups import FollowUp
from core.model import Character, Contact, ContactKind, Effect, Game, Move, Range
from core.verdict import Answer, Missing, Verdict

QUESTION_CHARACTERS = 300
QUESTION_WORDS = 60
"""The longest question that is read."""


class Kind(StrEnum):
    """What is asked."""

    LINK = "link"
    CANCEL = "cancel"
    COMBO = "combo"
    WINDOW = "window"
    LINKS_AFTER = "links-after"
    CANCELS_AFTER = "cancels-after"
    FOLLOW_UPS = "follow-ups"
    LEARN = "learn"
    GAP = "gap"
    PUNISH = "punish"
    SAFE = "safe"
    MOVE = "move"
    CONFIRM = "confirm"
    MEATY = "meaty"
    SAFE_JUMP = "safe-jump"
    PLUS = "plus"
    EARLY = "early"
    LATE = "late"


@dataclass(frozen=True, slots=True)
class Phrase:
    """A piece of the question as it was typed, and its place in it as a slice. `mended`: its words
    with a slip of the keyboard put right; None where there was none."""

    text: str
    start: int
    end: int
    mended: str | None = None

    @property
    def meant(self) -> str:
        """The words to look up."""
        return self.text if self.mended is None else self.mended


@dataclass(frozen=True, slots=True)
class Said:
    """What a question says beside its moves; None where it does not say.

    `state` and `scheme` are names as the game has them. `meaty` without `active_frame`: late, but
    not how late. `mine` is the asker's character, `theirs` the opponent's; `owner` is whoever's
    moves are named ("Garrow's 236HK").
    """

    contact: ContactKind | None = None
    state: str | None = None
    meaty: bool = False
    active_frame: int | None = None
    hits_before: int | None = None
    distance: float | None = None
    delay_frames: int | None = None
    reversal_startup_frames: int | None = None
    scheme: str | None = None
    mine: Phrase | None = None
    theirs: Phrase | None = None
    owner: Phrase | None = None


@dataclass(frozen=True, slots=True)
class Question:
    """One reading of a question: its kind, and the moves as they were called, not yet looked up.

    `loose`: it was read so for its moves alone; no word in it says what is asked. `pair`: `first`
    stands for both moves of the pair asked about before ("is that real?").
    """

    text: str
    kind: Kind
    first: Phrase
    second: Phrase | None = None
    said: Said = Said()
    loose: bool = False
    pair: bool = False

    @property
    def called(self) -> tuple[Phrase, ...]:
        """The moves as they were called, in order."""
        return (self.first,) if self.second is None else (self.first, self.second)


@dataclass(frozen=True, slots=True)
class PunishBy:
    """What one character has against a blocked move."""

    character: Character
    answer: PunishAnswer


@dataclass(frozen=True, slots=True)
class Advantage:
    """What a touch leaves the attacker: its effect, and by how many frames they are free first."""

    effect: Effect
    frames: Range | Missing


@dataclass(frozen=True, slots=True)
class MoveFacts:
    """What a move's card draws on: whether it is safe, and all that follows it on hit."""

    safe: Verdict
    follow_ups: tuple[FollowUp, ...]


@dataclass(frozen=True, slots=True)
class Gaps:
    """The gap of each way in which the second move can follow on block, the tightest means first."""

    ways: tuple[Gap, ...]


@dataclass(frozen=True, slots=True)
class Punishes:
    """What the characters in question have against a blocked move."""

    by: tuple[PunishBy, ...]


@dataclass(frozen=True, slots=True)
class Followers:
    """Every move of the character, judged as a follow-up."""

    moves: tuple[FollowUp, ...]


Detail = Verdict | FollowUp | Gaps | Followers | Punishes | MoveFacts | Advantage


@dataclass(frozen=True, slots=True)
class Asked:
    """An answered question.

    `character` does the moves (for a punish: the one who is punished). `only_choice`: nobody named
    that character, but no other has these moves. `among`: the kind of moves that a list was asked
    of, as it was called ("special"). `detail` is what the engine said: a FollowUp for link, cancel,
    combo, window, early and late; Gaps, Followers, Punishes, Advantage and MoveFacts for what their
    names say; else a Verdict. `reversal_startup_frames`: what a safe jump was judged against.
    """

    question: Question
    game: Game
    character: Character
    moves: tuple[Move, ...]
    contact: Contact
    detail: Detail
    only_choice: bool = False
    reversal_startup_frames: int | None = None
    among: str | None = None

    @property
    def kind(self) -> Kind:
        """What was asked."""
        return self.question.kind

    @property
    def answer(self) -> Answer | None:
        """Yes, no or unknown; None for a move's card and where the question does not arise."""
        return _answer(self.kind, self.detail)


def _answer(kind: Kind, detail: Detail) -> Answer | None:
    match detail:
        case Verdict():
            return detail.answer
        case FollowUp():
            if kind in (Kind.EARLY, Kind.LATE):
                return None
            if kind is Kind.CANCEL:
                return detail.cancel.legal.answer
            return detail.link.answer if kind is Kind.LINK else detail.verdict.answer
        case Gaps():
            verdict = detail.ways[0].verdict
            known = "gap_frames" in verdict.evidence or verdict.answer is Answer.UNKNOWN
            return verdict.answer if known else None
        case Punishes():
            return _any([by.answer.verdict.answer for by in detail.by])
        case Followers():
            return _any([_following(kind, move) for move in detail.moves])
        case Advantage():
            return _plus(detail)
        case MoveFacts():
            return None


def _plus(found: Advantage) -> Answer:
    if found.effect is not Effect.STAND:
        return Answer.YES
    if isinstance(found.frames, Missing) or found.frames.low <= 0 < found.frames.high:
        return Answer.UNKNOWN
    return Answer.YES if found.frames.low > 0 else Answer.NO


def _following(kind: Kind, move: FollowUp) -> Answer:
    if kind is Kind.LINKS_AFTER:
        return move.link.answer
    return move.cancel.legal.answer if kind is Kind.CANCELS_AFTER else move.verdict.answer


def _any(answers: list[Answer]) -> Answer:
    return next((answer for answer in (Answer.YES, Answer.UNKNOWN) if answer in answers), Answer.NO)


@dataclass(frozen=True, slots=True)
class NotUnderstood:
    """No reading of the question fits. `examples` are questions this game answers.

    `too_long`: it was not read at all, for it has more characters or words than a question may.
    """

    game: Game
    text: str
    examples: tuple[str, ...]
    too_long: bool = False


class Named(StrEnum):
    """What a name that is not known should have named."""

    MOVE = "move"
    CHARACTER = "character"
    SCHEME = "scheme"
    GAME = "game"


@dataclass(frozen=True, slots=True)
class UnknownName:
    """A move, character or control scheme that the game does not have. `place` is None where the name did not
    stand in the question; `near` are names it has that look most like it, `of` the character who was
    searched, None where everybody was; `question` is the reading that the name stands in."""

    game: Game
    text: str
    what: Named
    name: str
    place: Phrase | None
    near: tuple[str, ...]
    examples: tuple[str, ...]
    of: Character | None = None
    question: Question | None = None


@dataclass(frozen=True, slots=True)
class Candidate:
    """One thing that a name may mean: a move, a character, or one character's move. `question`: the
    reading it belongs to, where that is another than the refusal's."""

    character: Character | None
    move: Move | None = None
    question: Question | None = None


@dataclass(frozen=True, slots=True)
class Ambiguous:
    """A name that may mean several things; nothing is guessed. `place` is the name as it was typed,
    `question` the reading that it stands in."""

    game: Game
    text: str
    place: Phrase
    candidates: tuple[Candidate, ...]
    question: Question


@dataclass(frozen=True, slots=True)
class NoSuchFrame:
    """A question about an active frame on which the move cannot touch."""

    game: Game
    text: str
    move: Move
    active_frame: int


@dataclass(frozen=True, slots=True)
class NothingBefore:
    """A question about "it" or "that" where nothing was asked about before, or too long ago.

    `kind` is what was asked, `pair` whether it needs two moves. `move` is the second of them where
    it was named, `character` whose it is; `firsts` are moves that it links from.
    """

    game: Game
    text: str
    question: Question
    pair: bool
    examples: tuple[str, ...]
    character: Character | None = None
    move: Move | None = None
    firsts: tuple[Move, ...] = ()


@dataclass(frozen=True, slots=True)
class TwoQuestions:
    """Several questions at once: none is answered before the asker has picked one. `parts` are the
    questions, each answered or waiting for one choice."""

    game: Game
    text: str
    parts: tuple[Asked | Ambiguous, ...]


@dataclass(frozen=True, slots=True)
class OtherGame:
    """A button of a question about another game than this server's."""

    game: Game
    text: str


@dataclass(frozen=True, slots=True)
class Welcome:
    """What a newcomer sees: the server's game, and questions that it answers."""

    game: Game
    examples: tuple[str, ...]


Refusal = NotUnderstood | UnknownName | Ambiguous | NoSuchFrame | NothingBefore | TwoQuestions | OtherGame
