"""A route's text cut into its steps."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from core.model import Game, Means
from core.notation import words
from core.notation.inputs import group_shorts
from core.notation.tokens import Folded, fold

_LETTER_BEFORE = r"(?<=[^\W\d_])"
_NO_LETTER_BEFORE = r"(?<![^\W\d_])"
_NO_LETTER_AFTER = r"(?![^\W\d_])"
_ARROW = "→"


@dataclass(frozen=True, slots=True)
class Piece:
    """The text of one step, blank where a move is missing; how it is joined; the separator before it."""

    text: Folded
    joined: Means | None
    separator: Folded | None


class Splitter:
    """Cuts routes of one game apart. Known names that hold a separator stay whole."""

    def __init__(self, game: Game, names: Iterable[str]) -> None:
        buttons = {fold(button.name).chars for button in game.buttons} | group_shorts(game.buttons).keys()
        # A button may be written together with what follows it: 2MPxx236HP, 5LPx3.
        after_button = "|".join(f"(?<={re.escape(button)})" for button in sorted(buttons) if button)
        glued = f"(?:{_NO_LETTER_BEFORE}|{after_button})" if after_button else _NO_LETTER_BEFORE
        separator = "|".join((_arrow(), f"(?P<word>{glued}xx|{_words()})", f"(?P<mark>{_marks()})"))
        whole = _holding(re.compile(separator), names)
        known = "|".join(whole)
        self._separator = re.compile(
            f"(?P<known>{_NO_LETTER_BEFORE}(?:{known}){_NO_LETTER_AFTER})|{separator}" if known else separator
        )
        self._repeat = re.compile(rf"{glued}x\s*(?P<times>[0-9]+)\Z")

    def pieces(self, text: Folded) -> list[Piece]:
        """The steps of the text; where a comma stands before a separating word, the word counts."""
        pieces: list[Piece] = []
        place, joined, separator = 0, None, None
        for found in self._separator.finditer(text.chars):
            if found.lastgroup == "known":
                continue
            before = text.part(place, found.start())
            after_comma = separator is not None and separator.chars == ","
            if before.chars or not (after_comma and found.lastgroup == "word"):
                pieces.append(Piece(before, joined, separator))
            place, separator = found.end(), text.part(*found.span())
            joined = _means(separator.chars)
        pieces.append(Piece(text.part(place, len(text.chars)), joined, separator))
        return pieces

    def repeated(self, text: Folded) -> tuple[Folded, Folded] | None:
        """A step that ends in `x3`: the step before it and the number."""
        found = self._repeat.search(text.chars)
        if found is None or not found.start():
            return None
        return text.part(0, found.start()), text.part(*found.span("times"))


def _means(separator: str) -> Means | None:
    return {**words.MARKS, **words.SEPARATING_WORDS}.get(separator)


def _marks() -> str:
    return "|".join(re.escape(mark) for mark in sorted(words.MARKS, key=len, reverse=True))


def _words() -> str:
    longest_first = sorted(words.SEPARATING_WORDS, key=len, reverse=True)
    anyhow = "|".join(word.replace(" ", r"\s+") for word in longest_first)
    return f"{_NO_LETTER_BEFORE}(?:{anyhow}){_NO_LETTER_AFTER}"


def _arrow() -> str:
    """An arrow as a separator: after a letter, or a bracket behind one, where a button has come
    before, so that it cannot be a direction; but not after words that come before directions."""
    early = (
        *words.DELAY,
        *words.MEATY,
        *words.HOLD,
        *(word for group in words.STANCES.values() for word in group),
    )
    after_early = "".join(rf"(?<!\b{word})" for word in early)
    return rf"(?P<arrow>(?:{_LETTER_BEFORE}{after_early}|(?<=[^\W\d_][\[\]]))\s*{_ARROW})"


def _holding(separator: re.Pattern[str], names: Iterable[str]) -> list[str]:
    """Patterns of the names with a separator inside, the longest first."""
    folded = {fold(name).chars.strip() for name in names}
    inside = [name for name in folded if separator.search(name) and not separator.fullmatch(name)]
    longest_first = sorted(inside, key=lambda name: (-len(name), name))
    return [r"\s+".join(map(re.escape, name.split())) for name in longest_first]
