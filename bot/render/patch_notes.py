"""What follows from a new version of a game, in lines of words: for links, for cancels, for kept moves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from bot.render.wording import Fact, say, say_reason
from bot.results.patches import Keep, Touched
from core.model import Game
from core.patches import CancelChange, LinkChange, LinkEffect, RouteChange, RouteEffect

RENAMED = "renamed"
"""The kind of the repair that only takes another input."""
EACH = 6
"""So many links or moves stand in a line."""


def link_lines(links: Iterable[LinkChange], each: int | None = EACH) -> Iterator[str]:
    """Links lost, gained, tighter and looser, a line for each character, plain ones before those in a state;
    `each`: None for all of them."""
    for (effect, character), found in groupby(links, lambda one: (one.kind, one.character)):
        plain_first = sorted(found, key=lambda one: one.state is not None)
        told = _some([_link(one) for one in plain_first], each, "; ")
        yield say("patch-links", effect.value, character=character, links=told)


def cancel_lines(cancels: Iterable[CancelChange], each: int | None = EACH) -> Iterator[str]:
    """Cancels lost and gained, a line for what a move no longer or newly goes into on the same contacts."""
    into: defaultdict[tuple[str, str, bool, bool], defaultdict[str, list[str]]]
    into = defaultdict(lambda: defaultdict(list))
    for one in cancels:
        about = one.character, one.first, one.gained, one.still_legal
        into[about][one.second].append(one.contact.value)
    for (character, first, gained, legal), moves in into.items():
        key = f"{'gained' if gained else 'lost'}{'-combo' if legal else ''}"
        alike: defaultdict[tuple[str, ...], list[str]] = defaultdict(list)
        for second, contacts in moves.items():
            alike[tuple(contacts)].append(second)
        for touching, seconds in alike.items():
            facts = {"into": _some(seconds, each, ", "), "contact": " and ".join(touching)}
            yield say("patch-cancels", key, 60, character=character, first=first, **facts)


def own_line(one: Touched, game: Game) -> str:
    """What becomes of a member's own route or homework, and what works in its place."""
    told = [_becomes(_own(one), one.change, game)]
    if one.kept.situations:
        told.append(say("patch-moves", "played", situations=", ".join(one.kept.situations)))
    return " ".join(told)


def assigned_line(one: Touched, game: Game) -> str:
    """What becomes of homework, for the coach who set it."""
    return _becomes(say("patch-moves", "assigned", what=called(one)), one.change, game)


def shared_line(one: Touched, game: Game) -> str:
    """What becomes of a route, a drill or an exercise that is everybody's."""
    return _becomes(_everybodys(one), one.change, game)


def called(one: Touched) -> str:
    """What kept moves are called: a route by its name, anything else by whose moves they are.

    >>> from bot.results.patches import KeptMoves
    >>> moves = KeptMoves(Keep.DRILL, 1, 0, "Odrun Vale", "5MP, 2MP")
    >>> called(Touched(moves, RouteChange(RouteEffect.BREAKS)))
    "Odrun Vale's 5MP, 2MP"
    """
    kept = one.kept
    if kept.name:
        return say("patch-moves", "name", name=kept.name)
    return say("patch-moves", "moves", character=kept.character, notation=kept.notation)


def works_now(change: RouteChange) -> str | None:
    """The moves that work in place of a route that breaks; None where none are known to."""
    return change.repaired if change.repair is not None and change.repair.whole else None


def _own(one: Touched) -> str:
    key = {Keep.HOMEWORK: "own-homework", Keep.SHARED: "own-shared"}.get(one.kept.keep, "own-route")
    return say("patch-moves", key, what=called(one))


def _everybodys(one: Touched) -> str:
    return say("patch-moves", one.kept.keep.value, what=called(one))


def _becomes(what: str, change: RouteChange, game: Game) -> str:
    match change.effect:
        case RouteEffect.BREAKS:
            return _breaks(what, change, game)
        case RouteEffect.DAMAGE | RouteEffect.MENDED:
            facts: dict[str, Fact] = {"old": change.old_damage, "new": change.new_damage}
            told = say("patch-moves", change.effect.value, game.fps, what=what, **facts)
            old, new = change.old_frames, change.new_frames
            if change.effect is RouteEffect.MENDED or old is None or new is None or old == new:
                return told
            return f"{told} {say('patch-moves', 'also', game.fps, old=old, new=new)}"
        case RouteEffect.HARDER | RouteEffect.EASIER:
            facts = {"old_rate": change.old_rate, "new_rate": change.new_rate}
            if change.old_frames != change.new_frames:
                facts |= {"old": change.old_frames, "new": change.new_frames}
            return say("patch-moves", change.effect.value, game.fps, what=what, **facts)
        case _:
            return say("patch-moves", "same", what=what)


def _breaks(what: str, change: RouteChange, game: Game) -> str:
    if change.repair is not None and change.repair.kind == RENAMED and change.repair.whole:
        return say("patch-moves", "renamed", what=what, repaired=change.repaired)
    why = say_reason(change.reasons[0], game) if change.reasons else None
    told = [say("patch-moves", "breaks", game.fps, what=what, move=change.failing_move, why=why)]
    if change.repaired is not None:
        key = "mend" if works_now(change) is not None else "mend-part"
        told.append(say("patch-moves", key, repaired=change.repaired))
    return " ".join(told)


def _link(change: LinkChange) -> str:
    key = "pair-window" if change.kind in (LinkEffect.TIGHTER, LinkEffect.LOOSER) else "pair"
    facts: dict[str, Fact] = {"old": change.old_frames, "new": change.new_frames}
    if change.state:
        facts["state"] = change.state
    return say("patch-links", key, 60, first=change.first, second=change.second, **facts)


def _some(told: Sequence[str], most: int | None, between: str) -> str:
    """The first of these, and how many more there are."""
    if most is None or len(told) <= most + 1:
        return between.join(told)
    return say("patch-links", "some", some=between.join(told[:most]), count=len(told) - most)
