"""A text that may hold two questions, cut apart."""

from __future__ import annotations

import re
from collections.abc import Iterator

_STOP = re.compile(r"[?!.;\n]+\s+|\s+(?:and|also|or|plus|but|then)\s+|,\s+", re.IGNORECASE)
_EITHER = re.compile(r"(\S+)\s+(?:and|or|/)\s+(\S+)", re.IGNORECASE)
CUTS = 4


def halves(text: str) -> Iterator[tuple[str, str]]:
    """The text cut in two at a stop or a joining word, at each of the first few.

    >>> list(halves("is 5HP safe and what punishes it"))
    [('is 5HP safe', 'what punishes it')]
    """
    for count, stop in enumerate(_STOP.finditer(text)):
        if count == CUTS:
            return
        one, other = text[: stop.start()].strip(), text[stop.end() :].strip()
        if one.count(" ") and other.count(" "):
            yield one, other


def either(text: str) -> Iterator[tuple[str, str]]:
    """The question asked of the one and of the other, where two words are joined.

    >>> list(either("is 5HP or 2HK safe"))
    [('is 5HP safe', 'is 2HK safe')]
    """
    for count, found in enumerate(_EITHER.finditer(text)):
        if count == CUTS:
            return
        before, after = text[: found.start()], text[found.end() :]
        yield f"{before}{found[1]}{after}", f"{before}{found[2]}{after}"
