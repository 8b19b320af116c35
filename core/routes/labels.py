"""Label setting with dominance: every way through a graph that no other way is at least as good as.

A label is a way so far: what it can go on with (`group`) and what it has cost (`costs`, the less the
better in each). Of two labels of one group, one whose costs are all no higher dominates the other: the
other and all that grows from it are dropped. That loses no best way where, from one group, the same
steps lie open to lower costs as to higher ones, and add the same: where only so many steps are allowed,
their number is a cost too.
(Resource-constrained shortest paths as in Ahuja, Magnanti & Orlin, Network Flows, 1993.)
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass, field
from heapq import heappop, heappush
from operator import le
from typing import Generic, TypeVar

State = TypeVar("State")


@dataclass(slots=True, eq=False)
class Label(Generic[State]):
    """One way so far. `before`: the way it grew from. `dropped`: a better one of its group is known."""

    state: State
    group: Hashable
    costs: tuple[float, ...]
    before: Label[State] | None = None
    dropped: bool = field(default=False)

    @property
    def way(self) -> tuple[State, ...]:
        """The states from the first one to this."""
        found: list[State] = []
        label: Label[State] | None = self
        while label is not None:
            found.append(label.state)
            label = label.before
        return tuple(reversed(found))


@dataclass(frozen=True, slots=True)
class Explored(Generic[State]):
    """The labels that nothing dominates, in the order in which they were found. `labels`: how many were
    made in all. `complete`: whether that was all there is."""

    kept: tuple[Label[State], ...]
    labels: int
    complete: bool


def explore(
    starts: Iterable[Label[State]],
    grow: Callable[[Label[State]], Iterable[Label[State]]],
    budget: int,
    promise: Callable[[Label[State]], float] = lambda _: 0.0,
) -> Explored[State]:
    """Grow labels from `starts` until none is left or `budget` are made.

    Those that promise most go first, of equal ones those found first: the order changes nothing but how
    soon good ways are known.
    """
    groups: dict[Hashable, _Front[State]] = {}
    waiting: list[tuple[float, int, Label[State]]] = []
    made = 0

    def admit(labels: Iterable[Label[State]]) -> bool:
        """Keep those that nothing dominates; False where there may be more than the budget allows."""
        nonlocal made
        for label in labels:
            if made >= budget:
                return False
            made += 1
            front = groups.get(label.group)
            if front is None:
                front = groups[label.group] = _Front()
            if front.add(label):
                heappush(waiting, (-promise(label), made, label))
        return True

    complete = admit(starts)
    while waiting and complete:
        _, _, label = heappop(waiting)
        if not label.dropped:
            complete = admit(grow(label))
    kept = tuple(label for front in groups.values() for label in front)
    return Explored(kept, made, complete)


class _Front(Generic[State]):
    """The labels of one group that do not dominate each other, by their first cost."""

    __slots__ = ("_firsts", "_labels")

    def __init__(self) -> None:
        self._firsts: list[float] = []
        self._labels: list[Label[State]] = []

    def __iter__(self) -> Iterator[Label[State]]:
        return iter(self._labels)

    def add(self, label: Label[State]) -> bool:
        """Take the label in and drop what it dominates; False where it is dominated itself."""
        costs = label.costs
        labels = self._labels
        # Only those with no higher a first cost can dominate it, only those with no lower be dominated.
        place = bisect_right(self._firsts, costs[0])
        for n in range(place - 1, -1, -1):
            if all(map(le, labels[n].costs, costs)):
                return False
        start = place
        while start and self._firsts[start - 1] == costs[0]:
            start -= 1
        worse = [n for n in range(start, len(labels)) if all(map(le, costs, labels[n].costs))]
        for n in reversed(worse):
            labels[n].dropped = True
            del labels[n], self._firsts[n]
        labels.insert(place - sum(n < place for n in worse), label)
        self._firsts.insert(place - sum(n < place for n in worse), costs[0])
        return True
