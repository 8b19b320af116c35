"""The one place that makes and reads what buttons and forms carry: a kind with a version, then names and
numbers.

Nothing read here is trusted: names are looked up again, and who may press is decided anew. A button
of another version is read as None, never as something else.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from urllib.parse import unquote

from bot.render.limits import CUSTOM_ID_CHARACTERS
from bot.results.ask import Kind
from bot.results.key import QuestionKey
from core.model import ContactKind

QUESTION = "q1"
QUESTION_TEMPLATE = r"q\d+\|(?s:.*)"
"""Buttons with a question, of any version."""
PRACTICE = "t1"
PRACTICE_TEMPLATE = r"t\d+\|(?s:.*)"
"""Buttons of the practice log, of any version."""
PICK = "s1"
"""The whole id of a list: what is picked comes beside it."""
PICK_TEMPLATE = r"s\d+(?s:.*)"
"""Lists to pick a tally from, of any version."""
ANSWER = "a1"
ANSWER_TEMPLATE = r"a\d+\|(?s:.*)"
"""Answers of the quiz, of any version."""
TAKE = "c1"
TAKE_TEMPLATE = r"c\d+\|(?s:.*)"
"""Buttons that keep a conversion, of any version."""
FORM = "f1"
FORM_TEMPLATE = r"f\d+\|(?s:.*)"
"""Forms, of any version."""
ROUTE_PICK = "p1"
ROUTE_PICK_TEMPLATE = r"p\d+\|(?s:.*)"
"""Lists to pick a route from, of any version."""
OPEN = "o1"
"""The whole id of a list of routes in the member's own log."""
OPEN_TEMPLATE = r"o\d+(?s:.*)"
"""Lists to open such a route from, of any version."""
SAVE_FORM = "g1"
SAVE_FORM_TEMPLATE = r"g\d+\|(?s:.*)"
"""Forms that save a route, of any version."""

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
_LARGEST_KEY = 2**63 - 1
"""Of a row in a database."""


class Act(StrEnum):
    """What a button of the practice log does, and what its number is."""

    LOG = "log"
    """Opens an empty form; 0."""
    LOG_MORE = "more"
    """Opens a form for the same thing; a tally's."""
    RETRY = "retry"
    """Opens the form again as it was refused; 0."""
    LANDED = "landed"
    """Logs one more try that landed; a tally's."""
    DROPPED = "dropped"
    """Logs one more try that dropped; a tally's."""
    UNDO = "undo"
    """Takes a tally out; its number."""
    PUT_BACK = "back"
    """Puts it back; its number."""
    CHANGE = "change"
    """Opens a form with a tally's values; its number."""
    ONE = "one"
    """Shows a tally; its number."""
    LIST = "list"
    """Lists the newest tallies; 0."""
    OLDER = "older"
    """Lists what was logged before a tally; its number."""
    TIMING = "timing"
    """Tells the timing of a subject; its number, 0 for all."""
    PROGRESS = "progress"
    """Tells the progress of a subject; its number, 0 for all."""
    PLAN = "plan"
    """Plans a session; a subject's number, 0 for the latest."""
    LOG_OF = "log-of"
    """Opens a form for a route or link; a subject's."""
    ROUTE = "route"
    """Shows a route step by step; a subject's."""
    INPUTS = "inputs"
    """What to enter for a route, facing as the member last did; a subject's."""
    INPUTS_RIGHT = "inputs-right"
    """The same facing right; a subject's."""
    INPUTS_LEFT = "inputs-left"
    """The same facing left; a subject's."""
    SHEET = "sheet"
    """The rhythm sheet of a route; a subject's."""
    PRESSES = "presses"
    """The same in words alone; a subject's."""
    CLICKS = "clicks"
    """The click track of a route; a subject's."""
    CLICKS_75 = "clicks-75"
    """The same at 75 % speed; a subject's."""
    CLICKS_50 = "clicks-50"
    """The same at 50 % speed; a subject's."""
    DRILL = "drill"
    """Makes a drill out of a route; a subject's."""
    SAVE = "save"
    """Opens a form to save a route; a subject's."""
    SHARE = "share"
    """Shares a saved route with the server; a subject's."""
    LIBRARY = "library"
    """Lists the routes shared in the server; 0."""
    KEEP = "keep"
    """Saves a shared route for oneself; its number in the library."""
    TIDY = "tidy"
    """Takes a shared route out of the library; its number there."""
    SAVED = "saved"
    """Lists the member's saved routes; 0."""
    FIND = "find"
    """Looks for routes with the member's own hands from the first move of a route; a subject's."""
    CONVERSIONS = "conversions"
    """Shows the member's sheet of conversions; 0."""
    QUIZ = "quiz"
    """Asks the next question of the quiz; how many seconds are in time, 0 for as many as usual."""
    EXPORT = "export"
    """Sends everything that is kept; 0."""
    ERASE = "erase"
    """Asks whether to erase everything; 0."""
    ERASE_NOW = "erase-now"
    """Erases everything; 0."""


