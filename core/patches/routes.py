"""What a patch does to saved routes.

A route is read in the old version and followed into the new by its moves, renamed ones under their new
inputs. It is judged in both as the bot judges a route that is opened: with every gauge full, on somebody
who stands, or else in the air.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from core.model import Character, Game, Means
from core.notation import Route, format_route
from core.patches.effects import RouteChange, RouteEffect, SavedText
from core.patches.follow import Followed, Follower
from core.patches.patch import Patch
from core.routes import Repair, RouteCheck, Start, full_gauges, reliability
from core.routes.check import in_player_time, judged, judged_as_usual, most_alike, with_repairs
from core.routes.joints import Judge
from core.routes.query import TYPICAL_HANDS
from core.timing import TYPICAL, Window
from core.verdict import Missing, Verdict

EVERY_ROUTE = frozenset(
    (
        "strengths",
        "link_buffer_frames",
        "cancel_buffer_frames",
        "cancel_window_frames",
        "hitstun_decay_frames",
        "scaling",
        "gauges",
        "rules",
        "juggle",
    )
)
"""Fields of a game that any route may hang on; hit states concern only the routes that name one."""
EVERY_ROUTE_OF_ONE = frozenset(("rules", "jump"))
"""Fields of a character that any of their routes may hang on."""
NOTICED = 0.005
"""A smaller difference of two chances is none."""
TRIED = 20
"""So many other moves are tried in place of one that is gone, the most alike first."""

SAME = RouteChange(RouteEffect.SAME)
UNREAD = RouteChange(RouteEffect.UNREAD)


def route_changes(
    old: Game, new: Game, patch: Patch, routes: Sequence[SavedText]
) -> tuple[tuple[int, RouteChange], ...]:
    """The routes that the patch changes, by their keys, in the order given; none that stay the same, and none
    whose text could not be read in the old version.

    A route breaks where it worked and does not any more, and where its text can no longer be read, whether
    it worked or not. One that works in both versions changes its damage, or else gets harder or easier by
    the chance that typical hands land all of it, by its tightest link where that chance is not known.
    """
    people: dict[str, Person | None] = {}
    found: list[tuple[int, RouteChange]] = []
    for route in routes:
        if route.character not in people:
            who = old.character(route.character)
            people[route.character] = None if who is None else Person(old, new, patch, who)
        person = people[route.character]
        change = UNREAD if person is None else person.change(route.notation, route.scheme)
        if change.effect not in (RouteEffect.SAME, RouteEffect.UNREAD):
            found.append((route.key, change))
    return tuple(found)


class Person:
    """One character's routes in both versions, each answer worked out once."""

    def __init__(self, old: Game, new: Game, patch: Patch, who: Character) -> None:
        self._old, self._new, self._who = old, new, who
        self._then = new.character(who.name) or Character(who.name)  # without moves where it is gone
        self._patch = patch.of(who.name)
        fields = {change.field for change in patch.changes}
        own = {change.field for change in self._patch.changes}
        self._every = bool(fields & EVERY_ROUTE or own & EVERY_ROUTE_OF_ONE)
        self._states = "hit_states" in fields
        same_moves = not (self._patch.moves or self._patch.removed or self._patch.renamed)
        self._untouched = same_moves and not (self._every or self._states or new.character(who.name) is None)
        self._before, self._after = Judge(old, who), Judge(new, self._then)
        self._followers: dict[str | None, Follower] = {}
        self._known: dict[tuple[str, str | None], RouteChange] = {}
        self._rates: dict[tuple[object, ...], float | None] = {}

    def change(self, notation: str, scheme: str | None) -> RouteChange:
        """What the patch does to the route of this text."""
        if self._untouched:
            return SAME
        if (notation, scheme) not in self._known:
            self._known[notation, scheme] = self._change(notation, scheme)
        return self._known[notation, scheme]

    def _change(self, notation: str, scheme: str | None) -> RouteChange:
        if scheme not in self._followers:
            self._followers[scheme] = Follower(
                self._old, self._new, self._who, self._then, self._patch, scheme
            )
        followed = self._followers[scheme].read(notation)
        if followed is None:
            return UNREAD
        in_state = self._states and any(step.state is not None for step in followed.old.steps)
        if not (followed.changed or self._every or in_state):
            return SAME
        was = judged_as_usual(self._before, followed.old)
        told = RouteChange(RouteEffect.BREAKS, old_damage=was.damage, old_frames=tightest(was))
        start = replace(was.start, gauges=full_gauges(self._new))
        if followed.gone is not None:
            return self._without(followed, followed.gone, told, start, scheme)
        for place, step in enumerate(followed.new.steps):
            if step.state is not None and self._new.hit_state(step.state) is None:
                return self._without_state(followed, place, step.state, told, start)
        if was.works:
            now = judged(self._after, followed.new, start)
        else:
            now = judged_as_usual(self._after, followed.new)
        told = replace(told, new_damage=now.damage, new_frames=tightest(now))
        if followed.renamed is not None and (now.works or not was.works):
            repair = Repair("renamed", followed.renamed, followed.new, now.start, now.works)
            return _repaired(told, followed.renamed, followed.old, repair)
        if now.works:
            return self._compared(told, was, now)
        return self._broken(told, now) if was.works else SAME

    def _without(
        self, followed: Followed, gone: int, told: RouteChange, start: Start, scheme: str | None
    ) -> RouteChange:
        """A route with a move that the new version lacks; it may fail before that."""
        if gone:
            before = judged(self._after, Route(followed.new.steps[:gone]), start)
            if not before.works:
                told = replace(told, reasons=before.verdict.reasons)
                return _repaired(told, before.failing or 0, followed.new, None)
        wanted = followed.new.steps[gone].move
        moves = [move.under(scheme) for move in self._then.moves]
        there = {move.input for move in moves} | {wanted.input}
        if all(move.input in there for move in followed.new.moves):
            for move in most_alike(wanted, moves)[:TRIED]:
                steps = (
                    replace(step, move=move) if step.move == wanted else step for step in followed.new.steps
                )
                again = judged(self._after, Route(tuple(steps)), start)
                if again.works:
                    repair = Repair("move", gone, again.route, start, True)
                    return _repaired(told, gone, followed.old, repair)
        return _repaired(told, gone, followed.old, None)

    def _without_state(
        self, followed: Followed, place: int, state: str, told: RouteChange, start: Start
    ) -> RouteChange:
        """A route in a hit state that the new version lacks; it may do without."""
        steps = tuple(
            replace(step, state=None) if step.state == state else step for step in followed.new.steps
        )
        again = judged(self._after, Route(steps), start)
        repair = Repair("state", place, again.route, start, True) if again.works else None
        missing = Missing("", (f"bonus_frames of {state}",)).verdict
        return _repaired(replace(told, reasons=missing.reasons), place, followed.old, repair)

    def _broken(self, told: RouteChange, now: RouteCheck) -> RouteChange:
        repairs = with_repairs(self._after, now).repairs
        told = replace(told, reasons=now.verdict.reasons)
        return _repaired(told, now.failing or 0, now.route, repairs[0] if repairs else None)

    def _compared(self, told: RouteChange, was: RouteCheck, now: RouteCheck) -> RouteChange:
        """Two versions that both work, or the new one alone."""
        if not was.works:
            return replace(told, effect=RouteEffect.MENDED)
        if not _lands_alike(was, now):
            told = replace(told, old_rate=self._rate(was), new_rate=self._rate(now))
        damages = told.old_damage, told.new_damage
        if None not in damages and damages[0] != damages[1]:
            return replace(told, effect=RouteEffect.DAMAGE)
        return replace(told, effect=_difficulty(told))

    def _rate(self, checked: RouteCheck) -> float | None:
        """The chance that typical hands land the route; None where a press is not known."""
        timing = _timing(checked)
        if timing not in self._rates:
            found = reliability(checked, TYPICAL, 0.0)
            self._rates[timing] = None if isinstance(found, Verdict) else found.whole
        return self._rates[timing]


