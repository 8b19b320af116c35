"""Who stands where in a drill.

The order: by score, the better first; of equal scores the one reached in fewer tries, then the one reached
first, then the lower member id. Equal scores share a place (1, 1, 3): the rest only orders the rows.
Members who did not agree to be listed take part, stand apart and take no one's place.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from core.drills.drill import Drill, Scored
from core.drills.scores import Entry, Group, entry_of
from core.learning.rates import Rate, TooFew

NOTHING_EARLIER = TooFew(0, 0)


@dataclass(frozen=True, slots=True)
class Row:
    """An entry and its place within its group, from 1; None for those who have no score so far."""

    place: int | None
    entry: Entry


@dataclass(frozen=True, slots=True)
class Standings:
    """The listed members in order, group after group; the others by member id, to be counted, not named."""

    drill: Drill
    rows: tuple[Row, ...]
    unlisted: tuple[Entry, ...]

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Of all who take part, listed or not."""
        return (*(row.entry for row in self.rows), *self.unlisted)


def standings(
    drill: Drill,
    tallies: Iterable[Scored],
    earlier: Mapping[int, Rate | TooFew],
    listed: Collection[int],
) -> Standings:
    """The standings after these tallies, given in any order.

    `earlier` holds by member what they landed at this before the drill opened (`rates.tell`), and nobody who
    never tried; `listed` are the members who agreed to be named.
    """
    by_member: dict[int, list[Scored]] = {}
    for one in tallies:
        by_member.setdefault(one.member, []).append(one)
    found = (
        entry_of(drill, member, own, earlier.get(member, NOTHING_EARLIER))
        for member, own in by_member.items()
    )
    entries = [entry for entry in found if entry is not None]
    named = frozenset(listed)
    return Standings(
        drill,
        _placed(entry for entry in entries if entry.member in named),
        _by_id(entry for entry in entries if entry.member not in named),
    )


def rescored(
    before: Standings, member: int, tallies: Iterable[Scored], earlier: Rate | TooFew, *, listed: bool
) -> Standings:
    """The standings after one member's tallies, or their consent to be listed, changed.

    The same as computing all of them again, from that member's tallies alone.
    """
    rows = [row.entry for row in before.rows if row.entry.member != member]
    unlisted = [entry for entry in before.unlisted if entry.member != member]
    entry = entry_of(before.drill, member, tallies, earlier)
    if entry is not None:
        (rows if listed else unlisted).append(entry)
    return Standings(before.drill, _placed(rows), _by_id(unlisted))


def own_row(current: Standings, member: int) -> Row | None:
    """A member's row for their own eyes. Who is unlisted reads the place they would have among the listed."""
    for row in current.rows:
        if row.entry.member == member:
            return row
    for entry in current.unlisted:
        if entry.member == member:
            better = sum(
                row.entry.group == entry.group and _points(row.entry) > _points(entry) for row in current.rows
            )
            return Row(None if entry.score is None else better + 1, entry)
    return None


def _placed(entries: Iterable[Entry]) -> tuple[Row, ...]:
    rows: list[Row] = []
    group, in_group = Group.COMPARED, 0
    for entry in sorted(entries, key=_order):
        in_group = in_group + 1 if entry.group == group else 1
        group = entry.group
        place: int | None = in_group
        if entry.score is None:
            place = None
        elif in_group > 1 and _points(rows[-1].entry) == _points(entry):
            place = rows[-1].place
        rows.append(Row(place, entry))
    return tuple(rows)


def _points(entry: Entry) -> tuple[float, int]:
    return (0.0, 0) if entry.score is None else (entry.score.points, entry.score.landed)


def _order(entry: Entry) -> tuple[Any, ...]:
    if entry.score is None:
        return entry.group, entry.member
    points, landed = _points(entry)
    return entry.group, -points, -landed, entry.took, entry.reached, entry.member


def _by_id(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    return tuple(sorted(entries, key=lambda entry: entry.member))
