"""Words for messages: what somebody wrote as it can be shown, lists of names, the nearest known name."""

from __future__ import annotations

from collections.abc import Collection
from difflib import get_close_matches

SHOWN_LENGTH = 40
SHOWN_NAMES = 8
COMPARED_LENGTH = 80
DASHES = "‐‑‒–—―−"
"""What is written, and pasted from spreadsheets, for a plain `-`."""


def shown(value: object) -> str:
    """A value of a file as its reader wrote it: text in quotes, shortened, nothing that breaks the line.

    >>> shown("a\\nb"), shown(True), shown({"x": 1}), shown(2.5)
    ('"a\\\\nb"', 'true', 'a table', '2.5')
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return str(value) if value.bit_length() < 100 else "a number of more than 30 digits"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list" if value else "an empty list"
    return f'"{clipped(value)}"' if isinstance(value, str) else str(value)


def quoted(text: str) -> str:
    """What a member typed, as a sentence quotes it.

    >>> quoted("5MP\\n")
    '“5MP”'
    """
    return f"“{clipped(text.strip())}”"


def clipped(text: str) -> str:
    """The text on one line, printable, of at most `SHOWN_LENGTH` characters."""
    line = printable(text[: SHOWN_LENGTH + 1])
    return line if len(line) <= SHOWN_LENGTH else line[: SHOWN_LENGTH - 3] + "..."


def printable(text: str) -> str:
    """The text without anything that breaks a line or cannot be written, such as half a character."""
    return text if text.isprintable() else "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text)


def one_line(typed: str) -> str:
    """What somebody wrote as it is kept: on one line, words apart by one blank, without what cannot be shown.

    >>> one_line("  count it   out loud ")
    'count it out loud'
    """
    return printable(" ".join(typed.split()))


def one_of(names: Collection[str]) -> str:
    """The names in words, the first few of a long list.

    >>> one_of(["a", "b", "c"]), one_of(["a"])
    ('a, b or c', 'a')
    """
    listed = list(names)
    if len(listed) > SHOWN_NAMES:
        return f"one of {', '.join(listed[:SHOWN_NAMES])} ... ({len(listed)} in all)"
    return " or ".join([", ".join(listed[:-1]), listed[-1]]) if len(listed) > 1 else listed[0]


def nearest(value: str, known: Collection[str]) -> str | None:
    """The known name that looks most like `value`; None where nothing comes near.

    >>> nearest("hevy", ["light", "heavy"]), nearest("zzz", ["light"])
    ('heavy', None)
    """
    return next(iter(nearest_few(value, known, 1)), None)


def nearest_few(value: str, known: Collection[str], most: int) -> list[str]:
    """The known names that look most like `value`, the nearest first."""
    by_lower = {name.casefold(): name for name in known}
    close = get_close_matches(value.casefold()[:COMPARED_LENGTH], by_lower, n=most)
    return [by_lower[found] for found in close]
