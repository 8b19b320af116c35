"""A question in words -> its answer from one game, or a typed refusal."""

from __future__ import annotations

from dataclasses import replace

from bot.results.ask import Ambiguous, Asked, Candidate, Kind, NotUnderstood, Question, Refusal
from bot.services.answers import contact_of, detail_of, fits_kind, reversal_of
from bot.services.examples import find_examples
from bot.services.moves import Failed, MoveFinder, Resolved
from bot.words.understand import is_too_long, readings
from core.model import Character, Contact, Game


class AskService:
    """Answers questions about one game. It keeps the examples it found, nothing else."""

    def __init__(self, game: Game) -> None:
        self.game = game
        self._finder = MoveFinder(game)
        self._examples: dict[tuple[str | None, bool], tuple[str, ...]] = {}

    def ask(self, text: str, character: str | None = None, scheme: str | None = None) -> Asked | Refusal:
        """The answer to a question. `character` (a name or alias) and `scheme` are the asker's own,
        for where the question names none."""
        mine = self._finder.character(character) if character is not None else None
        if character is not None and mine is None:
            unknown = self._finder.unknown_character(text, character, None)
            return replace(unknown, examples=self.examples(None, named=True))
        known_scheme = self._finder.scheme(scheme) if scheme is not None else None
        if scheme is not None and known_scheme is None:
            return self._finder.unknown_scheme(text, scheme)
        if is_too_long(text):
            return NotUnderstood(self.game, text, self.examples(mine, mine is None), too_long=True)
        nearest: Failed | None = None
        for group in readings(text, self._finder.known):
            outcomes = [
                self._finder.resolve(_with_scheme(question, known_scheme), mine)
                for question in group
                if fits_kind(question)
            ]
            resolved = [outcome for outcome in outcomes if isinstance(outcome, Resolved)]
            if resolved:
                return self._answer(resolved, text)
            for outcome in outcomes:
                if isinstance(outcome, Ambiguous):
                    return outcome
                if isinstance(outcome, Failed) and outcome.nearer_than(nearest):
                    nearest = outcome
        if nearest is not None and nearest.tells:
            return replace(nearest.refusal, examples=self.examples(mine or nearest.refusal.of, mine is None))
        return NotUnderstood(self.game, text, self.examples(mine, mine is None))

    def examples(self, character: Character | None, named: bool) -> tuple[str, ...]:
        """Three questions about this character (else the first) that have an answer; `named`: they
        say whose moves they are about."""
        key = (character.name if character else None, named)
        if key not in self._examples:
            self._examples[key] = find_examples(self.game, character, named)
        return self._examples[key]

    def _answer(self, resolved: list[Resolved], text: str) -> Asked | Refusal:
        """The one answer; where the words can be split in several ways, a refusal to guess."""
        first = resolved[0]
        for other in resolved[1:]:
            for place, one, another in zip(first.question.called, first.moves, other.moves, strict=False):
                if one != another:
                    candidates = (Candidate(first.character, one), Candidate(other.character, another))
                    return Ambiguous(self.game, text, place, candidates)
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
        )


def _with_scheme(question: Question, scheme: str | None) -> Question:
    if scheme is None or question.said.scheme is not None:
        return question
    return replace(question, said=replace(question.said, scheme=scheme))
