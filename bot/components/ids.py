"""The one place that makes and reads what buttons and forms carry: a kind with a version, then names and
numbers. Those with a question have a place of their own, `question_ids`.

Nothing read here is trusted: names are looked up again, and who may press is decided anew. A button
of another version is read as None, never as something else.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from urllib.parse import unquote

from bot.components.act import Act, CoachAct, FormAct, ListAct, ModAct
from bot.limits import CUSTOM_ID_CHARACTERS

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
COACH = "k1"
COACH_TEMPLATE = r"k\d+\|(?s:.*)"
"""Buttons for coaches, of any version."""
MOD = "m1"
MOD_TEMPLATE = r"m\d+\|(?s:.*)"
"""Buttons for moderators, of any version."""
SETUP_PICK = "e1"
SETUP_PICK_TEMPLATE = r"e\d+\|(?s:.*)"
"""Lists of a step of a server's set-up, of any version."""
WORDS = "h1"
WORDS_TEMPLATE = r"h\d+\|(?s:.*)"
"""Forms with words in them, of any version."""
LIST = "l1"
LIST_TEMPLATE = r"l\d+\|(?s:.*)"
"""Lists to pick one or several things from, of any version."""
SAVE_FORM = "g1"
SAVE_FORM_TEMPLATE = r"g\d+\|(?s:.*)"
"""Forms that save a route, of any version."""

_MARK = re.compile(r"\|[0-9a-f]{20}\Z")
_LARGEST_KEY = 2**63 - 1
"""Of a row in a database."""


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
    found = _named_number(PRACTICE, unmarked(custom_id))
    return PracticeKey(Act(found[0]), found[1]) if found and found[0] in set(Act) else None


def make_coach_id(act: CoachAct, number: int = 0) -> str:
    """The id of a button for coaches.

    >>> make_coach_id(CoachAct.SEE, 12)
    'k1|see|12'
    """
    return f"{COACH}|{act.value}|{number}"


def read_coach_id(custom_id: str) -> tuple[CoachAct, int] | None:
    """What such an id says; None where it is not one that this version makes."""
    found = _named_number(COACH, unmarked(custom_id))
    return (CoachAct(found[0]), found[1]) if found and found[0] in set(CoachAct) else None


def make_mod_id(act: ModAct, number: int = 0) -> str:
    """The id of a button for moderators.

    >>> make_mod_id(ModAct.USE_UPLOAD, 12)
    'm1|use-upload|12'
    """
    return f"{MOD}|{act.value}|{number}"


def read_mod_id(custom_id: str) -> tuple[ModAct, int] | None:
    """What such an id says; None where it is not one that this version makes."""
    found = _named_number(MOD, unmarked(custom_id))
    return (ModAct(found[0]), found[1]) if found and found[0] in set(ModAct) else None


def make_setup_id(step: int) -> str:
    """The id of the list of a step of a server's set-up.

    >>> make_setup_id(2)
    'e1|2'
    """
    return f"{SETUP_PICK}|{step}"


def read_setup_id(custom_id: str) -> int | None:
    """The step that such an id says; None where it is not one that this version makes."""
    version, _, number = custom_id.partition("|")
    return _key_number(number) if version == SETUP_PICK else None


def make_words_id(act: FormAct, number: int = 0) -> str:
    """The id of a form with words in it.

    >>> make_words_id(FormAct.HAND_IN, 12)
    'h1|hand-in|12'
    """
    return f"{WORDS}|{act.value}|{number}"


def read_words_id(custom_id: str) -> tuple[FormAct, int] | None:
    """What such an id says; None where it is not one that this version makes."""
    found = _named_number(WORDS, custom_id)
    return (FormAct(found[0]), found[1]) if found and found[0] in set(FormAct) else None


def is_lost_words_id(custom_id: str) -> bool:
    """Whether it is of a form with words in it that another version made, and nobody here reads."""
    return re.fullmatch(WORDS_TEMPLATE, custom_id) is not None and read_words_id(custom_id) is None


def make_list_id(act: ListAct, number: int = 0) -> str:
    """The id of a list to pick one or several things from.

    >>> make_list_id(ListAct.SAME_FOR, 12)
    'l1|same-for|12'
    """
    return f"{LIST}|{act.value}|{number}"


def read_list_pick(custom_id: str, values: Sequence[str]) -> tuple[ListAct, int, tuple[int, ...]] | None:
    """What such an id says and the numbers that were picked; None where one is not as this version makes
    it."""
    found = _named_number(LIST, custom_id)
    picked = tuple(number for value in values if (number := _key_number(value)) is not None)
    if found is None or found[0] not in set(ListAct) or len(picked) != len(values):
        return None
    return ListAct(found[0]), found[1], picked


def unmarked(custom_id: str) -> str:
    """The id of a button without the mark by which the bot finds a post of its own again.

    >>> unmarked("t1|join|12|" + 20 * "a"), unmarked("t1|join|12")
    ('t1|join|12', 't1|join|12')
    """
    return _MARK.sub("", custom_id)


def _named_number(version: str, custom_id: str) -> tuple[str, int] | None:
    """A name and a number, in an id of this version."""
    found, *parts = custom_id.split("|")
    number = _key_number(parts[-1]) if parts else None
    return (parts[0], number) if found == version and len(parts) == 2 and number is not None else None


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
    made = f"{TAKE}|{key.route_id}|{safe(key.situation)}"
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
    found, distance = _key_number(number), read_distance(far) if far else None
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


def read_distance(text: str) -> float | None:
    """The distance that an id says; None where it is none."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) and value >= 0 else None


def safe(text: str) -> str:
    """Text as a part of an id, which `unquote` reads back."""
    return text.replace("%", "%25").replace("|", "%7C")
