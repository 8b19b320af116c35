"""Which character and which moves a reading of a question speaks of. Never a guess."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bot.results.ask import (
    Ambiguous,
    Candidate,
    Kind,
    Named,
    NothingBefore,
    Phrase,
    Question,
    UnknownName,
)
from bot.services.asker import Asker
from bot.services.classes import MoveClass, class_of
from bot.services.moves import MoveFinder, under
from bot.words.tables import PAIRED, tables
from bot.words.tokens import tokens
from core.links import link
from core.model import Character, Contact, Move
from core.notation import NotationError
from core.verdict import Answer

FIRSTS = 4
SHORTEST_NAME = 4
_SEPARATORS = {",", ";", ">", "->", "=>", "→", "~", "xx"}
"""Words that stand between moves: what has them is no name."""
_LISTS = {
    Kind.CANCEL: Kind.CANCELS_AFTER,
    Kind.LINK: Kind.LINKS_AFTER,
    Kind.COMBO: Kind.FOLLOW_UPS,
}


@dataclass(frozen=True, slots=True)
class Resolved:
    """A reading whose moves are found. `character` has the moves as the control scheme asked about
    gives them; `punisher` is who is to punish (None: anybody), `against` whom else it is about,
    `among` the moves that a list is asked of (None: all)."""

    question: Question
    character: Character
    moves: tuple[Move, ...]
    only_choice: bool = False
    punisher: Character | None = None
    against: Character | None = None
    among: MoveClass | None = None


@dataclass(frozen=True, slots=True)
class Failed:
    """A reading with a name that is not known; how many of its moves were found. `error`: why the
    name is no move; the names near it are looked for only when they are wanted."""

    unknown: UnknownName
    found: int
    loose: bool
    error: NotationError | None = None

    @property
    def refusal(self) -> UnknownName:
        """The refusal, with the names that look most like this one."""
        return self.unknown if self.error is None else replace(self.unknown, near=self.error.near)

    @property
    def _sense(self) -> tuple[int, bool, int]:
        """More moves found, then words that say what is asked, then fewer letters not understood."""
        return self.found, not self.loose, -len(self.unknown.name)

    def nearer_than(self, other: Failed | None) -> bool:
        """Whether this reading makes more sense."""
        return other is None or self._sense > other._sense

    @property
    def tells(self) -> bool:
        """Whether it is likelier that a name is wrong than that the question is about something else."""
        name, question = self.unknown.name, self.unknown.question
        if _SEPARATORS & {token.word for token in tokens(name)}:
            return False
        if self.found or any(map(str.isdigit, name)):
            return True
        about_anything = self.loose or question is None or question.kind is Kind.MOVE
        return not about_anything or (len(name) >= SHORTEST_NAME and bool(self.refusal.near))


Outcome = Resolved | Ambiguous | Failed | NothingBefore


class Resolver:
    """Finds what readings of questions about one game speak of."""

    def __init__(self, finder: MoveFinder) -> None:
        self._finder = finder
        self._game = finder.game

    def resolve(self, question: Question, asker: Asker) -> Outcome:
        """The reading with its characters and moves found."""
        said = question.said
        named: dict[str, Character | None] = {}
        for role, phrase in (("mine", said.mine), ("theirs", said.theirs), ("owner", said.owner)):
            named[role] = self._finder.character(phrase.meant) if phrase else None
            if phrase and named[role] is None:
                refusal = self._finder.unknown_character(question.text, phrase.text, phrase)
                return Failed(replace(refusal, question=question), 0, question.loose)
        punish = question.kind is Kind.PUNISH
        me = named["mine"] or asker.mine
        owner = named["owner"] or (named["theirs"] if punish else named["mine"])
        recalled = self._recalled(question, asker, owner)
        if isinstance(recalled, NothingBefore):
            return recalled
        if recalled is not None:
            question, owner = recalled
        owner = owner or asker.owner or (None if punish else me)
        outcome = self._moves(question, (owner,) if owner else self._game.characters, asker.scheme)
        if not isinstance(outcome, Resolved):
            return outcome
        if punish:
            scheme = said.scheme or asker.scheme
            return replace(outcome, punisher=under(me, scheme) if me else None)
        return replace(outcome, against=named["theirs"])

    def _recalled(
        self, question: Question, asker: Asker, owner: Character | None
    ) -> tuple[Question, Character | None] | NothingBefore | None:
        """The question with "it" and "that" replaced by what they stand for; None where it has none."""
        recent = asker.recent
        if recent is not None and recent.game != self._game.name:
            recent = None
        who = self._finder.character(recent.character) if recent else None
        lone = question.kind in PAIRED and question.second is None
        if question.pair or lone:
            wanted = None if question.pair else question.first
            if recent and who and len(recent.moves) > 1:
                last = self._finder.move(wanted.meant, owner or who, asker.scheme) if wanted else None
                if last is None or (isinstance(last, Move) and last.input == recent.moves[1]):
                    first, second = (replace(question.first, mended=move) for move in recent.moves[:2])
                    return replace(question, first=first, second=second, pair=False), owner or who
            return self._which(question, asker, owner or asker.owner or asker.mine, wanted)
        if not any(_is_pronoun(phrase) for phrase in question.called):
            return None
        if recent is None or who is None:
            pair = question.second is not None
            return NothingBefore(self._game, question.text, question, pair, ())
        first, *rest = (
            replace(phrase, mended=recent.moves[-1]) if _is_pronoun(phrase) else phrase
            for phrase in question.called
        )
        return replace(question, first=first, second=rest[0] if rest else None), owner or who

    def _which(
        self, question: Question, asker: Asker, owner: Character | None, wanted: Phrase | None
    ) -> NothingBefore:
        """The question back: which two moves? With moves that the one named links from, if there are."""
        pair = NothingBefore(self._game, question.text, question, True, ())
        if wanted is None or owner is None:
            return pair
        second = self._finder.move(wanted.meant, owner, asker.scheme)
        if not isinstance(second, Move):
            return pair
        firsts = tuple(
            first
            for first in owner.moves
            if link(self._game, owner, first, second, Contact()).answer is Answer.YES
        )
        return replace(pair, character=owner, move=second, firsts=firsts[:FIRSTS])

    def _moves(self, question: Question, owners: Sequence[Character], scheme: str | None) -> Outcome:
        """The moves, of the only one of the owners who has them all."""
        fitting: list[Resolved] = []
        unsure: list[tuple[Character, Phrase, tuple[Move, ...]]] = []
        failed: Failed | None = None
        scheme = None if question.kind is Kind.PUNISH else question.said.scheme or scheme
        for owner in owners:
            tried = self._listed(question, owner, scheme, len(owners) > 1)
            if isinstance(tried, Resolved):
                fitting.append(tried)
                continue
            found = tuple(one for one in tried if isinstance(one, Move))
            wrong = [
                (phrase, error)
                for phrase, error in zip(question.called, tried, strict=False)
                if isinstance(error, NotationError)
            ]
            phrase, error = next(((p, e) for p, e in wrong if not e.candidates), wrong[0])
            if error.candidates:
                unsure.append((owner, phrase, error.candidates))
                continue
            alone = owner if len(owners) == 1 or found else None
            refusal = UnknownName(
                self._game, question.text, Named.MOVE, phrase.text, phrase, (), (), alone, question
            )
            attempt = Failed(refusal, len(found), question.loose, error)
            if attempt.nearer_than(failed):
                failed = attempt
        return self._choice(question, fitting, unsure) or failed or self._nobody(question)

    def _listed(
        self, question: Question, owner: Character, scheme: str | None, open_owner: bool
    ) -> Resolved | list[Move | NotationError]:
        """The reading as this owner's, or for each of its moves what was found."""
        who = under(owner, scheme)
        tried: list[Move | NotationError] = []
        among: MoveClass | None = None
        for place, phrase in enumerate(question.called):
            found = self._finder.move(phrase.meant, owner, scheme)
            group = class_of(phrase.meant, self._game, who) if isinstance(found, NotationError) else None
            if group is not None and len(group.moves) == 1:
                found = group.moves[0]
            elif group is not None and place and group.is_list and question.kind in _LISTS:
                among = group
                continue
            elif group is not None and group.moves and isinstance(found, NotationError):
                found = NotationError(phrase.text, 0, len(phrase.text), found.reason, (), group.moves)
            tried.append(found)
        moves = tuple(found for found in tried if isinstance(found, Move))
        if len(moves) < len(tried):
            return tried
        kind = question.kind if among is None else _LISTS[question.kind]
        return Resolved(replace(question, kind=kind), who, moves, open_owner, among=among)

    def _choice(
        self,
        question: Question,
        fitting: list[Resolved],
        unsure: list[tuple[Character, Phrase, tuple[Move, ...]]],
    ) -> Resolved | Ambiguous | None:
        if len(fitting) == 1 and not unsure:
            return fitting[0]
        if len(unsure) == 1 and not fitting:
            owner, phrase, moves = unsure[0]
            candidates = tuple(Candidate(owner, move) for move in moves)
            return Ambiguous(self._game, question.text, phrase, candidates, question)
        if not fitting and not unsure:
            return None
        whose = [Candidate(one.character) for one in fitting] + [Candidate(owner) for owner, _, _ in unsure]
        return Ambiguous(self._game, question.text, question.first, tuple(whose), question)

    def _nobody(self, question: Question) -> Failed:
        phrase = question.first
        refusal = UnknownName(self._game, question.text, Named.MOVE, phrase.text, phrase, (), ())
        return Failed(refusal, 0, question.loose)


def _is_pronoun(phrase: Phrase) -> bool:
    return " ".join(token.word for token in tokens(phrase.meant)) in tables().pronouns
