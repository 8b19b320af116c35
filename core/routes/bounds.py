"""How much damage a route can still gain at most: what lets the search give up on one early."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from core.frames import hits
from core.model import Contact, Move
from core.routes.joints import Judge
from core.routes.movement import Dash


class Bounds:
    """Bounds on the damage of what may follow a move, whatever came before it.

    They take it that each move comes as early in the route as can be, with nothing used up: hitstun decay and
    damage scaling must not turn back, else every bound is infinite.
    """

    def __init__(self, judge: Judge, moves: Sequence[Move], distance: float | None) -> None:
        self._judge = judge
        self._attacks = tuple(move for move in moves if hits(move))
        self._movements = tuple(move for move in moves if not hits(move) and move.recovery_frames is not None)
        # From a given distance a movement may bring the two anywhere, and a projectile flies that far.
        self._anything = distance is not None and bool(self._movements)
        # On the ground, and in the air at a count at which everything still hits that ever does.
        self._contacts = (Contact(distance=distance), Contact(distance=distance, juggle_count=0))
        self._most: dict[tuple[int, int, int], float] = {}
        self._with_next: dict[tuple[int, int, int], float] = {}
        self._after: dict[int, tuple[Move, ...]] = {}
        game = judge.game
        steps = game.scaling.steps_percent if game.scaling else ()
        self.usable = all(a >= b for a, b in pairwise(steps)) and all(
            a <= b for a, b in pairwise(game.hitstun_decay_frames)
        )

    def more(self, move: Move, hits_before: int, left: int) -> float:
        """The most damage that at most `left` moves after this one can add, its own hits not counted."""
        if not left:
            return 0.0
        if not self.usable:
            return math.inf
        number = min(hits_before, self._judge.hits_that_matter)
        key = (id(move), number, left)
        most = self._most.get(key)
        if most is None:
            follow = (self.with_next(after, number, left) for after in self.following(move))
            most = self._most[key] = max(follow, default=0.0)
        return most

    def with_next(self, after: Move, hits_before: int, left: int) -> float:
        """The same where this is the first of the moves after it."""
        if not self.usable:
            return math.inf
        # One hit of each move lands at the least.
        number = min(hits_before + 1, self._judge.hits_that_matter)
        key = (id(after), number, left)
        most = self._with_next.get(key)
        if most is None:
            own = self._judge.damage(after, Contact(hits_before=number), len(after.hits)) or 0
            most = self._with_next[key] = own + self.more(after, number, left - 1)
        return most

    def following(self, move: Move) -> tuple[Move, ...]:
        """The moves that follow this one in some route or other."""
        if self._anything:
            return self._attacks
        known = self._after.get(id(move))
        if known is None:
            ways = [(contact, dash) for contact in self._contacts for dash in self._dashes(move, contact)]
            known = self._after[id(move)] = tuple(
                second
                for second in self._attacks
                if any(self._judge.joints(move, second, contact, dash) for contact, dash in ways)
            )
        return known

    def _dashes(self, move: Move, contact: Contact) -> Iterator[Dash | None]:
        """What may come between the move and the next: nothing, or a movement, however it begins."""
        yield None
        for movement in self._movements:
            frames = movement.recovery_frames or 0
            yield Dash(movement, frames)
            for _, window in self._judge.into_movement(move, movement, contact):
                yield Dash(movement, frames, window)
