"""Who of a game's characters is called so, and whose a file is by its name."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from rapidfuzz import fuzz

from bot.gamefiles.columns import CHARACTER
from bot.gamefiles.sheets import TABLES_END

MISSPELLED = 85
"""How much alike, of 100, two names are that are rather one that is misspelled."""


def owners(entries: Sequence[Mapping[str, object]], file: str) -> list[int]:
    """Whose table the file is, or else who is called as it is, by their numbers."""
    wanted = _stem(file)
    tables = [
        number
        for number, entry in enumerate(entries)
        if isinstance(moves := entry.get("moves"), str) and _stem(moves) == wanted
    ]
    called = [number for number, entry in enumerate(entries) if wanted in map(_stem, _called(entry))]
    return tables or called[:1]


def number_of(entries: Sequence[Mapping[str, object]], name: str) -> int | None:
    """Who is called so, by number; the very name goes before an alias."""
    key = key_of(name)
    for number, entry in enumerate(entries):
        if name_of(entry) == name.strip():
            return number
    return next((n for n, entry in enumerate(entries) if key in map(key_of, _called(entry))), None)


def misspelled(entries: Sequence[Mapping[str, object]], name: str) -> str | None:
    """Who is called almost so, where that is rather the same name spelled wrong."""
    for entry in entries:
        known = name_of(entry)
        if fuzz.ratio(key_of(known), key_of(name)) >= MISSPELLED and _digits(known) == _digits(name):
            return known
    return None


def name_of(entry: Mapping[str, object]) -> str:
    """A character's name in rules as read; empty where it cannot be read."""
    name = entry.get("name")
    return name.strip() if isinstance(name, str) else ""


def key_of(name: str) -> str:
    """What two spellings of a name have in common."""
    return " ".join(name.split()).casefold()


def free_name(name: str, taken: Collection[str]) -> str:
    """A file's name for a character's moves that no other has."""
    words = "".join(sign if sign.isascii() and sign.isalnum() else " " for sign in name.casefold()).split()
    stem = "-".join(words)[:40] or CHARACTER
    lower = {one.casefold() for one in taken}
    number, free = 1, f"{stem}.csv"
    while free in lower:
        number += 1
        free = f"{stem}-{number}.csv"
    return free


def _digits(name: str) -> list[str]:
    """The numbers in a name, which tell apart what is otherwise spelled the same."""
    return [sign for sign in name if sign.isdigit()]


def _called(entry: Mapping[str, object]) -> list[str]:
    aliases = entry.get("aliases")
    others = [one for one in aliases if isinstance(one, str)] if isinstance(aliases, list) else []
    return [name_of(entry), *others]


def _stem(file: str) -> str:
    """What two spellings of a file's name have in common, for chats change blanks.

    >>> _stem("Odrun Vale.csv") == _stem("odrun_vale.tsv")
    True
    """
    stem, dot, ending = file.strip().rpartition(".")
    whole = stem if dot + ending.casefold() in TABLES_END else file
    return "".join(sign for sign in whole.casefold() if sign.isalnum())
