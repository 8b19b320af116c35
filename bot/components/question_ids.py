"""What buttons with a question carry: the one place that makes and reads it. As with all ids, nothing that is
read here is trusted.
"""

from __future__ import annotations

from urllib.parse import unquote

from bot.components.ids import read_distance, safe
from bot.limits import CUSTOM_ID_CHARACTERS
from bot.results.ask import Kind
from bot.results.key import QuestionKey
from core.model import ContactKind

QUESTION = "q1"
QUESTION_TEMPLATE = r"q\d+\|(?s:.*)"
"""Buttons with a question, of any version."""

_KINDS = {
    Kind.LINK: "li",
    Kind.CANCEL: "ca",
    Kind.COMBO: "co",
    Kind.WINDOW: "wi",
    Kind.LINKS_AFTER: "la",
    Kind.CANCELS_AFTER: "cf",
    Kind.FOLLOW_UPS: "fo",
    Kind.LEARN: "le",
    Kind.GAP: "ga",
    Kind.PUNISH: "pu",
    Kind.SAFE: "sa",
    Kind.MOVE: "mo",
    Kind.CONFIRM: "cn",
    Kind.MEATY: "me",
    Kind.SAFE_JUMP: "sj",
    Kind.PLUS: "pl",
    Kind.EARLY: "ea",
    Kind.LATE: "lt",
}
_CONTACTS = {ContactKind.HIT: "h", ContactKind.BLOCK: "b", ContactKind.WHIFF: "w"}
_TEXTS = {"s": "state", "c": "scheme", "m": "mine"}
_NUMBERS = {"a": "active_frame", "b": "hits_before", "l": "delay_frames", "r": "reversal"}
_DISTANCE = "d"
_LONGEST_NUMBER = 6


def make_question_id(key: QuestionKey) -> str | None:
    """The id of a button with this question; None where it would be longer than the platform takes."""
    parts = [
        QUESTION,
        _KINDS[key.kind],
        *(safe(text) for text in (key.game, key.character, key.first, key.second or "")),
        _CONTACTS[key.contact],
    ]
    for letter, name in (_TEXTS | _NUMBERS).items():
        value = getattr(key, name)
        if value is not None:
            parts.append(letter + safe(str(value)))
    if key.distance is not None:
        parts.append(f"{_DISTANCE}{key.distance:g}")
    made = "|".join(parts)
    return made if len(made) <= CUSTOM_ID_CHARACTERS and read_question_id(made) == key else None


def read_question_id(custom_id: str) -> QuestionKey | None:
    """The question of a button's id; None where it is not one that this version makes."""
    version, *parts = custom_id.split("|")
    if version != QUESTION or len(parts) < 6:
        return None
    code, game, character, first, second, contact = map(unquote, parts[:6])
    kind = next((kind for kind, known in _KINDS.items() if known == code), None)
    touch = next((kind for kind, known in _CONTACTS.items() if known == contact), None)
    if kind is None or touch is None or not first:
        return None
    said: dict[str, str | int | float] = {}
    for part in parts[6:]:
        letter, value = part[:1], unquote(part[1:])
        if letter in _TEXTS:
            said[_TEXTS[letter]] = value
        elif letter in _NUMBERS and value.isascii() and value.isdigit() and len(value) <= _LONGEST_NUMBER:
            said[_NUMBERS[letter]] = int(value)
        elif letter == _DISTANCE and (far := read_distance(value)) is not None:
            said["distance"] = far
        else:
            return None
    return QuestionKey(kind, game, character, first, second or None, touch, **said)  # type: ignore[arg-type]
