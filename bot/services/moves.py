"""Which character and which moves a question speaks of. Never a guess."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from rapidfuzz import process

from bot.results.ask import Ambiguous, Candidate, Kind, Named, Phrase, Question, UnknownName
from bot.words.tokens import tokens
from bot.words.understand import vocabulary
from core.model import Character, Game, Move
from core.notation import MOVE_LIMIT, NotationError, book_of

NEAR_NAMES = 3
NEAR_SCORE = 60
_SEPARATORS = {",", ";", ">", "->", "=>", "→", "~", "xx"}
"""Words that stand between moves: what has them is no name."""


@dataclass(frozen=True, slots=True)
class Resolved:
    """A reading whose moves are found. `character` has the moves as the control scheme asked about
    gives them; `punisher` is who is to punish (None: anybody), `against` whom else it is about."""

    question: Question
    character: Character
    moves: tuple[Move, ...]
    only_choice: bool = False
    punisher: Character | None = None
    against: Character | None = None


@dataclass(frozen=True, slots=True)
class Failed:
    """A reading with a name that is not known; how many of its moves were found."""

    refusal: UnknownName
    found: int
    loose: bool

    @property
    def _sense(self) -> tuple[int, bool, int]:
        """More moves found, then words that say what is asked, then fewer letters not understood."""
        return self.found, not self.loose, -len(self.refusal.name)

    def nearer_than(self, other: Failed | None) -> bool:
        """Whether this reading makes more sense."""
        return other is None or self._sense > other._sense

    @property
    def tells(self) -> bool:
        """Whether it is likelier that a name is wrong than that the question is about something else."""
        name = self.refusal.name
        if _SEPARATORS & {token.word for token in tokens(name)}:
            return False
        return bool(not self.loose or self.found or self.refusal.near or any(map(str.isdigit, name)))


class MoveFinder:
    """Finds the characters and moves of one game in readings of questions."""

    def __init__(self, game: Game) -> None:
        self._game = game
        self.known = vocabulary(game)

    def character(self, name: str) -> Character | None:
        """The character of this name or alias, in any case."""
        meant = self.known["character"].meaning(tokens(name))
        return next((who for who in self._game.characters if who.name == meant), None)

    def scheme(self, name: str) -> str | None:
        """The control scheme of this name or alias, in any case."""
        return self.known["scheme"].meaning(tokens(name))

    def unknown_character(self, text: str, name: str, place: Phrase | None) -> UnknownName:
        """The refusal of a name that no character has."""
        names = [called for who in self._game.characters for called in (who.name, *who.aliases)]
        close = process.extract(
            name, names, processor=str.casefold, limit=NEAR_NAMES, score_cutoff=NEAR_SCORE
        )
        found = [self.character(called) for called, _, _ in close]
        near = tuple(dict.fromkeys(who.name for who in found if who is not None))
        return UnknownName(self._game, text, Named.CHARACTER, name, place, near, ())

    def unknown_scheme(self, text: str, name: str) -> UnknownName:
        """The refusal of a name that no control scheme has."""
        return UnknownName(
            self._game,
            text,
            Named.SCHEME,
            name,
            None,
            tuple(scheme.name for scheme in self._game.schemes),
            (),
        )

    def resolve(self, question: Question, mine: Character | None) -> Resolved | Ambiguous | Failed:
        """The reading with its characters and moves found. `mine`: the asker's own character."""
        said = question.said
        named: dict[str, Character | None] = {}
        for role, phrase in (("mine", said.mine), ("theirs", said.theirs), ("owner", said.owner)):
            named[role] = self.character(phrase.text) if phrase else None
            if phrase and named[role] is None:
                refusal = self.unknown_character(question.text, phrase.text, phrase)
                return Failed(refusal, 0, question.loose)
        punish = question.kind is Kind.PUNISH
        me = named["mine"] or mine
        owner = named["owner"] or (named["theirs"] if punish else me)
        outcome = self._moves(question, (owner,) if owner else self._game.characters)
        if not isinstance(outcome, Resolved):
            return outcome
        if punish:
            return replace(outcome, punisher=under(me, said.scheme) if me else None)
        return replace(outcome, against=named["theirs"])

    def _moves(self, question: Question, owners: Sequence[Character]) -> Resolved | Ambiguous | Failed:
        """The moves, of the only one of the owners who has them all."""
        fitting: list[Resolved] = []
        unsure: list[tuple[Character, Phrase, tuple[Move, ...]]] = []
        failed: Failed | None = None
        scheme = None if question.kind is Kind.PUNISH else question.said.scheme
        for owner in owners:
            tried = [self._find(phrase, owner, scheme) for phrase in question.called]
            moves = tuple(found for found in tried if isinstance(found, Move))
            if len(moves) == len(tried):
                alone = len(owners) > 1
                fitting.append(Resolved(question, under(owner, scheme), moves, alone))
                continue
            wrong = [
                (phrase, error)
                for phrase, error in zip(question.called, tried, strict=True)
                if isinstance(error, NotationError)
            ]
            phrase, error = next(((p, e) for p, e in wrong if not e.candidates), wrong[0])
            if error.candidates:
                unsure.append((owner, phrase, error.candidates))
                continue
            refusal = UnknownName(
                self._game,
                question.text,
                Named.MOVE,
                phrase.text,
                phrase,
                error.near,
                (),
                owner if len(owners) == 1 or moves else None,
            )
            attempt = Failed(refusal, len(moves), question.loose)
            if attempt.nearer_than(failed):
                failed = attempt
        return self._choice(question, fitting, unsure) or failed or self._nobody(question)

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
            return Ambiguous(self._game, question.text, phrase, candidates)
        if not fitting and not unsure:
            return None
        whose = [Candidate(one.character) for one in fitting] + [Candidate(owner) for owner, _, _ in unsure]
        return Ambiguous(self._game, question.text, question.first, tuple(whose))

    def _nobody(self, question: Question) -> Failed:
        phrase = question.first
        refusal = UnknownName(self._game, question.text, Named.MOVE, phrase.text, phrase, (), ())
        return Failed(refusal, 0, question.loose)

    def _find(self, phrase: Phrase, owner: Character, scheme: str | None) -> Move | NotationError:
        if len(phrase.text) > MOVE_LIMIT:
            return NotationError(phrase.text, 0, len(phrase.text), "too long for a move")
        try:
            return book_of(self._game, owner, scheme).find(phrase.text)
        except NotationError as error:
            return error


def under(character: Character, scheme: str | None) -> Character:
    """The character with all moves as a control scheme has them."""
    if scheme is None:
        return character
    return replace(character, moves=tuple(move.under(scheme) for move in character.moves))
