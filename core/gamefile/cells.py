"""The text forms of a move's cells. Each reader takes one value of a CSV cell or a TOML key.

A reader raises `CellError`, which says what is wrong and what would be right. TOML whole numbers
stand for their text, and TOML lists for cells with `;`.
"""

from __future__ import annotations

import math
import re
from enum import StrEnum
from typing import TypeVar

from core.model import Effect, Freeze, HitLevel, MoveKind, Outcome, Projectile, Range, Stance
from core.text import DASHES, one_of, shown

MAX_FRAMES = 9_999
MAX_NUMBER = 999_999
MAX_HITS = 40
MAX_NAME_LENGTH = 60
MAX_NAMES = 30

_NO_BREAK_SPACE = "\N{NO-BREAK SPACE}"
_PLAIN = str.maketrans({**dict.fromkeys(DASHES, "-"), _NO_BREAK_SPACE: " "})
_WHOLE = re.compile(r"[+-]?[0-9]{1,9}")
_NUMBER = re.compile(r"[+-]?[0-9]{1,9}(?:[.,][0-9]{1,6})?")
_SPANS = re.compile(r"[0-9]{1,4}(?: *\( *[0-9]{1,4} *\) *[0-9]{1,4})*")
_RANGE = re.compile(r"(?P<low>[+-]?[0-9]{1,9})(?: *\.\. *(?P<high>[+-]?[0-9]{1,9}))?")
_OUTCOME = re.compile(r"(?P<effect>kd|knockdown|launch)(?: +(?P<number>.+))?", re.IGNORECASE)
_FREEZE = re.compile(r"(?P<frames>[0-9]{1,4}) +after +(?P<before>[0-9]{1,4})", re.IGNORECASE)
_AMOUNT = re.compile(r"(?P<gauge>.*\S) +(?P<amount>[0-9]{1,6})")

Choice = TypeVar("Choice", bound=StrEnum)
Span = tuple[int, int]
"""Frames without a hit before it, and active frames."""
Hitstop = tuple[int, int] | None
"""Attacker's and defender's frames; None for unknown."""


class CellError(ValueError):
    """A cell that cannot be read: what is wrong with it and what would be right."""

    def __init__(self, wrong: str, right: str) -> None:
        super().__init__(wrong, right)
        self.wrong = wrong
        self.right = right


def text(value: object) -> str:
    """A cell's text: trimmed, with a spreadsheet's typographic minus signs made plain."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise CellError(f"{shown(value)} is not a number or text", "write a number, or text in quotes")
    if isinstance(value, int):
        return shown(value)
    return str(value).translate(_PLAIN).strip()


def name(value: object) -> str:
    """A name on one line, of at most 60 characters."""
    if not isinstance(value, str):
        raise CellError(f"{shown(value)} is not text", 'write text in quotes, such as "1.0"')
    found = value.replace(_NO_BREAK_SPACE, " ").strip()
    if not found:
        raise CellError("is empty", "write a name")
    if len(found) > MAX_NAME_LENGTH:
        raise CellError(
            f"{shown(found)} has {len(found)} characters", f"write at most {MAX_NAME_LENGTH} characters"
        )
    if not found.isprintable():
        raise CellError(
            f"{shown(found)} holds a character that cannot be printed", "write plain text on one line"
        )
    return found


def names(value: object) -> tuple[str, ...]:
    """Names with `;` between them."""
    found = tuple(name(part) for part in _parts(value))
    if len(found) > MAX_NAMES:
        raise CellError(f"holds {len(found)} names", f"keep at most {MAX_NAMES}")
    return found


def tags(value: object) -> frozenset[str]:
    """Tags with `;` between them, in lower case."""
    return frozenset(found.lower() for found in names(value))


def kind(value: object) -> MoveKind:
    """A kind of move."""
    return _choice(value, MoveKind, "kind of move")


def stance(value: object) -> Stance:
    """The attacker's stance."""
    return _choice(value, Stance, "stance")


