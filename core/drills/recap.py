"""What a drill's last post says: who won, who gained, who was new, what was won in passing, and the reps of
all. It names nobody for having done badly, and nobody who did not agree to be listed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from core.drills.drill import Scored
from core.drills.scores import Entry, Group, counts
from core.drills.standings import Row, Standings
from core.learning.tally import Tally
from core.learning.wins import Win, WinCode, wins


@dataclass(frozen=True, slots=True)
class MemberWin:
    """A member's small win in the drill."""

    member: int
    win: Win


@dataclass(frozen=True, slots=True)
class Recap:
    """A drill after its end.

    `winners` share the first place; `new_winners` too, of those who had too few earlier tries to compare
    (MOST_IMPROVED alone). `most_improved`, whatever the scoring, gained more than chance would give; often
    it is nobody. `first_timers` had never tried this before, by member id. `members` took part, `unlisted`
    of them unnamed; `landed` of `tries` are the reps of all.
    """

    winners: tuple[Row, ...]
    new_winners: tuple[Row, ...]
    most_improved: tuple[Entry, ...]
    first_timers: tuple[int, ...]
    wins: tuple[MemberWin, ...]
    members: int
    unlisted: int
    landed: int
    tries: int


def recap(final: Standings, tallies: Iterable[Scored], before: Mapping[int, Iterable[Tally]]) -> Recap:
    """The recap of these standings and of the tallies that they were computed from.

    `before` holds by member the tallies at this from before the drill opened: what is a first, and what is a
    best, is only known from the whole past. Those from after that moment are passed over.
    """
    entries = final.entries
    return Recap(
        winners=_first(final, Group.COMPARED),
        new_winners=_first(final, Group.NEW),
        most_improved=_most_improved(final),
        first_timers=tuple(sorted(row.entry.member for row in final.rows if row.entry.earlier.tries == 0)),
        wins=_wins(final, tallies, before),
        members=len(entries),
        unlisted=len(final.unlisted),
        landed=sum(entry.landed for entry in entries),
        tries=sum(entry.tries for entry in entries),
    )


def _first(final: Standings, group: Group) -> tuple[Row, ...]:
    return tuple(row for row in final.rows if row.entry.group == group and row.place == 1)


def _most_improved(final: Standings) -> tuple[Entry, ...]:
    gains = ((row.entry, row.entry.gain) for row in final.rows)
    real = [(entry, gain.low) for entry, gain in gains if gain is not None and gain.low > 0]
    most = max((low for _, low in real), default=0.0)
    return tuple(sorted((entry for entry, low in real if low == most), key=lambda entry: entry.member))


def _wins(
    final: Standings, tallies: Iterable[Scored], before: Mapping[int, Iterable[Tally]]
) -> tuple[MemberWin, ...]:
    """In the order of time; of several personal bests of a member the last, which is the best.

    A week kept is left out: it is won by practising anything, of which the drill knows only its own part.
    """
    logged: dict[int, list[Tally]] = {row.entry.member: [] for row in final.rows}
    for one in tallies:
        if one.member in logged and counts(final.drill, one):
            logged[one.member].append(one.tally)
    last: dict[tuple[int, WinCode], MemberWin] = {}
    for member, new in logged.items():
        past = [tally for tally in before.get(member, ()) if tally.when < final.drill.opens]
        for win in wins([*past, *new], final.drill.zone):
            if win.tally.when >= final.drill.opens and win.code is not WinCode.WEEK_KEPT:
                last[member, win.code] = MemberWin(member, win)
    return tuple(sorted(last.values(), key=lambda each: (each.win.tally.when, each.member, each.win.code)))
