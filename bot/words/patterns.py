"""The small language in which the tables write what people say, and its matcher.

Words stand for themselves, `(x|y z)` for any one of these, `[x|y]` for one of these or nothing,
`<name>` for a list of synonyms, `{a}` for a place: words of the question that are filled in.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass

from bot.words.tokens import Token

_PIECE = re.compile(r"\s*([()\[\]|]|<\w+>|\{\w+\}|[^\s()\[\]|<{]+|<)")
_WORDS_A_PLACE = 10


@dataclass(frozen=True, slots=True)
class Place:
    """Words to be filled in."""

    name: str


@dataclass(frozen=True, slots=True)
class Choice:
    """Any one of these sequences."""

    options: tuple[tuple[Element, ...], ...]


Element = str | Place | Choice


@dataclass(frozen=True, slots=True)
class Pattern:
    """What to match. `needs`: of each of these sets a word must be there for it to fit anywhere.
    `starts`: the words that it can begin with; None where it can begin with any."""

    elements: tuple[Element, ...]
    needs: tuple[frozenset[str], ...]
    starts: frozenset[str] | None

    def may_fit(self, words: Set[str]) -> bool:
        """Whether these words could hold it; a quick look before matching."""
        return all(not needed.isdisjoint(words) for needed in self.needs)

    def literals(self) -> Iterator[str]:
        """Every word that it may want."""
        return _literals(self.elements)


class Patterns:
    """Patterns in their order, to be had by the word that is to begin them."""

    def __init__(self, patterns: Iterable[Pattern]) -> None:
        self._all = tuple(patterns)
        words = {word for pattern in self._all for word in pattern.starts or ()}
        self._by_word = {word: self._of(word) for word in words}
        self._with_any = self._of(None)

    def __iter__(self) -> Iterator[Pattern]:
        return iter(self._all)

    def beginning(self, word: str) -> tuple[Pattern, ...]:
        """Those that may begin with this word."""
        return self._by_word.get(word, self._with_any)

    def _of(self, word: str | None) -> tuple[Pattern, ...]:
        return tuple(one for one in self._all if one.starts is None or word in one.starts)


Filled = Mapping[str, tuple[int, int]]
"""Each place with the slice of the tokens that fills it."""


class Phrases:
    """What may fill a place of a fixed meaning: the known phrases, each with what it means."""

    def __init__(self, meanings: Mapping[tuple[str, ...], str]) -> None:
        self._meanings = dict(meanings)
        self._lengths = sorted({len(words) for words in meanings}, reverse=True)

    def ends(self, found: Sequence[Token], start: int) -> Iterator[int]:
        """Where a known phrase that begins at `start` ends, the longest first."""
        for length in self._lengths:
            words = found[start : start + length]
            if self.meaning(words) is not None and not any(token.in_name for token in words):
                yield start + length

    def meaning(self, found: Sequence[Token]) -> str | None:
        """What these words mean; None where they are not known."""
        return self._meanings.get(tuple(token.word for token in found))


def read_pattern(text: str, synonyms: Mapping[str, str]) -> Pattern:
    """A pattern from its text.

    >>> read_pattern("[does] {a} (link|combo)", {}).elements
    (Choice(options=(('does',), ())), Place(name='a'), Choice(options=(('link',), ('combo',))))
    """
    elements = _elements(text, synonyms)
    return Pattern(elements, tuple(_needs(elements)), _starts(elements))


def _elements(text: str, synonyms: Mapping[str, str]) -> tuple[Element, ...]:
    pieces = _PIECE.findall(text)
    options, place = _options(pieces, 0, synonyms)
    if place != len(pieces) or len(options) != 1:
        raise ValueError(f"a bracket is missing in the pattern {text!r}")
    return options[0]


def _options(
    pieces: list[str], place: int, synonyms: Mapping[str, str]
) -> tuple[list[tuple[Element, ...]], int]:
    """The options up to the bracket that closes them, and the place of that bracket."""
    options: list[list[Element]] = [[]]
    while place < len(pieces) and pieces[place] not in ")]":
        piece = pieces[place]
        if piece == "|":
            options.append([])
        elif piece in "([":
            inner, place = _options(pieces, place + 1, synonyms)
            options[-1].append(Choice((*inner, ()) if piece == "[" else tuple(inner)))
        elif piece.startswith("<"):
            options[-1].append(Choice((_elements(synonyms[piece[1:-1]], synonyms),)))
        else:
            options[-1].append(Place(piece[1:-1]) if piece.startswith("{") else piece)
        place += 1
    return [tuple(option) for option in options], place


def _needs(elements: Sequence[Element]) -> Iterator[frozenset[str]]:
    for element in elements:
        if isinstance(element, str):
            yield frozenset((element,))
        elif isinstance(element, Choice):
            least = [min(_needs(option), key=len, default=None) for option in element.options]
            if all(least):
                yield frozenset().union(*(needed for needed in least if needed))


def _starts(elements: Sequence[Element]) -> frozenset[str] | None:
    """The words that these may begin with; None where that may be any, or none at all."""
    found: frozenset[str] = frozenset()
    for element in elements:
        if isinstance(element, str):
            return found | {element}
        if isinstance(element, Place):
            return None
        options = [_starts(option) for option in element.options if option]
        for starts in options:
            if starts is None:
                return None
            found |= starts
        if all(element.options):
            return found
    return None


def _literals(elements: Sequence[Element]) -> Iterator[str]:
    for element in elements:
        if isinstance(element, str):
            yield element
        elif isinstance(element, Choice):
            for option in element.options:
                yield from _literals(option)


def matches(
    pattern: Pattern, found: Sequence[Token], known: Mapping[str, Phrases], start: int = 0
) -> Iterator[tuple[int, Filled]]:
    """Every way in which the pattern fits from `start` on: where it ends, and its places."""
    if pattern.starts is not None and (start == len(found) or found[start].word not in pattern.starts):
        return iter(())
    return _matches(pattern.elements, found, known, start)


def _matches(
    elements: tuple[Element, ...], found: Sequence[Token], known: Mapping[str, Phrases], start: int
) -> Iterator[tuple[int, Filled]]:
    if not elements:
        yield start, {}
        return
    head, rest = elements[0], elements[1:]
    if isinstance(head, str):
        if start < len(found) and found[start].word == head:
            yield from _matches(rest, found, known, start + 1)
    elif isinstance(head, Choice):
        for option in head.options:
            yield from _matches((*option, *rest), found, known, start)
    else:
        ends = known[head.name].ends(found, start) if head.name in known else _ends(found, start)
        for end in ends:
            for last, filled in _matches(rest, found, known, end):
                yield last, {head.name: (start, end), **filled}


def _ends(found: Sequence[Token], start: int) -> Iterator[int]:
    """Where words that begin at `start` may end: before a gap, and not too many of them."""
    for end in range(start + 1, min(len(found), start + _WORDS_A_PLACE) + 1):
        if end > start + 1 and found[end - 1].after_gap:
            return
        yield end