def hit_level(value: object) -> HitLevel:
    """How the move must be blocked."""
    return _choice(value, HitLevel, "hit level")


def count(value: object) -> int:
    """A whole number, 0 or more."""
    return _whole(value, "number", 0, MAX_NUMBER)


def frames(value: object) -> int:
    """A number of frames, 0 or more."""
    return _whole(value, "number of frames", 0, MAX_FRAMES)


def level(value: object) -> int:
    """A super's level."""
    return _whole(value, "level", 1, 9)


def number(value: object) -> float:
    """A number with or without a fraction; 1,5 is read as 1.5."""
    written = text(value)
    if not _NUMBER.fullmatch(written):
        raise CellError(f"{shown(value)} is not a number", "write a number such as 1.5")
    found = float(written.replace(",", "."))
    if not math.isfinite(found) or abs(found) > MAX_NUMBER:
        raise CellError(f"{shown(value)} is out of bounds", f"write a number up to {MAX_NUMBER}")
    return found


def length(value: object) -> float:
    """A distance, 0 or more."""
    found = number(value)
    if found < 0:
        raise CellError(f"{shown(value)} is below 0", "write 0 or more")
    return found


def active(value: object) -> tuple[Span, ...]:
    """Active spans, 2(6)3 being 2 active frames, 6 without a hit, 3 active ones.

    >>> active("2(6)3"), active(4)
    (((0, 2), (6, 3)), ((0, 4),))
    """
    written = text(value)
    right = "write 3, or 2(6)3 for two hits with 6 frames between"
    if not _SPANS.fullmatch(written):
        raise CellError(f"{shown(value)} is not a length of frames", right)
    numbers = [int(found) for found in re.findall("[0-9]+", written)]
    spans = tuple(zip([0, *numbers[1::2]], numbers[::2], strict=True))
    if any(not span for _, span in spans):
        raise CellError(f"{shown(value)} has a span of 0 frames", "write at least 1 frame for each span")
    if len(spans) > MAX_HITS:
        raise CellError(f"{shown(value)} has {len(spans)} hits", f"keep at most {MAX_HITS}")
    return spans


def advantage(value: object) -> Range:
    """An advantage: +4, -2, or 2..8 by height.

    >>> advantage("2..8"), advantage("−3")
    (Range(low=2, high=8), Range(low=-3, high=-3))
    """
    found = _RANGE.fullmatch(text(value))
    if not found:
        raise CellError(
            f"{shown(value)} is not an advantage", "write +4, -2, or 2..8 where the height decides"
        )
    low = int(found["low"])
    high = low if found["high"] is None else int(found["high"])
    if low > high:
        raise CellError(f"{shown(value)} runs downwards", f"write {high}..{low}")
    if max(abs(low), abs(high)) > MAX_FRAMES:
        raise CellError(f"{shown(value)} is out of bounds", f"write at most {MAX_FRAMES} frames")
    return Range(low, high)


def outcome(value: object) -> Outcome:
    """What a hit leads to: an advantage, KD 38, or launch 45.

    >>> outcome("launch 45").air_frames, outcome("KD 38").advantage
    (45, Range(low=38, high=38))
    """
    written = text(value)
    found = _OUTCOME.fullmatch(written)
    try:
        if not found:
            return Outcome(Effect.STAND, advantage(written))
        if found["effect"].lower() == "launch":
            return Outcome(Effect.LAUNCH, air_frames=frames(found["number"]) if found["number"] else None)
        return Outcome(Effect.KNOCKDOWN, advantage(found["number"]) if found["number"] else None)
    except CellError as error:
        if "is not" not in error.wrong:
            raise
        raise CellError(
            f"{shown(value)} is not the outcome of a hit", "write +4, 2..8, KD 38 or launch 45"
        ) from None