@dataclass(frozen=True, slots=True)
class PracticeKey:
    """What a button of the practice log carries."""

    act: Act
    number: int = 0


def make_practice_id(key: PracticeKey) -> str:
    """The id of a button of the practice log.

    >>> make_practice_id(PracticeKey(Act.UNDO, 12))
    't1|undo|12'
    """
    return f"{PRACTICE}|{key.act.value}|{key.number}"


def read_practice_id(custom_id: str) -> PracticeKey | None:
    """What such an id says; None where it is not one that this version makes."""
    version, *parts = custom_id.split("|")
    if version != PRACTICE or len(parts) != 2 or parts[0] not in {act.value for act in Act}:
        return None
    number = _key_number(parts[1])
    return None if number is None else PracticeKey(Act(parts[0]), number)


@dataclass(frozen=True, slots=True)
class AnswerKey:
    """What an answer of the quiz carries: the numbers of the question and of the chosen route, and how many
    seconds are in time."""

    question_id: int
    route_id: int
    limit_seconds: int


def make_answer_id(key: AnswerKey) -> str:
    """The id of an answer of the quiz.

    >>> make_answer_id(AnswerKey(7, 12, 3))
    'a1|7|12|3'
    """
    return f"{ANSWER}|{key.question_id}|{key.route_id}|{key.limit_seconds}"


def read_answer_id(custom_id: str) -> AnswerKey | None:
    """What such an id says; None where it is not one that this version makes."""
    version, *parts = custom_id.split("|")
    numbers = [number for part in parts if (number := _key_number(part)) is not None]
    return AnswerKey(*numbers) if version == ANSWER and len(parts) == len(numbers) == 3 else None


@dataclass(frozen=True, slots=True)
class TakeKey:
    """What a button that keeps a conversion carries: a saved route's number and the name of a situation."""

    route_id: int
    situation: str


def make_take_id(key: TakeKey) -> str | None:
    """The id of a button that keeps a conversion; None where it would be longer than the platform takes.

    >>> make_take_id(TakeKey(12, "counter hit"))
    'c1|12|counter hit'
    """
    made = f"{TAKE}|{key.route_id}|{_safe(key.situation)}"
    return made if len(made) <= CUSTOM_ID_CHARACTERS else None


def read_take_id(custom_id: str) -> TakeKey | None:
    """What such an id says; None where it is not one that this version makes."""
    version, *parts = custom_id.split("|")
    if version != TAKE or len(parts) != 2 or not parts[1]:
        return None
    number = _key_number(parts[0])
    return None if number is None else TakeKey(number, unquote(parts[1]))


@dataclass(frozen=True, slots=True)
class FormKey:
    """What a form carries: the tally that it changes, 0 for a new one; and whether what the form does not ask
    for is to be taken from the member's draft."""

    tally_id: int = 0
    from_draft: bool = False


def make_form_id(key: FormKey) -> str:
    """The id of a form."""
    return f"{FORM}|{key.tally_id}|{'d' if key.from_draft else ''}"


