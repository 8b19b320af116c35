"""The names of one game: characters, control schemes, hit states and moves as they may be called."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rapidfuzz import process

from bot.results.ask import Named, Phrase, UnknownName
from bot.words.tokens import tokens
from bot.words.vocabulary import vocabulary
from core.model import Character, Game, Move
from core.notation import MOVE_LIMIT, NotationError, book_of

NEAR_NAMES = 3
NEAR_SCORE = 60
KEPT = 2_000
"""How many names are remembered: one question looks the same words up many times over."""


class MoveFinder:
    """Finds the characters and moves of one game by what they are called."""

    def __init__(self, game: Game) -> None:
        self.game = game
        self.known = vocabulary(game)
        self._found: dict[tuple[str, str, str | None], Move | NotationError] = {}

    def character(self, name: str) -> Character | None:
        """The character of this name or alias, in any case."""
        meant = self.known["character"].meaning(tokens(name))
        return self.game.character(meant) if meant else None

    def owned(self, text: str) -> tuple[Character | None, str]:
        """Whose move a text names ("Mirrel's 2HK") and the move without its owner; None and the whole
        text where it names nobody, or where that is how a move of theirs is called."""
        found = tokens(text)
        at = next((place for place, token in enumerate(found) if token.word == "'s"), 0)
        if not 0 < at < len(found) - 1:
            return None, text
        meant = self.known["character"].meaning(found[:at])
        owner = self.game.character(meant) if meant else None
        if owner is None or isinstance(self.move(text, owner, None), Move):
            return None, text
        return owner, text[found[at].end :].strip()

    def scheme(self, name: str) -> str | None:
        """The control scheme of this name or alias, in any case."""
        return self.known["scheme"].meaning(tokens(name))

    def state(self, name: str) -> str | None:
        """The hit state of this name or alias, in any case."""
        return self.known["state"].meaning(tokens(name))

    def move(self, name: str, owner: Character, scheme: str | None) -> Move | NotationError:
        """The one move of this character that is called so, or why there is not just one."""
        if len(name) > MOVE_LIMIT:
            return NotationError(name, 0, len(name), "too long for a move")
        key = name, owner.name, scheme
        if key not in self._found:
            if len(self._found) >= KEPT:
                self._found.clear()
            self._found[key] = self._look_up(name, owner, scheme)
        return self._found[key]

    def _look_up(self, name: str, owner: Character, scheme: str | None) -> Move | NotationError:
        try:
            return book_of(self.game, owner, scheme).find(name)
        except NotationError as error:
            return error

    def unknown_character(self, text: str, name: str, place: Phrase | None) -> UnknownName:
        """The refusal of a name that no character has."""
        called = {alias: who.name for who in self.game.characters for alias in (who.name, *who.aliases)}
        near = tuple(dict.fromkeys(called[found] for found in nearest(name, list(called))))
        return UnknownName(self.game, text, Named.CHARACTER, name, place, near, ())

    def unknown_scheme(self, text: str, name: str) -> UnknownName:
        """The refusal of a name that no control scheme has."""
        schemes = tuple(scheme.name for scheme in self.game.schemes)
        return UnknownName(self.game, text, Named.SCHEME, name, None, schemes, ())


def nearest(name: str, known: Sequence[str]) -> list[str]:
    """The known names that look most like this one, the nearest first."""
    close = process.extract(
        name[:MOVE_LIMIT], known, processor=str.casefold, limit=NEAR_NAMES, score_cutoff=NEAR_SCORE
    )
    return [found for found, _, _ in close]


def under(character: Character, scheme: str | None) -> Character:
    """The character with all moves as a control scheme has them."""
    if scheme is None:
        return character
    return replace(character, moves=tuple(move.under(scheme) for move in character.moves))
