"""Every route of a small game, told one by one: what the search for routes is held against.

Nothing here keeps a route's state in short or drops anything. It asks links and cancels for each pair
with all that went before, and adds damage, gauges, distances and movements up by itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from core.cancels import CancelWindow, cancel, windows
from core.conditions import cannot_touch, juggle_count, refusal
from core.frames import contact_clock, free_clock, outcome, stun
from core.links import link
from core.model import Contact, Effect, Game, Means, Move, MoveKind, Outcome
from core.routes import Start
from core.timing import Window, cancel_window, link_window
from core.verdict import Answer


def lands(window: Window) -> float:
    """Hands that are quick to reckon with: wider is surer, later is less so."""
    return (1 - 0.5**window.frames) * (1 - 0.001 * window.first_gap)


@dataclass(frozen=True)
class Told:
    """A whole route and what it comes to."""

    moves: tuple[str, ...]
    damage: int
    chance: float
    expected: float
    frames: int
    spent: int
    effect: Effect


@dataclass(frozen=True)
class Past:
    """A route with its last move still open."""

    moves: tuple[Move, ...]
    contact: Contact
    damage: int
    chance: float
    expected: float
    salt: int
    spent: int
    distance: float
    lying: bool
    lying_hits: int
    started: int


@dataclass(frozen=True)
class Way:
    """One way in which a move follows another, with a movement between or none."""

    movement: Move | None
    means: Means
    last_hit: int
    rule: str
    chance: float
    gap: int


class Reference:
    """Every route of a game's one character."""

    def __init__(self, game: Game, start: Start | None = None) -> None:
        self.game, self.who, self.start = game, game.characters[0], start or Start()
        self.known: dict[object, object] = {}
        self.attacks = [move for move in self.who.moves if move.hits]
        self.movements = [move for move in self.who.moves if not move.hits]

    def all(self, depth: int) -> list[Told]:
        ways = list(self.starts())
        for past in ways:
            if len(past.moves) < depth:
                ways += [way for way in self.after(past) if len(way.moves) <= depth]
        return [self.ended(past) for past in ways]

    def starts(self) -> Iterator[Past]:
        salt = self.game.gauges[0].start
        contact = Contact(state=self.start.state, distance=self.start.distance)
        apart = self.start.distance or 0.0
        for move in self.attacks:
            cost = dict(move.costs).get("salt", 0)
            if cost <= salt and cannot_touch(move, contact) is None:
                yield Past((move,), contact, 0, 1.0, 0.0, salt - cost, cost, apart, False, 0, 0)

    def hurt(self, past: Past, last_hit: int) -> int:
        move, total = past.moves[-1], 0
        for n, hit in enumerate(move.hits[:last_hit]):
            percent = 100
            if self.game.scaling is not None:
                steps = self.game.scaling.steps_percent
                floor = 60 if move.kind is MoveKind.SUPER else 40
                percent = max(floor, steps[min(len(steps) - 1, past.contact.hits_before + n)])
            total += (hit.damage or 0) * percent // 100
        return total

    def joints(
        self, first: Move, second: Move, contact: Contact
    ) -> list[tuple[Means, int, str, Window, int]]:
        key = (first.input, first.startup_frames, second.input, contact)
        if key not in self.known:
            self.known[key] = list(self._joints(first, second, contact))
        return self.known[key]  # type: ignore[return-value]

    def _joints(
        self, first: Move, second: Move, contact: Contact
    ) -> Iterator[tuple[Means, int, str, Window, int]]:
        for means in (Means.CANCEL, Means.CHAIN):
            game = replace(self.game, rules=tuple(rule for rule in self.game.rules if rule.means is means))
            answer = cancel(game, self.who, first, second, contact)
            if answer.window is not None and answer.combos.answer is Answer.YES:
                window = cancel_window(game, self.who, first, second, contact)
                assert isinstance(window, Window)
                assert window.start_gap is not None
                yield means, answer.window.hit, answer.window.rule.name, window, window.start_gap
        if link(self.game, self.who, first, second, contact).answer is Answer.YES:
            window = link_window(self.game, self.who, first, second, contact)
            assert isinstance(window, Window)
            assert window.start_gap is not None
            yield Means.LINK, len(first.hits), "", window, window.start_gap

    def moved(self, first: Move, second: Move, contact: Contact) -> list[Way]:
        key = ("moved", first.input, first.startup_frames, second.input, contact)
        if key not in self.known:
            self.known[key] = list(self._moved(first, second, contact))
        return self.known[key]  # type: ignore[return-value]

    def _moved(self, first: Move, second: Move, contact: Contact) -> Iterator[Way]:
        """The ways with a movement between the two."""
        assert second.startup_frames is not None
        buffer = self.game.link_buffer_frames
        for movement in self.movements:
            frames = movement.recovery_frames
            assert frames is not None
            assert buffer is not None
            speed = second.startup_frames + frames
            reach = None if second.reach is None else 99.0
            later = replace(second, startup_frames=speed, cancelled_startup_frames=None, reach=reach)
            free = free_clock(first, contact)
            assert isinstance(free, int)
            begun = windows(self.game, self.who, first, movement, contact)
            found = link(self.game, self.who, first, later, contact)
            if found.answer is Answer.YES:
                spare = int(found.evidence["window_frames"]) - 1
                cancelled = [self.presses(first, contact, window) for window in begun]
                opens = max([free - 1 - buffer, *(presses.last_gap + 1 for presses in cancelled)])
                dash = Window(opens, free - 1 + spare)
                press = Window(max(1, frames - buffer), frames + spare)
                chance = lands(dash) * lands(press)
                yield Way(movement, Means.LINK, len(first.hits), "", chance, free - 1 + frames)
            for window in begun:
                lasts = stun(self.game, first, contact, window.hit)
                if refusal(self.game, first, later, contact, window.hit) is not None:
                    continue
                assert isinstance(lasts, int)
                spare = lasts - speed - window.first_delay_frames
                if spare < 0:
                    continue
                dash = self.presses(first, contact, window)
                assert dash.start_gap is not None
                start = dash.start_gap
                dash = replace(dash, last_gap=min(dash.last_gap, start + spare))
                press = Window(max(1, frames - buffer), frames + spare)
                chance = lands(dash) * lands(press)
                yield Way(movement, Means.LINK, window.hit, window.rule.name, chance, start + frames)

    def presses(self, first: Move, contact: Contact, window: CancelWindow) -> Window:
        """The gaps with which a movement is begun in a window, and the one on which it is at the soonest."""
        clock = contact_clock(first, contact, window.hit)
        assert isinstance(clock, int)
        assert window.first_press_frames is not None
        assert window.last_press_frames is not None
        assert window.last_delay_frames is not None
        last = clock - 1 + window.last_press_frames
        start = last - (window.last_delay_frames - window.first_delay_frames)
        return Window(max(1, clock - 1 + window.first_press_frames), last, start)

    def ways(self, first: Move, second: Move, contact: Contact) -> Iterator[Way]:
        for means, last_hit, rule, window, gap in self.joints(first, second, contact):
            yield Way(None, means, last_hit, rule, lands(window), gap)
        yield from self.moved(first, second, contact)

    def after(self, past: Past) -> Iterator[Past]:
        first = past.moves[-1]
        salt = min(40, past.salt + dict(first.gains).get("salt", 0))
        for second in self.attacks:
            for way in self.ways(first, second, past.contact):
                means, last_hit, rule = way.means, way.last_hit, way.rule
                cost = dict(second.costs).get("salt", 0)
                distance = past.distance + (first.pushback_on_hit or 0)
                at = past.contact.distance
                if way.movement is not None:
                    distance = max(0.0, distance - (way.movement.travel or 0))
                    at = None if at is None else round(distance, 3)
                if cost > salt or (second.reach is not None and distance > second.reach + 1e-9):
                    continue
                count, lying = past.contact.juggle_count, past.lying
                whole = last_hit == len(first.hits)
                taken = past.lying_hits + (last_hit if past.lying else 0)
                if past.lying and not whole:
                    continue
                if whole:
                    result = outcome(self.game, first, past.contact)
                    assert isinstance(result, Outcome)
                    if past.lying and result.effect is Effect.STAND:
                        continue
                    assert self.game.juggle is not None
                    lying = result.effect is Effect.KNOCKDOWN
                    if lying and taken >= self.game.juggle.downed_hits:
                        continue
                    count = juggle_count(first, past.contact) if result.effect is Effect.LAUNCH else None
                more = self.hurt(past, last_hit)
                begun = second
                if means is Means.CANCEL and second.cancelled_startup_frames is not None:
                    begun = replace(second, startup_frames=second.cancelled_startup_frames)
                yield Past(
                    (*past.moves, *([way.movement] if way.movement else []), begun),
                    Contact(
                        distance=at,
                        hits_before=past.contact.hits_before + last_hit,
                        juggle_count=count,
                        came_by=means,
                        rules_used=(*past.contact.rules_used, rule) if rule else past.contact.rules_used,
                    ),
                    past.damage + more,
                    past.chance * way.chance,
                    past.expected + past.chance * more,
                    salt - cost,
                    past.spent + cost,
                    distance,
                    lying,
                    taken,
                    past.started + way.gap,
                )

    def ended(self, past: Past) -> Told:
        move = past.moves[-1]
        more = self.hurt(past, len(move.hits))
        result = outcome(self.game, move, past.contact)
        assert isinstance(result, Outcome)
        effect = Effect.KNOCKDOWN if past.lying and result.effect is Effect.STAND else result.effect
        assert move.total_frames is not None
        stops = sum(hit.attacker_hitstop_frames or 0 for hit in move.hits)
        return Told(
            tuple(one.input for one in past.moves),
            past.damage + more,
            past.chance,
            past.expected + past.chance * more,
            past.started + move.total_frames + stops,
            past.spent,
            effect,
        )
