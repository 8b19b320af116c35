"""A question in words -> its answer from one game, or a typed refusal."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from bot.results.ask import (
    Ambiguous,
    Asked,
    Candidate,
    Kind,
    NothingBefore,
    NotUnderstood,
    Question,
    Refusal,
    TwoQuestions,
    UnknownName,
)
from bot.services.answers import contact_of, detail_of, fits_kind, reversal_of
from bot.services.asker import Asker, Recent
from bot.services.examples import find_examples
from bot.services.moves import MoveFinder
from bot.services.resolve import Failed, Resolved, Resolver
from bot.words.split import either, halves
from bot.words.understand import is_too_long, readings
from core.model import Character, Contact, Game

MOST_LOOKS = 600
"""For one question: how often its readings are tried on a character's moves. Whoever puts words together by
chance, without a character, in a game of fifty would otherwise keep everybody else waiting."""


class _Looks:
    """How many are left."""

    def __init__(self, most: int) -> None:
        self._left = most

    @property
    def spent(self) -> bool:
        """Whether none are."""
        return self._left <= 0

    def take(self, count: int) -> bool:
        """Take so many; False where none were left any more."""
        left = not self.spent
        self._left -= count
        return left


class AskService:
    """Answers questions about one game. It keeps the examples it found, nothing else."""

    def __init__(self, game: Game) -> None:
        self.game = game
        self.finder = MoveFinder(game)
        self._resolver = Resolver(self.finder)
        self._examples: dict[tuple[str | None, bool], tuple[str, ...]] = {}

    def ask(
        self,
        text: str,
        character: str | None = None,
        scheme: str | None = None,
        recent: Recent | None = None,
    ) -> Asked | Refusal:
        """The answer to a question. `character` (a name or alias) and `scheme` are the asker's own,
        for where the question names none; `recent` is what "it" and "that" stand for."""
        mine = self.finder.character(character) if character is not None else None
        if character is not None and mine is None:
            return self.unknown_character(text, character)
        known_scheme = self.finder.scheme(scheme) if scheme is not None else None
        if scheme is not None and known_scheme is None:
            return self.finder.unknown_scheme(text, scheme)
        if is_too_long(text):
            return self.too_long(text, mine)
        asker = Asker(mine, known_scheme, None, recent)
        looks = _Looks(MOST_LOOKS)
        result = self._read(text, asker, looks)
        if isinstance(result, Asked | Ambiguous):
            return result
        return self._parts(text, asker, looks) or self._refused(text, result, asker)

    def settle(self, question: Question, asker: Asker) -> Asked | Refusal:
        """The answer to a question whose words are already understood."""
        outcome = self._resolver.resolve(question, asker)
        if isinstance(outcome, Resolved):
            return self._answer([outcome], asker)
        return self._refused(question.text, outcome, asker, settled=True)

    def unknown_character(self, text: str, name: str) -> UnknownName:
        """The refusal of a character that was named beside the question."""
        refusal = self.finder.unknown_character(text, name, None)
        return replace(refusal, examples=self.examples(None, named=True))

    def too_long(self, text: str, mine: Character | None) -> NotUnderstood:
        """The refusal of a text that is too long to be read."""
        return NotUnderstood(self.game, text, self.examples(mine, mine is None), too_long=True)

    def examples(self, character: Character | None, named: bool) -> tuple[str, ...]:
        """Three questions about this character (else the first) that have an answer; `named`: they
        say whose moves they are about."""
        key = (character.name if character else None, named)
        if key not in self._examples:
            self._examples[key] = find_examples(self.game, character, named)
        return self._examples[key]

    def _read(self, text: str, asker: Asker, looks: _Looks) -> Asked | Refusal | Failed | None:
        """The answer by the first reading that makes sense, else the nearest failure."""
        whose = 1 if asker.mine is not None else len(self.game.characters)
        nearest: Failed | None = None
        back: NothingBefore | None = None
        for group in readings(text, self.finder.known):
            if looks.spent:
                break
            fitting = [question for question in group if fits_kind(question) and looks.take(whose)]
            outcomes = [self._resolver.resolve(question, asker) for question in fitting]
            resolved = [outcome for outcome in outcomes if isinstance(outcome, Resolved)]
            if resolved:
                return self._answer(resolved, asker)
            for outcome in outcomes:
                if isinstance(outcome, Ambiguous):
                    return outcome
                if isinstance(outcome, NothingBefore):
                    back = back or outcome
                elif isinstance(outcome, Failed) and outcome.nearer_than(nearest):
                    nearest = outcome
        return back or nearest

    def _parts(self, text: str, asker: Asker, looks: _Looks) -> TwoQuestions | None:
        """The text as two questions, where each makes sense by itself."""
        for one, other in (*halves(text), *either(text)):
            first = self._read(one, asker, looks)
            if not isinstance(first, Asked) or first.question.loose:
                continue
            inputs = tuple(move.input for move in first.moves)
            recent = Recent(self.game.name, first.character.name, inputs)
            second = self._read(other, replace(asker, recent=recent), looks)
            if isinstance(second, Ambiguous):
                second = self._read(other, replace(asker, mine=first.character, recent=recent), looks)
            if isinstance(second, Ambiguous) or (isinstance(second, Asked) and not second.question.loose):
                return TwoQuestions(self.game, text, (first, second))
        return None

    def _refused(
        self, text: str, result: Asked | Refusal | Failed | None, asker: Asker, settled: bool = False
    ) -> Asked | Refusal:
        """The refusal with examples that this asker can try."""
        mine = asker.mine
        if isinstance(result, Failed):
            if not settled and not result.tells:
                return NotUnderstood(self.game, text, self.examples(mine, mine is None))
            refusal = result.refusal
            return replace(refusal, examples=self.examples(mine or refusal.of, mine is None))
        if isinstance(result, NothingBefore):
            return replace(result, examples=self.examples(mine or result.character, mine is None))
        return result or NotUnderstood(self.game, text, self.examples(mine, mine is None))

    def _answer(self, resolved: Iterable[Resolved], asker: Asker) -> Asked | Refusal:
        """The one answer; where the words can be split in several ways, a refusal to guess."""
        first, *others = resolved
        for other in others:
            for place, one, another in zip(first.question.called, first.moves, other.moves, strict=False):
                if one != another:
                    candidates = (
                        Candidate(first.character, one),
                        Candidate(other.character, another, other.question),
                    )
                    return Ambiguous(self.game, first.question.text, place, candidates, first.question)
        if asker.scheme is not None and first.question.said.scheme is None:
            said = replace(first.question.said, scheme=asker.scheme)
            first = replace(first, question=replace(first.question, said=said))
        contact = contact_of(self.game, first)
        if not isinstance(contact, Contact):
            return contact
        return Asked(
            first.question,
            self.game,
            first.character,
            first.moves,
            contact,
            detail_of(self.game, first, contact),
            first.only_choice,
            reversal_of(self.game, first) if first.question.kind is Kind.SAFE_JUMP else None,
            first.among.called if first.among else None,
        )
