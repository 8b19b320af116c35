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


@dataclass(frozen=True, slots=True)
class Reason:
    """One step of a reason chain: a stable code and the facts its sentence needs."""

    code: str
    facts: Facts = Facts()


@dataclass(frozen=True, slots=True)
class Verdict:
    """An answer, why, and the numbers used. A refusal is a verdict, never an exception."""

    answer: Answer
    reasons: tuple[Reason, ...]
    evidence: Facts = Facts()

    def has(self, code: str) -> bool:
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
            tuple(Reason("number-missing", Facts(move=self.move, field=field)) for field in self.fields),
        )
