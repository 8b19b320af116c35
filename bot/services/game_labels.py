"""What versions of games are called: no two of one game have one label, so a number behind may tell them
apart."""

from __future__ import annotations

import re
from collections.abc import Sequence

from bot.results.place import DIRECT_MESSAGES
from bot.storage import editions
from bot.storage.editions import Label
from bot.storage.store import Reading

LABEL_CHARACTERS = 60
"""The longest name that a game file takes, for a version too."""
STEM_CHARACTERS = LABEL_CHARACTERS - len(" (999)")
"""So long it may be before a number."""
_NUMBERED = re.compile(r" \(\d+\)$")


def label_for(said: str, kept: Sequence[Label]) -> str:
    """What a version is called that a file calls so, where these are kept already.

    >>> label_for("1.2 (2)", [Label(1, "1.2", ""), Label(2, "1.2 (2)", "")])
    '1.2 (3)'
    """
    taken = {each.version for each in kept}
    if said not in taken:
        return said
    stem = _stem(said)
    label, number = stem, 1
    while label in taken:
        number += 1
        label = f"{stem} ({number})"
    return label


def kept_as(kept: Sequence[Label], said: str, mark: str) -> Label | None:
    """The kept version that says the same and is called so too, but for the number behind.

    >>> kept_as([Label(1, "1.2 (beta)", "a"), Label(2, "1.2 (2)", "a")], "1.2", "a")
    Label(edition_id=2, version='1.2 (2)', digest='a')
    """
    stem = _stem(said)
    return next((each for each in kept if each.digest == mark and _stem(each.version) == stem), None)


async def version_called(reading: Reading, server_id: int, name: str, typed: str) -> int | None:
    """The number of the version of a game that is called so: just so, or else in any case; of the server's
    own before those of the host's."""
    wanted = typed.strip()
    kept = [
        each
        for whose in dict.fromkeys((server_id, DIRECT_MESSAGES))
        for each in await editions.labels(reading, whose, name)
    ]
    same = [each for each in kept if each.version.casefold() == wanted.casefold()]
    found = next((each for each in same if each.version == wanted), next(iter(same), None))
    return found.edition_id if found is not None else None


def without_number(label: str) -> str:
    """The label as the file had it, before a number came behind.

    >>> without_number("1.2 (2)"), without_number("1.2 (beta)")
    ('1.2', '1.2 (beta)')
    """
    return _NUMBERED.sub("", label)


def _stem(label: str) -> str:
    """What of a label stands before any number that it may get."""
    return without_number(label)[:STEM_CHARACTERS].rstrip()