def freeze(value: object) -> Freeze:
    """A super freeze: `60 after 5` frames of startup."""
    found = _FREEZE.fullmatch(text(value))
    if not found:
        raise CellError(f"{shown(value)} is not a freeze", "write 60 after 5: 60 frames after 5 of startup")
    return Freeze(int(found["frames"]), int(found["before"]))


def stuns(value: object) -> tuple[int | None, ...]:
    """Stun by hit, `14; 16`; ? for unknown."""
    return tuple(None if part == "?" else _whole(part, "stun", 0, MAX_FRAMES) for part in _parts(value))


def damages(value: object) -> tuple[int | None, ...]:
    """Damage by hit, `300; 300`; ? for unknown."""
    return tuple(None if part == "?" else _whole(part, "damage", 0, MAX_NUMBER) for part in _parts(value))


def hitstops(value: object) -> tuple[Hitstop, ...]:
    """Hitstop by hit: 11 for both sides, 0/10 for attacker and defender; ? for unknown.

    >>> hitstops("11; 0/10; ?")
    ((11, 11), (0, 10), None)
    """
    return tuple(None if part == "?" else _hitstop(part) for part in _parts(value))


def hit_numbers(value: object) -> frozenset[int]:
    """Numbers of hits, `1; 2`, or none."""
    if isinstance(value, str) and value.strip().lower() == "none":
        return frozenset()
    return frozenset(_whole(part, "number of a hit", 1, MAX_HITS) for part in _parts(value))


def amounts(value: object) -> tuple[tuple[str, int], ...]:
    """Gauges and amounts, `glow 10; salt 5`.

    >>> amounts("second wind 10; salt 5")
    (('second wind', 10), ('salt', 5))
    """
    pairs = []
    for part in _parts(value):
        found = _AMOUNT.fullmatch(part)
        if not found:
            raise CellError(
                f"{shown(part)} is not a gauge with an amount", "write glow 10, or glow 10; salt 5"
            )
        pairs.append((found["gauge"], int(found["amount"])))
    return tuple(pairs)


def projectile(value: object) -> Projectile | None:
    """yes, no, or the speed in distance units a frame."""
    if isinstance(value, bool):
        value = "yes" if value else "no"
    written = text(value).lower()
    if written in ("yes", "no"):
        return Projectile() if written == "yes" else None
    speed = float(written.replace(",", ".")) if _NUMBER.fullmatch(written) else 0.0
    if not 0 < speed <= MAX_NUMBER:
        raise CellError(
            f"{shown(value)} is not a projectile's speed", "write yes, or a speed above 0 such as 0.5"
        )
    return Projectile(speed)


def _parts(value: object) -> list[str]:
    listed = value if isinstance(value, list) else text(value).split(";")
    found = [text(part) for part in listed]
    if not all(found):
        raise CellError(f"{shown(value)} has an empty part", "write one value between two semicolons")
    return found


def _hitstop(part: str) -> tuple[int, int]:
    sides = part.split("/")
    if len(sides) > 2 or not all(_WHOLE.fullmatch(side.strip()) for side in sides):
        raise CellError(f"{shown(part)} is not a hitstop", "write 11, or 0/10 for attacker and defender")
    both = [_whole(side, "hitstop", 0, MAX_FRAMES) for side in sides]
    return both[0], both[-1]


def _whole(value: object, what: str, least: int, most: int) -> int:
    written = text(value)
    if not _WHOLE.fullmatch(written):
        raise CellError(f"{shown(value)} is not a {what}", f"write a whole number such as {max(least, 5)}")
    found = int(written)
    if not least <= found <= most:
        raise CellError(f"{shown(value)} is out of bounds for a {what}", f"write {least} to {most}")
    return found


def _choice(value: object, choices: type[Choice], what: str) -> Choice:
    try:
        return choices(text(value).lower())
    except ValueError:
        raise CellError(f"{shown(value)} is no {what}", f"write {one_of(list(choices))}") from None
