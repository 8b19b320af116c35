"""What the engine answers with: a verdict, its reasons and the numbers it used.

The engine has no wording. A reason is a stable code with the facts a sentence about it needs;
`bot/render` turns codes into words.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

Value = int | float | str


class Answer(StrEnum):
    """The three answers. Unknown means that a number is missing or depends on what was not said."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


class Facts(Mapping[str, Value]):
    """Named values that do not change: units stand in the names (`window_frames`).

    >>> Facts(window_frames=2, move="2MP")
    Facts(window_frames=2, move='2MP')
    >>> Facts(a=1) == Facts(a=1), dict(Facts(a=1).plus(b=2))
    (True, {'a': 1, 'b': 2})
    """

    __slots__ = ("_values",)

    def __init__(self, **values: Value) -> None:
        self._values = values

    def __getitem__(self, name: str) -> Value:
        return self._values[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)

    def __hash__(self) -> int:
        return hash(frozenset(self._values.items()))

    def __repr__(self) -> str:
        return f"Facts({', '.join(f'{name}={value!r}' for name, value in self._values.items())})"

    def plus(self, **values: Value) -> Facts:
        """These facts and `values`; a name given again takes the new value."""
        return Facts(**{**self._values, **values})


class Code(StrEnum):
    """Every reason the engine can give; the sentences and the facts each needs are in bot/render."""

    # what was not known
    NUMBER_MISSING = "number-missing"
    DEPENDS_ON_HEIGHT = "depends-on-height"
    AIR_TO_AIR_LINK = "air-to-air-link"
    # whether the second move can touch the defender at all
    DOES_NOT_HIT = "does-not-hit"
    NOTHING_TOUCHED = "nothing-touched"
    CANNOT_BE_BLOCKED = "cannot-be-blocked"
    THROW_MISSES_STUN = "throw-misses-stun"
    KNOCKED_DOWN = "knocked-down"
    HITS_DOWNED = "hits-downed"
    DOWNED_LIMIT = "downed-limit"
    JUGGLE_LIMIT = "juggle-limit"
    JUGGLES = "juggles"
    FIRST_OUT_OF_REACH = "first-out-of-reach"
    OUT_OF_REACH = "out-of-reach"
    IN_REACH_UP_TO = "in-reach-up-to"
    # links
    LINK_IN_TIME = "link-in-time"
    LINK_TOO_LATE = "link-too-late"
    TRUE_STRING = "true-string"
    JUMP_FIRST = "jump-first"
    EARLY_PRESS_CANCELS = "early-press-cancels"
    WOULD_LINK_IN_STATE = "would-link-in-state"
    WOULD_LINK_MEATY = "would-link-meaty"
    # cancels and chains
    RULE_ALLOWS = "rule-allows"
    NO_RULE_INTO = "no-rule-into"
    SOURCE_NOT_IN_RULE = "source-not-in-rule"
    CONTACT_NOT_IN_RULE = "contact-not-in-rule"
    ORDER_FORBIDS = "order-forbids"
    SAME_MOVE = "same-move"
    USED_UP = "used-up"
    NOT_AFTER = "not-after"
    HIT_NOT_CANCELLABLE = "hit-not-cancellable"
    NEEDS_AIR = "needs-air"
    NEEDS_GROUND = "needs-ground"
    MOVE_OVER = "move-over"
    COSTS_GAUGE = "costs-gauge"
    STUN_LASTS = "stun-lasts"
    STUN_ENDS = "stun-ends"
    TIME_TO_CONFIRM = "time-to-confirm"
    # blocking
    NO_GAP = "no-gap"
    GAP = "gap"
    FRAME_TRAP = "frame-trap"
    PUNISHES = "punishes"
    NOT_PUNISHABLE = "not-punishable"
    TOO_SLOW_TO_PUNISH = "too-slow-to-punish"
    PUNISH_OUT_OF_REACH = "punish-out-of-reach"
    SAFE = "safe"
    UNSAFE = "unsafe"
    # after a knockdown
    NO_KNOCKDOWN = "no-knockdown"
    MEATY = "meaty"
    MEATY_TOO_LATE = "meaty-too-late"
    MEATY_OVER = "meaty-over"
    SAFE_JUMP = "safe-jump"
    JUMP_TOO_LONG = "jump-too-long"
    NOT_AIRBORNE = "not-airborne"
    # along a route
    GAUGE_SHORT = "gauge-short"
    DOWNED_USED = "downed-used"
    DELAY_TOO_LONG = "delay-too-long"
    MOVES_BETWEEN = "moves-between"


@dataclass(frozen=True, slots=True)
class Reason:
    """One step of a reason chain: a stable code and the facts its sentence needs."""

    code: Code
    facts: Facts = Facts()


@dataclass(frozen=True, slots=True)
class Verdict:
    """An answer, why, and the numbers used. A refusal is a verdict, never an exception."""

    answer: Answer
    reasons: tuple[Reason, ...]
    evidence: Facts = Facts()

    def has(self, code: Code) -> bool:
        """Whether a reason with this code is in the chain."""
        return any(reason.code == code for reason in self.reasons)


@dataclass(frozen=True, slots=True)
class Missing:
    """Numbers that the game file leaves out, so that the question cannot be answered.

    `move` is the move's input; empty where the number is a rule of the game.
    """

    move: str
    fields: tuple[str, ...]

    @property
    def verdict(self) -> Verdict:
        """The answer `unknown`, naming each missing number."""
        return Verdict(
            Answer.UNKNOWN,
            tuple(Reason(Code.NUMBER_MISSING, Facts(move=self.move, field=field)) for field in self.fields),
        )