def tightest(checked: RouteCheck) -> int | None:
    """W of the tightest link of a route that works; None where it has no link."""
    links = [step.verdict.evidence for step in checked.steps if step.means is Means.LINK]
    names = ("window_frames", "window_low_frames")
    windows = [int(evidence[name]) for evidence in links for name in names if name in evidence]
    return min(windows, default=None) if checked.works else None


def _timing(checked: RouteCheck) -> tuple[object, ...]:
    """All that the chance of a route hangs on."""
    return tuple((step.window, step.freeze_frames) for step in checked.steps)


def _lands_alike(was: RouteCheck, now: RouteCheck) -> bool:
    """Whether typical hands land every press as before, which spares working out the whole."""
    before, after = _timing(was), _timing(now)
    if before == after:
        return True
    chances = [_chances(checked) for checked in (was, now)]
    return all(
        one is not None and other is not None and abs(one - other) < NOTICED / 5
        for one, other in zip(*chances, strict=True)
    )


def _chances(checked: RouteCheck) -> list[float | None]:
    """The chance of each press after the first by itself; None where its window is not known."""
    return [
        TYPICAL_HANDS(in_player_time(step.window, before.freeze_frames))
        if isinstance(step.window, Window)
        else None
        for before, step in pairwise(checked.steps)
    ]


def _difficulty(told: RouteChange) -> RouteEffect:
    if told.old_rate is not None and told.new_rate is not None:
        easier = told.new_rate - told.old_rate
        if abs(easier) < NOTICED:
            return RouteEffect.SAME
    elif told.old_frames is not None and told.new_frames is not None:
        easier = told.new_frames - told.old_frames
    else:
        return RouteEffect.SAME
    if not easier:
        return RouteEffect.SAME
    return RouteEffect.EASIER if easier > 0 else RouteEffect.HARDER


def _repaired(told: RouteChange, failing: int, route: Route, repair: Repair | None) -> RouteChange:
    """The change with the step that fails and what mends it."""
    return replace(
        told,
        failing=failing,
        failing_move=route.steps[failing].move.input,
        repair=repair,
        repaired=None if repair is None else format_route(repair.route),
    )
