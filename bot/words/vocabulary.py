"""One game's own names, as questions may use them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from bot.words.patterns import Phrases
from bot.words.spelling import Lexicon
from bot.words.tables import tables
from bot.words.tokens import Token, tokens
from core.model import Game
from core.notation import words

_NUMBER = re.compile(r"([0-9]{1,4}(?:\.[0-9]{1,3})?)(?:st|nd|rd|th|f)?")
_NUMBER_WORDS = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]
_NTH_WORDS = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"]
_MEANT = ("character", "state", "scheme")


class _Numbers(Phrases):
    """Numbers in digits or, up to ten, in words."""

    def __init__(self) -> None:
        named = (*enumerate(_NUMBER_WORDS, start=1), *enumerate(_NTH_WORDS, start=1))
        super().__init__({(word,): str(number) for number, word in named})

    def meaning(self, found: Sequence[Token]) -> str | None:
        """The number in digits."""
        digits = _NUMBER.fullmatch(found[0].word) if len(found) == 1 else None
        return digits[1] if digits else super().meaning(found)


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """What fills the places of a fixed meaning, by the place's name; the words that are spelt right;
    and names of moves that hold a word of those places and so must be kept whole."""

    places: Mapping[str, Phrases]
    lexicon: Lexicon
    whole_names: tuple[tuple[str, ...], ...]

    def __getitem__(self, place: str) -> Phrases:
        return self.places[place]

    def marked(self, found: tuple[Token, ...]) -> tuple[Token, ...]:
        """The words, those marked that are part of a name to be kept whole."""
        marked = list(found)
        for name in self.whole_names:
            for start in range(len(found) - len(name) + 1):
                if tuple(token.word for token in found[start : start + len(name)]) == name:
                    for place in range(start, start + len(name)):
                        marked[place] = replace(found[place], in_name=True)
        return tuple(marked)


def vocabulary(game: Game) -> Vocabulary:
    """The game's own names: hit states, control schemes, characters, moves, the unit of distance."""
    states = {called: state.name for state in game.hit_states for called in (state.name, *state.aliases)}
    schemes = {called: scheme.name for scheme in game.schemes for called in (scheme.name, *scheme.aliases)}
    people = {called: who.name for who in game.characters for called in (who.name, *who.aliases)}
    unit = game.distance_unit
    places = {
        "state": _phrases(states),
        "scheme": _phrases(schemes),
        "character": _phrases(people),
        "unit": _phrases(dict.fromkeys((unit, unit.removesuffix("s"), "units"), unit)),
        "pair": _phrases(dict.fromkeys(tables().pairs, "pair")),
        "n": _Numbers(),
    }
    moves = {
        called: tuple(token.word for token in tokens(called))
        for who in game.characters
        for move in who.moves
        for called in (move.name, *move.aliases)
    }
    own = [word for name in (*states, *schemes, *people) for word in _words(name)]
    shorthand = [
        name
        for names in (*words.STANCES.values(), *words.DIRECTIONS.values(), *words.MOTIONS.values())
        for name in names
    ]
    own += [word for name in moves.values() for word in name]
    own += [
        word
        for name in (*game.strengths, *(button.group or "" for button in game.buttons))
        for word in _words(name)
    ]
    own += [button.name.casefold() for button in game.buttons]
    whole = [
        name
        for name in moves.values()
        if len(name) > 1 and any(_holds(name, places[place]) for place in _MEANT)
    ]
    return Vocabulary(
        places,
        Lexicon(tables().words(), (*own, *shorthand)),
        tuple(sorted(dict.fromkeys(whole), key=len, reverse=True)),
    )


def _holds(name: tuple[str, ...], phrases: Phrases) -> bool:
    found = [Token(word, 0, 0) for word in name]
    return any(True for start in range(len(found)) for _ in phrases.ends(found, start))


def _words(name: str) -> tuple[str, ...]:
    return tuple(token.word for token in tokens(name))


def _phrases(meanings: Mapping[str, str]) -> Phrases:
    return Phrases({_words(name): meant for name, meant in meanings.items()})
