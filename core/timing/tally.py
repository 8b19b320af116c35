"""One bout of tries at a link, as evidence on a player's timing, and many of them added up."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum

from core.timing.double_tap import Edges, best_aim, edges
from core.timing.spread import TYPICAL
from core.timing.window import Window


class Drop(StrEnum):
    """How a try ended."""

    HIT = "hit"
    EARLY = "early"
    LATE = "late"
    MISSED = "missed"


@dataclass(frozen=True, slots=True)
class Tally:
    """Tries at one link, drops for other reasons than timing left out.

    `early` and `late` count the drops whose side is known; the rest of tries - hit is known to have
    missed and no more. `spacing_frames`: between the two presses of a double tap, 0 for one press.
    `gaps`: gaps of the first press read off the input history, of some or all of the tries. `aim_gap`:
    where the player aimed (None: the best aim for this pattern). `weight`: 1, less for old tallies.
    """

    window: Window
    tries: int
    hit: int
    early: int = 0
    late: int = 0
    spacing_frames: float = 0.0
    gaps: tuple[int, ...] = ()
    aim_gap: float | None = None
    weight: float = 1.0

    def __post_init__(self) -> None:
        if min(self.tries, self.hit, self.early, self.late) < 0:
            raise ValueError("The numbers of a tally cannot be below 0.")
        if self.hit + self.early + self.late > self.tries:
            raise ValueError(
                f"{self.hit} hit, {self.early} early and {self.late} late are more than {self.tries} tries."
            )
        if len(self.gaps) > self.tries:
            raise ValueError(f"{len(self.gaps)} gaps are more than {self.tries} tries.")
        if not 0 <= self.weight < float("inf"):
            raise ValueError(f"The weight of a tally must be 0 or more, not {self.weight}.")

    def counts_without_gaps(self) -> dict[Drop, int]:
        """The tries whose gap was not read, by how they ended.

        Each gap takes a try that ended as the gap says; where none is left, one of unknown side, then any.
        """
        missed = self.tries - self.hit - self.early - self.late
        left = {Drop.HIT: self.hit, Drop.EARLY: self.early, Drop.LATE: self.late, Drop.MISSED: missed}
        borders = edges(self.window, self.spacing_frames)
        for gap in self.gaps:
            wanted = (ending(gap, borders), Drop.MISSED, Drop.LATE, Drop.EARLY, Drop.HIT)
            left[next(drop for drop in wanted if left[drop])] -= 1
        return left


def ending(gap: float, borders: Edges) -> Drop:
    """How a first press with this gap ends."""
    if gap < borders.early_end:
        return Drop.EARLY
    late = gap >= borders.late_start or borders.hole_start <= gap < borders.hole_end
    return Drop.LATE if late else Drop.HIT


@dataclass(slots=True)
class Group:
    """Equal tallies added up: weighted counts, and the edges and gaps relative to the aim."""

    interval_frames: float
    borders: Edges
    counts: dict[Drop, float] = field(default_factory=lambda: dict.fromkeys(Drop, 0.0))
    gaps: dict[float, float] = field(default_factory=dict)


def grouped(tallies: Iterable[Tally]) -> list[Group]:
    """The tallies added up by window, pattern and aim, so that a fit looks at each link once."""
    aims: dict[tuple[Window, float], float] = {}
    groups: dict[tuple[int, int, bool, float, float], Group] = {}
    for tally in tallies:
        window, spacing = tally.window, tally.spacing_frames
        aim = tally.aim_gap
        if aim is None:
            if (window, spacing) not in aims:
                spread = TYPICAL.frames(window.middle_gap)
                aims[window, spacing] = best_aim(spread, window, spacing)
            aim = aims[window, spacing]
        key = (window.first_gap, window.last_gap, window.early_chains, spacing, aim)
        group = groups.get(key)
        if group is None:
            group = groups[key] = Group(abs(aim), _relative(edges(window, spacing), aim))
        for drop, count in tally.counts_without_gaps().items():
            group.counts[drop] += count * tally.weight
        for gap in tally.gaps:
            group.gaps[gap - aim] = group.gaps.get(gap - aim, 0.0) + tally.weight
    return list(groups.values())


def _relative(borders: Edges, aim: float) -> Edges:
    return Edges(
        borders.early_end - aim, borders.hole_start - aim, borders.hole_end - aim, borders.late_start - aim
    )
