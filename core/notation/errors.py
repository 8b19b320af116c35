"""What is raised for text that cannot be read: it knows the place, the reason and what may be meant."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable

from core.model import Move

WINDOW = 72
LISTED = 8


class NotationError(ValueError):
    """Text that cannot be read as a move or a route.

    `start` and `end` give the span of `text` that is at fault, as a slice. `reason` says what is
    wrong. `near` are the inputs of known moves that look most like it. `candidates` are the moves
    it could be where it could be several, `right` what would be right where that can be said. `str`
    gives one sentence, `pointed` two lines.
    """

    def __init__(
        self,
        text: str,
        start: int,
        end: int,
        reason: str,
        near: tuple[str, ...] | Callable[[], tuple[str, ...]] = (),
        candidates: tuple[Move, ...] = (),
        right: str = "",
    ) -> None:
        super().__init__(text, start, end, reason, near, candidates, right)
        self.text = text
        self.start = start
        self.end = end
        self.reason = reason
        self._near = near
        self.candidates = candidates
        self.right = right

    @property
    def near(self) -> tuple[str, ...]:
        """The nearest known inputs and names; found when first asked for, for that takes its time."""
        if not isinstance(self._near, tuple):
            self._near = self._near()
        return self._near

    def __str__(self) -> str:
        if self.candidates:
            shown = [f"{move.input} ({move.name})" for move in self.candidates[:LISTED]]
            more = len(self.candidates) - len(shown)
            return f"{self.reason}: {', '.join(shown)}{f' and {more} more' if more else ''}."
        if self.near:
            return f"{self.reason}; nearest: {', '.join(self.near)}."
        return f"{self.reason}; {self.right}." if self.right else f"{self.reason}."

    def pointed(self) -> str:
        """The text, cut to a window where it is long, and under it carets below the span.

        >>> print(NotationError("5MP, 5QQ", 5, 8, "no such move").pointed())
        5MP, 5QQ
             ^^^
        """
        first = max(0, min(self.start - WINDOW // 3, len(self.text) - WINDOW))
        last = min(len(self.text), first + WINDOW)
        before = "…" if first else ""
        after = "…" if last < len(self.text) else ""
        start, end = min(self.start, last), min(self.end, last)
        blank = " " * (len(before) + _columns(self.text[first:start]))
        carets = "^" * max(1, _columns(self.text[start:end]))
        return f"{before}{_printable(self.text[first:last])}{after}\n{blank}{carets}"


def _printable(text: str) -> str:
    """The text with one character for each of it, so that carets can stand below."""
    return "".join(char if char.isprintable() else "\N{REPLACEMENT CHARACTER}" for char in text)


def _columns(text: str) -> int:
    """How many columns the text takes in a fixed-width font."""
    return sum(_width(char) for char in _printable(text))


def _width(char: str) -> int:
    if unicodedata.category(char) in ("Mn", "Me"):
        return 0
    return 2 if unicodedata.east_asian_width(char) in "WF" else 1
