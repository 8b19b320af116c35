"""Counts as members type them: "7/10", "7 of 10, 2 early", "10: 7 hit, 2 early, 1 late", "5 drops".

Numbers come before their words ("7 hit 2 early") or after them ("hit 7, early 2"), not in turn. The words are
in counts.toml. What is not understood whole is no count: nothing is guessed, no slip of the keyboard mended.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from functools import cache
from importlib.resources import files

from bot.results.tally import Drops
from core.notation.tokens import fold

COUNT_CHARACTERS = 200
MOST_DIGITS = 7
_APOSTROPHES = re.compile(r"[’'ʼ´`]")
_DASH_IN_WORD = re.compile(r"(?<=[^\W\d_])-(?=[^\W\d_])")
_GLUED = re.compile(r"[0-9]\.[0-9]|[-+][0-9]|[0-9][-+]")
"""Decimals, signs and ranges: numbers that are no counts."""
_TOKEN = re.compile(r"[0-9]+|[^\W\d_]+|\S")
_OF_SIGNS = frozenset("/⁄∕")
_OPENERS = frozenset(":=(")
_SEPARATORS = frozenset(",;.|)+&-·•!")
_QUOTES = frozenset('"“”„«»*[]')

_OF, _TRIES, _LANDED, _DROPPED, _FILLERS = "of", "tries", "landed", "dropped", "fillers"


@dataclass(frozen=True, slots=True)
class Count:
    """How many of how many landed, and why the others dropped where it is said.

    The numbers are as they were typed: more may have landed than were tried.
    """

    tries: int
    landed: int
    drops: Drops = field(default=Drops())


def read_count(typed: str) -> Count | None:
    """The count that the text gives; None where it is none, or could be two."""
    found = _tokens(typed)
    if found is None:
        return None
    counts = [_Reader(found, numbers_first).read() for numbers_first in (True, False)]
    read = {count for count in counts if count is not None}
    return read.pop() if len(read) == 1 else None


def write_count(count: Count) -> str:
    """The count as it could have been typed; `read_count` reads the same from it where the numbers fit.

    >>> write_count(Count(10, 7, Drops(early=2, late=1)))
    '10: 7 hit, 2 early, 1 late'
    """
    reasons = _table()["reasons"]
    drops = [(getattr(count.drops, reason), phrases[0]) for reason, phrases in reasons.items()]
    return ", ".join([f"{count.tries}: {count.landed} hit", *(f"{n} {phrase}" for n, phrase in drops if n)])


def _tokens(typed: str) -> list[str] | None:
    """Numbers, words and signs; None where something else stands among them."""
    if len(typed) > COUNT_CHARACTERS:
        return None
    text = _APOSTROPHES.sub("", fold(typed).chars)
    text = _DASH_IN_WORD.sub(" ", text)
    if _GLUED.search(text):
        return None
    found = [token for token in _TOKEN.findall(text) if token not in _QUOTES]
    known = _OF_SIGNS | _OPENERS | _SEPARATORS
    if any(not token.isalpha() and not _number(token) and token not in known for token in found):
        return None
    return found


def _number(token: str) -> bool:
    return token.isascii() and token.isdigit() and len(token) <= MOST_DIGITS


@dataclass(slots=True)
class _Said:
    """What the text says, before it is added up. `detailed`: the reasons are those of the dropped."""

    tries: int | None = None
    landed: int | None = None
    dropped: int | None = None
    detailed: bool = False
    reasons: dict[str, int] = field(default_factory=dict)

    def take(self, meaning: str, number: int) -> bool:
        """Take up one number; False where another was said for the same."""
        if meaning not in (_TRIES, _LANDED, _DROPPED):
            self.reasons[meaning] = self.reasons.get(meaning, 0) + number
            return True
        before = getattr(self, meaning)
        setattr(self, meaning, number)
        return before is None or before == number

    def count(self) -> Count | None:
        """The numbers added up; None where one is lacking or they contradict each other."""
        given = sum(self.reasons.values())
        if self.dropped is not None and given and not (self.detailed or self.tries is not None):
            return None
        lost = given if self.dropped is None else self.dropped
        tries, landed = self.tries, self.landed
        if tries is None:
            landed = landed or 0
            tries = landed + lost
        elif landed is None:
            landed = tries - lost
            # Without the number of drops, those with a reason must be all of them.
            if (self.dropped is None and landed > 0) or (
                given and self.dropped is not None and not self.detailed
            ):
                return None
            landed = max(landed, 0) if self.dropped is None else landed
        elif self.dropped is not None and tries - landed not in {
            lost,
            lost if self.detailed else lost + given,
        }:
            return None
        return None if landed < 0 else Count(tries, landed, Drops(**self.reasons))


class _Reader:
    """Reads the words of one text in one order."""

    def __init__(self, found: Sequence[str], numbers_first: bool) -> None:
        self._found = found
        self._numbers_first = numbers_first
        self._at = 0
        self._said = _Said()
        self._after_tries = False

    def read(self) -> Count | None:
        """The count; None where these words in this order give none."""
        self._skip()
        if self._at == len(self._found):
            return None
        while self._at < len(self._found):
            if not self._item():
                return None
            self._skip()
        return self._said.count()

    def _item(self) -> bool:
        """One number with what it is; False where there is none, or it is something else than before."""
        said, after_tries = self._said, self._after_tries
        self._after_tries = False
        first = said == _Said()
        meaning = None if self._numbers_first else self._meaning()
        if meaning is not None:
            self._skip(signs=_OPENERS)
        number = self._take_number()
        if number is None:
            return False
        tries = self._of()
        if tries is None and meaning is None and self._tries_word():
            self._after_tries = True
            return said.take(_TRIES, number)
        if tries is not None:
            self._tries_word()
            if not said.take(_TRIES, tries):
                return False
        if self._numbers_first:
            self._skip(signs=frozenset())
            meaning = self._meaning()
            said.detailed |= meaning == _DROPPED and self._opens()
        if meaning is None and tries is None:
            if first and self._opens():
                meaning, self._after_tries = _TRIES, True
            elif not after_tries:
                return False
        return said.take(meaning or _LANDED, number)

    def _opens(self) -> bool:
        return self._at < len(self._found) and self._found[self._at] in _OPENERS

    def _take_number(self) -> int | None:
        if self._at == len(self._found) or not _number(self._found[self._at]):
            return None
        self._at += 1
        return int(self._found[self._at - 1])

    def _of(self) -> int | None:
        """The tries after "of", "out of" or a slash."""
        start = self._at
        if start < len(self._found) and self._found[start] in _OF_SIGNS:
            self._at += 1
        elif self._meaning({_OF}) is None:
            return None
        number = self._take_number()
        if number is None:
            self._at = start
        return number

    def _tries_word(self) -> bool:
        """Whether "tries" follows, and belongs to the number before it rather than to one after it."""
        start = self._at
        if self._meaning({_TRIES}) is None:
            return False
        if self._numbers_first:
            return True
        after = self._at
        self._skip(signs=_OPENERS)
        next_is_number = self._at < len(self._found) and _number(self._found[self._at])
        self._at = start if next_is_number else after
        return not next_is_number

    def _meaning(self, wanted: set[str] | None = None) -> str | None:
        """What the longest phrase here means, if it is wanted (None: anything that is counted)."""
        phrases = _phrases()
        for length in range(min(_longest(), len(self._found) - self._at), 0, -1):
            meaning = phrases.get(tuple(self._found[self._at : self._at + length]))
            if meaning is not None and (
                meaning in wanted if wanted is not None else meaning not in (_OF, _FILLERS)
            ):
                self._at += length
                return meaning
        return None

    def _skip(self, signs: frozenset[str] = _OPENERS | _SEPARATORS) -> None:
        """Over signs and words that mean nothing by themselves."""
        while self._at < len(self._found):
            if self._found[self._at] in signs:
                self._at += 1
            elif self._meaning({_FILLERS}) is None:
                return


@cache
def _table() -> Mapping[str, Mapping[str, Sequence[str]]]:
    table = tomllib.loads((files("bot.words") / "counts.toml").read_text(encoding="utf-8"))
    assert set(table["reasons"]) == {each.name for each in fields(Drops)}
    return table


@cache
def _phrases() -> Mapping[tuple[str, ...], str]:
    """What each phrase means: a field of Drops, or a key of [words]."""
    meanings = {**_table()["words"], **_table()["reasons"]}
    return {tuple(phrase.split()): meaning for meaning, phrases in meanings.items() for phrase in phrases}


@cache
def _longest() -> int:
    """How many words the longest phrase has."""
    return max(map(len, _phrases()))
