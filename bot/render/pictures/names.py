"""What the pictures and their words call things."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from bot.results.practice import LinkSides

ROWS = 8
"""So many links or subjects are shown; the service puts the ones that matter most first."""

MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


def percent(share: float) -> int:
    """A rate from 0 to 1 in whole percent."""
    return round(share * 100)


def day(one: date) -> str:
    """A day as people write it.

    >>> day(date(2025, 1, 6))
    '6 Jan 2025'
    """
    return f"{one.day} {MONTHS[one.month - 1]} {one.year}"


def link_names(sides: Sequence[LinkSides]) -> list[str]:
    """The links' notation, with whose they are where that differs."""
    several = len({one.subject.character for one in sides}) > 1
    return [f"{one.subject.character} {one.subject.what}" if several else one.subject.what for one in sides]
