"""Numbers of a move that follow from others, and numbers that must agree.

Frames; R is recovery, A_last the last active span. total = startup - 1 + active + R. After
hitstop, stun = advantage + (A_last - 1) + R - the sum over all hits of (defender's - attacker's
hitstop). Each function raises `CellError` where given numbers do not agree.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from core.gamefile.cells import CellError, Hitstop, Span
from core.model import Effect, Outcome, Range

Value = TypeVar("Value")


def recovery_frames(startup: int, spans: Sequence[Span], recovery: int | None, total: int) -> int:
    """The recovery that a total leaves, checked against a given one.

    >>> recovery_frames(5, ((0, 3),), None, 19)
    12
    """
    before = startup - 1 + sum(gap + span for gap, span in spans)
    if recovery is not None and before + recovery != total:
        raise CellError(
            f"{total} is not startup - 1 + active + recovery, which is {before + recovery}",
            f"write {before + recovery}, or correct the others",
        )
    if total < before:
        raise CellError(
            f"{total} leaves no frames for recovery", f"write {before} or more, or correct startup or active"
        )
    return total - before


def hitstop_difference(hitstops: Sequence[Hitstop]) -> int | None:
    """Defender's less attacker's hitstop over all hits; None where a hit's is not known.

    >>> hitstop_difference(((0, 10), (9, 9))), hitstop_difference(((9, 9), None))
    (10, None)
    """
    known = [both for both in hitstops if both is not None]
    return sum(both[1] - both[0] for both in known) if len(known) == len(hitstops) else None


def by_hit(values: Sequence[Value], hits: int) -> tuple[Value, ...]:
    """One value for each hit."""
    if len(values) != hits:
        given = f"has {len(values)} value{'' if len(values) == 1 else 's'}"
        raise CellError(
            f"{given} for {hits} hit{'' if hits == 1 else 's'}",
            "write one for each hit, with ; between and ? for unknown",
        )
    return tuple(values)


def marked(listed: frozenset[int], hits: int) -> tuple[bool, ...]:
    """Which of the hits are listed by their numbers.

    >>> marked(frozenset({2}), 3)
    (False, True, False)
    """
    if listed and max(listed) > hits:
        raise CellError(f"names hit {max(listed)} of a move with {hits}", f"write numbers from 1 to {hits}")
    return tuple(number in listed for number in range(1, hits + 1))


def settled_range(
    field: str, advantage: Range | None, stun: int | None, lead: int | None
) -> tuple[Range | None, int | None]:
    """An advantage and the last hit's stun, the missing one from the other. `lead`: how much more
    the stun is than the advantage; None where that does not follow."""
    if lead is None or (advantage is not None and not advantage.exact):
        return advantage, stun
    if advantage is None:
        return (None if stun is None else Range(stun - lead, stun - lead)), stun
    needed = advantage.low + lead
    if stun is not None and stun != needed:
        raise CellError(
            f"{stun} for the last hit does not agree with {field} {advantage.low:+}, which needs {needed}",
            f"write {needed}, or correct {field}",
        )
    if needed < 0:
        raise CellError(
            f"would be {needed}, by {field} {advantage.low:+} with this active, recovery and hitstop",
            "correct one of them",
        )
    return advantage, needed


def settled_outcome(
    on_hit: Outcome | None, stun: int | None, lead: int | None
) -> tuple[Outcome | None, int | None]:
    """As `settled_range`, for what a hit leads to: a launch holds the defender for its frames in
    the air, a knockdown has no stun."""
    if on_hit is None or on_hit.effect is Effect.STAND:
        advantage, stun = settled_range("on_hit", on_hit.advantage if on_hit else None, stun, lead)
        return (None if advantage is None else Outcome(Effect.STAND, advantage)), stun
    if on_hit.effect is Effect.KNOCKDOWN:
        if stun is not None:
            raise CellError(f"{stun} for the last hit, which knocks down", "write ? for that hit")
        return on_hit, None
    if stun is not None and on_hit.air_frames not in (None, stun):
        raise CellError(
            f"{stun} for the last hit does not agree with on_hit launch {on_hit.air_frames}",
            f"write {on_hit.air_frames}, or correct on_hit",
        )
    return on_hit, on_hit.air_frames if stun is None else stun
