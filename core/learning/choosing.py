"""Choosing on sight what to do: when a question of the quiz is to come again.

Spaced repeats in steps, as with the boxes of a card file (Leitner 1972, from memory): an answer that is right
and in time goes up a step, and the breaks grow with the steps; a wrong one goes back to the start. That
breaks should grow with how long something is to last is the direction of Cepeda et al. 2008 (Psychological
Science 19:1095-1102); the days themselves are a guess. To know it but slowly is not enough in a match, so
that does not go up, and comes back soon.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TypeVar

Answer = TypeVar("Answer")

BREAKS_DAYS = (1, 3, 7, 16, 35)
"""The break after the answer that reaches step 1, 2 ...; the last one goes on."""
WRONG_BREAK = timedelta(minutes=1)
SLOW_BREAK = timedelta(minutes=10)
MOST_CHOICES = 4
"""Between so many answers one chooses at most: as many as are read at a glance."""


@dataclass(frozen=True, slots=True)
class Asked:
    """Something to be asked, by its number. `due_at` (aware): when it comes again, None where it was never
    asked."""

    number: int
    step: int = 0
    due_at: datetime | None = None


def answered(
    step: int,
    right: bool,
    seconds: float,
    limit_seconds: float,
    now: datetime,
    due_at: datetime | None = None,
) -> tuple[int, datetime]:
    """The step after an answer that took so long, and when the question comes again.

    `due_at`: when it was to come. One that is answered well ahead of that keeps its step and its day: what
    was just looked at proves nothing about next week.
    """
    if not right:
        return 0, now + WRONG_BREAK
    if seconds > limit_seconds:
        return step, now + SLOW_BREAK
    if due_at is not None and now < due_at:
        return step, due_at
    up = min(step + 1, len(BREAKS_DAYS))
    return up, now + timedelta(days=BREAKS_DAYS[up - 1])


def in_order(cards: Sequence[Asked], now: datetime) -> tuple[Asked, ...]:
    """What is to be asked first: what is due, the longest overdue first; then what was never asked; then what
    comes soonest, ahead of its day."""

    def place(card: Asked) -> tuple[int, datetime, int]:
        if card.due_at is None:
            return 1, datetime.min.replace(tzinfo=UTC), card.number
        return (0 if card.due_at <= now else 2), card.due_at, card.number

    return tuple(sorted(cards, key=place))


def next_of(cards: Sequence[Asked], now: datetime) -> Asked | None:
    """What is asked next; None where there is nothing to ask."""
    return next(iter(in_order(cards, now)), None)


def choices(
    right: Answer,
    alike: Sequence[Answer],
    others: Sequence[Answer],
    mixed: Callable[[Sequence[Answer]], list[Answer]],
) -> tuple[Answer, ...]:
    """The answers to choose between, in an order that `mixed` draws: the right one, and at most three more,
    of those `alike` before the `others`; which ones of many is drawn too."""
    wrong = mixed(alike) + mixed(others)
    return tuple(mixed([right, *wrong[: MOST_CHOICES - 1]]))
