"""Pressing again and again at one rate: how often it works, and how many presses are spent on it."""

from __future__ import annotations

from dataclasses import dataclass

from core.timing.window import Window


@dataclass(frozen=True, slots=True)
class Mashing:
    """`works`: how often a press falls in the window and no earlier one spoils it; `presses`: how
    many are made; `unwanted`: how many of them are not the one that lands. Means, in that order."""

    works: float
    presses: float
    unwanted: float


def period_frames(fps: float, presses_per_second: float) -> float:
    """Frames from one press to the next.

    >>> period_frames(60, 12)
    5.0
    """
    if not presses_per_second > 0:
        raise ValueError(f"A rate must be above 0 presses a second, not {presses_per_second}.")
    return fps / presses_per_second


def mashing(window: Window, period_frames: float, from_gap: float, to_gap: float | None = None) -> Mashing:
    """Mashing without jitter from one gap to another (None: to the window's end), at any phase.

    The first press comes uniformly within one period after `from_gap`. Where an early press
    chains, it must be the first press of all that lands.

    >>> mashing(Window(24, 25), 5, from_gap=14)
    Mashing(works=0.4, presses=2.4, unwanted=2.0)
    """
    if not period_frames > 0:
        raise ValueError(f"The period of mashing must be above 0 frames, not {period_frames}.")
    end = window.last_gap + 1 if to_gap is None else to_gap
    if end < from_gap:
        raise ValueError(f"Mashing cannot end (gap {end}) before it begins (gap {from_gap}).")
    opens = max(window.first_gap, from_gap)
    closes = min(window.last_gap + 1, end)
    if window.early_chains:
        closes = min(closes, from_gap + period_frames)
    works = min(1.0, max(0.0, closes - opens) / period_frames)
    presses = (end - from_gap) / period_frames
    return Mashing(works, presses, presses - works)