def read_form_id(custom_id: str) -> FormKey | None:
    """What such an id says; None where it is not one that this version makes."""
    version, *parts = custom_id.split("|")
    if version != FORM or len(parts) != 2 or parts[1] not in ("", "d"):
        return None
    number = _key_number(parts[0])
    return None if number is None else FormKey(number, parts[1] == "d")


def read_pick(custom_id: str, value: str) -> int | None:
    """The tally that was picked from a list; None where it is not one that this version makes."""
    return _key_number(value) if custom_id == PICK else None


@dataclass(frozen=True, slots=True)
class OpenKey:
    """A route to open, and how it begins where that is not as usual. `number`: in the member's own log."""

    number: int
    airborne: bool = False
    distance: float | None = None


def make_open(key: OpenKey) -> str:
    """The value of a route in a list.

    >>> make_open(OpenKey(12)), make_open(OpenKey(12, airborne=True, distance=1.5))
    ('12', '12|a|1.5')
    """
    far = "" if key.distance is None else f"{key.distance:g}"
    return "|".join([str(key.number), "a" if key.airborne else "", far]).rstrip("|")


def read_open(custom_id: str, value: str) -> OpenKey | None:
    """The route that was picked to be opened; None where it is not one that this version makes."""
    number, *begins = value.split("|")
    airborne, far, *more = *begins, "", ""
    found, distance = _key_number(number), _distance(far) if far else None
    wrong = airborne not in ("", "a") or any(more) or (far and distance is None)
    return None if custom_id != OPEN or found is None or wrong else OpenKey(found, airborne == "a", distance)


class PickFrom(StrEnum):
    """Where the routes of a list are kept: among the member's own, or in the server's library."""

    SAVED = "saved"
    SHARED = "shared"


def make_route_pick_id(kept: PickFrom) -> str:
    """The whole id of a list of routes: what is picked comes beside it.

    >>> make_route_pick_id(PickFrom.SHARED)
    'p1|shared'
    """
    return f"{ROUTE_PICK}|{kept.value}"


def read_route_pick(custom_id: str, value: str) -> tuple[PickFrom, int] | None:
    """Where the route is kept that was picked from a list, and its number there; None where it is not one
    that this version makes."""
    kept = next((one for one in PickFrom if custom_id == make_route_pick_id(one)), None)
    number = _key_number(value)
    return None if kept is None or number is None else (kept, number)


def make_save_form_id(subject_id: int) -> str:
    """The id of a form that saves the route with this number in the member's log.

    >>> make_save_form_id(12)
    'g1|12'
    """
    return f"{SAVE_FORM}|{subject_id}"


def read_save_form_id(custom_id: str) -> int | None:
    """The number that such an id says; None where it is not one that this version makes."""
    version, _, number = custom_id.partition("|")
    return _key_number(number) if version == SAVE_FORM else None


def _key_number(text: str) -> int | None:
    if not (text.isascii() and text.isdigit()) or len(text) > len(str(_LARGEST_KEY)):
        return None
    return number if (number := int(text)) <= _LARGEST_KEY else None


def make_question_id(key: QuestionKey) -> str | None:
    """The id of a button with this question; None where it would be longer than the platform takes."""
    parts = [
        QUESTION,
        _KINDS[key.kind],
        *(_safe(text) for text in (key.game, key.character, key.first, key.second or "")),
        _CONTACTS[key.contact],
    ]
    for letter, name in (_TEXTS | _NUMBERS).items():
        value = getattr(key, name)
        if value is not None:
            parts.append(letter + _safe(str(value)))
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
        elif letter == _DISTANCE and (far := _distance(value)) is not None:
            said["distance"] = far
        else:
            return None
    return QuestionKey(kind, game, character, first, second or None, touch, **said)  # type: ignore[arg-type]


def _safe(text: str) -> str:
    return text.replace("%", "%25").replace("|", "%7C")


def _distance(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) and value >= 0 else None
