"""The rules' TOML text: reading it, and changing it so that its comments stay."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit

from bot.gamefiles import statements
from bot.gamefiles.refusals import refusal

DEEPEST_KEY = 20

_PLACE = re.compile(r" \(at (?:line (?P<line>\d+), column \d+|end of document)\)$")
_PART = r"""(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
_DEEP_KEY = re.compile(rf"(?<![\w-]){_PART}(?:[ \t]*+\.[ \t]*+{_PART}){{{DEEPEST_KEY},}}")
_TOO_DEEP = "has lists or tables nested too deep", "keep to the keys of the guide"


def parsed(file: str, text: str) -> dict[str, object]:
    """The rules as a dictionary. Raises GameFileError where they are no TOML."""
    deep = _DEEP_KEY.search(text)  # reading such a key takes time that grows with the square of its length
    if deep:
        raise refusal(file, f"line {text.count(chr(10), 0, deep.start()) + 1}", *_TOO_DEEP)
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise refusal(file, "", *_TOO_DEEP) from None
    except ValueError as error:
        message = str(error)
        place = _PLACE.search(message)
        line = f"line {place['line'] or text.count(chr(10)) + 1}" if place else ""
        said = "a number is too long" if "int_max_str_digits" in message else _PLACE.sub("", message)
        wrong = f"is not proper TOML ({said})"
        raise refusal(file, line, wrong, "correct it there or just before") from None


def characters_of(rules: Mapping[str, object]) -> list[dict[str, Any]]:
    """The characters of rules that were loaded before."""
    listed = rules["character"]
    assert isinstance(listed, list)
    return listed


def with_label(text: str, label: str) -> str:
    """The rules with another version."""
    expected = tomllib.loads(text) | {"version": label}
    return _saying(expected, statements.with_version(text, label))


def with_tables(text: str, names: Mapping[int, str]) -> str:
    """The rules with these tables' names for the characters' moves, by the number of the character from 0,
    in place of moves that stand in the rules."""
    if not names:
        return text
    expected = tomllib.loads(text)
    for number, character in enumerate(characters_of(expected)):
        if number in names:
            character.pop("move", None)
            character["moves"] = names[number]
    return _saying(expected, statements.with_tables(text, names))


def with_characters(text: str, added: Sequence[tuple[str, str]]) -> str:
    """The rules with more characters: each one's name and the table of its moves."""
    if not added:
        return text
    expected = tomllib.loads(text)
    characters = expected.setdefault("character", [])
    characters.extend({"name": name, "moves": moves} for name, moves in added)
    blocks = (
        f"\n[[character]]\nname = {statements.quoted(name)}\nmoves = {statements.quoted(moves)}\n"
        for name, moves in added
    )
    return _saying(expected, text.rstrip() + "\n" + "".join(blocks))


def _saying(expected: dict[str, Any], text: str) -> str:
    """The text where it says what is expected. Where it does not, for it was written in an unusual way, a
    text without its comments that does."""
    try:
        found = tomllib.loads(text)
    except ValueError:
        found = {}
    return text if found == expected else tomlkit.dumps(expected)
