"""Slips of the keyboard: words that are nearly one that is known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from rapidfuzz import process
from rapidfuzz.distance import OSA

from bot.words.tokens import Token

SHORTEST = 3
LONG = 8
"""From so many letters on a word may hold two slips; a shorter one may hold one."""


class Lexicon:
    """The words that questions are made of, and the words of the game's own names."""

    def __init__(self, keywords: Iterable[str], names: Iterable[str]) -> None:
        self._keywords = [word for word in dict.fromkeys(keywords) if len(word) >= SHORTEST]
        self._names = [word for word in dict.fromkeys(names) if len(word) >= SHORTEST]
        self._known = {*keywords, *names}

    def mend(self, found: tuple[Token, ...]) -> tuple[Token, ...]:
        """The words with those put right that are a slip away from a known one.

        Nothing is put right that could be several: of the questions' own words the nearest counts
        that begins alike, a letter left out rather than another letter; two names that are equally
        near are left as typed.
        """
        return tuple(self._mended(token) for token in found)

    def _mended(self, token: Token) -> Token:
        word = token.word
        if len(word) < SHORTEST or word in self._known or not word.isalpha():
            return token
        slips = 2 if len(word) >= LONG else 1
        near = self._near(word, self._keywords, slips)
        named = self._near(word, self._names, slips)
        least = min((distance for _, distance in (*near, *named)), default=0)
        words = [found for found, distance in near if distance == least]
        names = [found for found, distance in named if distance == least and found not in words]
        if words:
            alike = [found for found in words if found[0] == word[0]]
            alike.sort(key=lambda found: _is_other_letter(word, found))
            if names and not alike:
                words, alike = names, names
            return replace(token, word=(alike or words)[0], mended=True)
        return replace(token, word=names[0], mended=True) if len(names) == 1 else token

    def _near(self, word: str, known: list[str], slips: int) -> list[tuple[str, int]]:
        found = process.extract(word, known, scorer=OSA.distance, score_cutoff=slips, limit=6)
        return [(name, int(distance)) for name, distance, _ in found if _is_slip(word, name)]


def _is_slip(word: str, name: str) -> bool:
    """Of the shortest words only letters that changed places count: most others are words themselves."""
    return len(name) > SHORTEST or sorted(word) == sorted(name)


def _is_other_letter(word: str, name: str) -> bool:
    """Whether a letter was typed for another, rather than left out, doubled or exchanged."""
    return len(word) == len(name) and sorted(word) != sorted(name)
