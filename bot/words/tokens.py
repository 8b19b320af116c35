"""A question as words: each with its place in what was typed."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache

from core.notation.tokens import fold

_ARROW = r"->|=>|→"
_WORD = re.compile(rf"'s(?!\w)|{_ARROW}|[>~,;!?]|(?:(?!'s(?!\w)|{_ARROW})[^\s>~,;!?])+")
_QUOTES = "\"'“”‘’«»`*_()"
_APOSTROPHES = str.maketrans("’ʼ´`", "''''")
_STOPS = ("!", "?")


@dataclass(frozen=True, slots=True)
class Token:
    """One word, folded, with its place in the text as a slice. `after_gap`: something between it
    and the word before it was taken out, so that no phrase may run over both. `in_name`: it is part
    of a move's name, and means nothing else. `mended`: it was typed otherwise."""

    word: str
    start: int
    end: int
    after_gap: bool = False
    in_name: bool = False
    mended: bool = False


@lru_cache(maxsize=1024)  # one question asks for the words of the same few names many times
def tokens(text: str) -> tuple[Token, ...]:
    """The words of a text: quotes and stops off, `'s` and separators on their own.

    >>> [token.word for token in tokens("Does Garrow's 5MP -> cr.MP link?")]
    ['does', 'garrow', "'s", '5mp', '->', 'cr.mp', 'link']
    """
    folded = fold(text)
    chars = folded.chars.translate(_APOSTROPHES)
    found = []
    for match in _WORD.finditer(chars):
        start, end = match.span()
        if match[0] != "'s":
            while start < end and chars[start] in _QUOTES:
                start += 1
            while start < end and chars[end - 1] in _QUOTES + ":":
                end -= 1
        word = chars[start:end]
        if word and word not in _STOPS and word.strip("."):
            found.append(Token(word, folded.starts[start], folded.ends[end - 1]))
    if found and found[-1].word.endswith("."):
        last = found[-1]
        found[-1] = replace(last, word=last.word.rstrip("."), end=last.end - 1)
    return tuple(found)


def without(found: tuple[Token, ...], start: int, end: int) -> tuple[Token, ...]:
    """The words without those from `start` up to `end`, the gap marked."""
    rest = found[end:]
    if rest and start:
        rest = (replace(rest[0], after_gap=True), *rest[1:])
    return (*found[:start], *rest)
