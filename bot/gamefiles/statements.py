"""A TOML text as its statements, so that one of them can be changed and all others stay as written.

A statement is a header, a key with its value, a comment or a blank line, with the line's end. The text is
known to be proper TOML.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping

_TOKEN = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}|'
    r"'''.*?'{3,5}|"
    r'"(?:\\.|[^"\\\n])*"|'
    r"'[^'\n]*'|"
    r"#[^\n]*|[\[\]{}\n]",
    re.DOTALL,
)
_NAME = r"(?:{0}|\"{0}\"|'{0}')"
_CHARACTER = re.compile(rf"\s*\[\[\s*{_NAME.format('character')}\s*\]\]")
_MOVE = re.compile(rf"\s*\[\[\s*{_NAME.format('character')}\s*\.\s*{_NAME.format('move')}\s*\]\]")
_MOVES = re.compile(rf"\s*{_NAME.format('moves?')}\s*=")
_NAMED = re.compile(rf"\s*{_NAME.format('name')}\s*=")
_VERSION = re.compile(rf"(\s*{_NAME.format('version')}\s*=\s*)")
_NOTHING = re.compile(r"\s*(?:#[^\n]*)?\n?")


def statements(text: str) -> Iterator[str]:
    """The text in pieces that make it up.

    >>> list(statements('a = [\\n1]  # one\\n\\n[b]\\n'))
    ['a = [\\n1]  # one\\n', '\\n', '[b]\\n']
    """
    begin = depth = 0
    for token in _TOKEN.finditer(text):
        found = token[0]
        depth += (found in "[{") - (found in "]}")
        if found == "\n" and not depth:
            yield text[begin : token.end()]
            begin = token.end()
    if begin < len(text):
        yield text[begin:]


def with_version(text: str, label: str) -> str:
    """The text with another version at its top."""
    done = False
    pieces = []
    for piece in statements(text):
        found = None if done else _VERSION.match(piece)
        if found:
            value = _TOKEN.match(piece, found.end())
            piece = found[1] + quoted(label) + piece[value.end() if value else len(piece) :]
            done = True
        pieces.append(piece)
    return "".join(pieces)


def with_tables(text: str, names: Mapping[int, str]) -> str:
    """The text with these names of tables for the characters, by their numbers from 0, in place of names and
    moves that stand in it. Comments among such moves go with them, but for those before what comes next."""
    kept: list[str] = []
    held: list[str] = []  # comments of which the next statement says whose they are
    character, among_moves, in_character = -1, False, False
    for piece in statements(text):
        if _NOTHING.fullmatch(piece):
            (held if among_moves else kept).append(piece)
            continue
        if piece.lstrip().startswith("["):
            in_character = _CHARACTER.match(piece) is not None
            character += in_character
            among_moves = character in names and _MOVE.match(piece) is not None
            if not among_moves:
                kept += [*held, piece]
        elif not among_moves and not (in_character and character in names and _MOVES.match(piece)):
            kept += [*held, piece]
            if in_character and character in names and _NAMED.match(piece):
                kept.append(f"moves = {quoted(names[character])}\n")
        held = []
    return "".join(kept)


def quoted(text: str) -> str:
    """A text as TOML writes it."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
