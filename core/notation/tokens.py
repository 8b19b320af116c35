"""Text as it is compared: folded, with every character's place in what was typed kept."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from core.text import DASHES

_ALIKE = dict.fromkeys(DASHES, "-") | {"×": "x", "’": "'"}
_LOOK_ONLY = frozenset("\u034f\u20e3") | {chr(code) for code in range(0xFE00, 0xFE10)}
_NOT_IN_NAMES = re.compile(r"[\W_]+")


@dataclass(frozen=True, slots=True)
class Folded:
    """Folded characters of `source`; the i-th comes from source[starts[i]:ends[i]]."""

    source: str
    chars: str
    starts: Sequence[int]
    ends: Sequence[int]

    def span(self) -> tuple[int, int]:
        """The place in the source, as a slice; its end where nothing is left."""
        return (self.starts[0], self.ends[-1]) if self.chars else (len(self.source), len(self.source))

    def typed(self) -> str:
        """What was typed for these characters."""
        start, end = self.span()
        return self.source[start:end]

    def part(self, start: int, end: int) -> Folded:
        """A stretch of it, without blanks around."""
        inner = self.chars[start:end]
        start += len(inner) - len(inner.lstrip())
        end = start + len(inner.strip())
        return Folded(self.source, self.chars[start:end], self.starts[start:end], self.ends[start:end])

    def without(self, unwanted: str) -> Folded:
        """It without blanks and these characters."""
        kept = [i for i, char in enumerate(self.chars) if not char.isspace() and char not in unwanted]
        return Folded(
            self.source,
            "".join(self.chars[i] for i in kept),
            [self.starts[i] for i in kept],
            [self.ends[i] for i in kept],
        )


def fold(text: str) -> Folded:
    """Compatible forms (NFKC), casefolded, invisible characters left out, one kind of digit and dash.

    >>> fold("５\\u200bＭＰ").chars
    '5mp'
    """
    if text.isascii():
        return Folded(text, text.lower(), range(len(text)), range(1, len(text) + 1))
    chars: list[str] = []
    starts: list[int] = []
    ends: list[int] = []
    for start, end in _clusters(text):
        for char in unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", text[start:end]).casefold()):
            category = unicodedata.category(char)
            if category == "Cf" or char in _LOOK_ONLY:
                continue
            if category == "Nd":
                char = str(unicodedata.decimal(char))
            chars.append(_ALIKE.get(char, char))
            starts.append(start)
            ends.append(end)
    return Folded(text, "".join(chars), starts, ends)


def name_key(folded: str) -> str:
    """Letters, marks and digits alone, for comparing names; a name of signs alone stays as it is.

    >>> name_key("low-sweep!"), name_key("!?")
    ('lowsweep', '!?')
    """
    if folded.isascii():
        return _NOT_IN_NAMES.sub("", folded) or folded.strip()
    whole = unicodedata.normalize("NFKC", folded)
    return (
        "".join(char for char in whole if char.isalnum() or unicodedata.category(char)[0] == "M")
        or whole.strip()
    )


def _clusters(text: str) -> Iterator[tuple[int, int]]:
    """Spans of characters together with the marks that combine with them."""
    start = 0
    for place in range(1, len(text) + 1):
        if place == len(text) or not unicodedata.combining(text[place]):
            yield start, place
            start = place
