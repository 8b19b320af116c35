"""A group drill after its end, in words: who gained and what all did, and nobody who did badly."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bot.render.card import Card, Group
from bot.render.drills import drill_source, standing_lines
from bot.render.members import Names
from bot.render.reps import moment_words, whose_words
from bot.render.wording import say
from bot.results.drills import DrillEnd
from core.drills.recap import MemberWin

MOST_WINS = 8


def recap_card(end: DrillEnd, names: Names) -> Card:
    """The card of a drill that is over."""
    board, recap = end.board, end.recap
    groups = []
    if recap.tries:
        groups.append(_group("standings", standing_lines(board, names)))
        gained = tuple(_gained(end, names))
        if gained:
            groups.append(_group("gained", gained))
        groups.append(_group("together", _together(end)))
    groups.append(_group("next", _next(end)))
    return Card(_lead(end, names), tuple(groups), (), drill_source(board.drill, board.game_version))


def recap_members(end: DrillEnd) -> tuple[int, ...]:
    """Whose names it shows."""
    recap = end.recap
    shown = [row.entry.member for row in (*end.board.standings.rows, *recap.winners, *recap.new_winners)]
    shown += [entry.member for entry in recap.most_improved]
    shown += [*recap.first_timers, *(win.member for win in recap.wins)]
    return tuple(dict.fromkeys(shown))


def joined_names(members: Sequence[int], names: Names) -> str:
    """Names in a sentence: "Ann, Bo and Cy"; who left is not named.

    >>> joined_names([1, 2, 3], {1: "Ann", 2: "Bo", 3: "Cy"}), joined_names([4], {})
    ('Ann, Bo and Cy', '')
    """
    known = [names[member] for member in members if member in names]
    if len(known) < 2:
        return "".join(known)
    return say("recap", "and", first=", ".join(known[:-1]), last=known[-1])


def _lead(end: DrillEnd, names: Names) -> str:
    recap, what = end.recap, whose_words(end.board.drill.plan.subject)
    if not recap.tries:
        return say("recap-leads", "nobody", what=what)
    for key, rows in (("won", recap.winners), ("won-new", recap.new_winners)):
        winners = joined_names([row.entry.member for row in rows], names)
        if winners:
            won = say("recap", "won-one" if len(rows) == 1 else "won-many")
            return say("recap-leads", key, what=what, names=winners, won=won)
    return say("recap-leads", "done", what=what, tries=recap.tries, members=_members(end))


def _gained(end: DrillEnd, names: Names) -> Iterator[str]:
    recap = end.recap
    improved = joined_names([entry.member for entry in recap.most_improved], names)
    if improved:
        yield say("recap", "improved", names=improved)
    first = joined_names(recap.first_timers, names)
    if first:
        yield say("recap", "first", names=first)
    known = [win for win in recap.wins if win.member in names]
    for win in known[:MOST_WINS]:
        yield _win(win, names)


def _win(won: MemberWin, names: Names) -> str:
    tally = won.win.tally
    return say("recap", won.win.code.value, name=names[won.member], landed=tally.landed, tries=tally.tries)


def _together(end: DrillEnd) -> Iterator[str]:
    recap = end.recap
    yield say("recap", "reps", landed=recap.landed, tries=recap.tries, members=_members(end))
    if end.late:
        yield say("recap", "late")
    yield say("recap", "thanks")


def _next(end: DrillEnd) -> Iterator[str]:
    if end.next is None:
        yield say("recap", "none")
        return
    closes = moment_words(end.next.closes_at, end.board.zone)
    yield say("recap", "next", what=whose_words(end.next.plan.subject), closes=closes)


def _members(end: DrillEnd) -> str:
    count = end.recap.members
    return say("recap", "members-one") if count == 1 else say("recap", "members", count=count)


def _group(question: str, lines: Iterator[str] | Sequence[str]) -> Group:
    return Group(say("recap-questions", question), tuple(lines))
