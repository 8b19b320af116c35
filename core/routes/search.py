"""The best routes of a character: exact within the moves, start and limits of the question.

A route grows move by move through `core.routes.state.follow`; of two that can go on alike, one that is no
better in anything is dropped (`core.routes.labels`). Each press has a chance of its own here, and a route
the product of them; `core.routes.check.reliability` then carries start frames from press to press.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from core.frames import hits
from core.model import Character, Effect, Game, Means, Move
from core.notation import Route, Step
from core.routes.bounds import Bounds
from core.routes.check import in_player_time
from core.routes.choose import End, choose
from core.routes.ending import finish
from core.routes.joints import Judge
from core.routes.labels import Label, explore
from core.routes.query import Aim, Found, FoundRoute, JointKey, Query
from core.routes.state import RouteState, Taken, begin, begin_dash, dash_window, follow
from core.timing import Window
from core.verdict import Verdict


@dataclass(frozen=True, slots=True)
class Node:
    """A route so far: its newest step and state, its newest move that hits, the chance of having come so
    far, the damage expected of what is settled, which of the required moves are in it, its moves and how
    often a joint in it is new."""

    state: RouteState
    step: Step
    attack: Move
    chance: float
    expected: float
    required: int
    moves: int
    new: int

    @property
    def begins(self) -> bool:
        """Whether its newest move that hits is the first of the route, which may meet the defender as no
        later one does."""
        return self.moves == (1 if self.state.dash is None else 2)


def find(game: Game, character: Character, query: Query) -> Found:
    """The best routes on hit. What is not known to follow is not taken."""
    return search(Judge(game, character), query)


def search(judge: Judge, query: Query) -> Found:
    """As `find`, by a judge that may have answered before."""
    asked = _Search(judge, query)
    explored = explore(asked.starts(), asked.grow, query.budget, asked.promise)
    ends = [end for label in explored.kept if (end := asked.end(label)) is not None]
    return Found(
        tuple(asked.told(end) for end in choose(judge.game, query.aim, ends, query.most_routes)),
        explored.complete,
        explored.labels,
        asked.left_out,
    )


@dataclass(frozen=True, slots=True)
class Worth:
    """What a route comes to, or can come to at best."""

    damage: int | float
    chance: float
    expected: float
    frames: float


class Best:
    """The best routes known so far: by the aim, and the front of damage against chance."""

    def __init__(self, query: Query) -> None:
        self._aim, self._front_too = query.aim, query.most_routes > 1
        self._damages: list[float] = []
        self._chances: list[float] = []
        self._expected = -math.inf
        self._frames = math.inf

    def note(self, worth: Worth | None) -> None:
        """Take a route into account."""
        if worth is None:
            return
        self._expected = max(self._expected, worth.expected)
        self._frames = min(self._frames, worth.frames)
        place = bisect_left(self._damages, worth.damage)
        if place < len(self._damages) and self._chances[place] >= worth.chance:
            return
        # Damage rises along the front and chance falls: what this one beats stands just before it.
        if place < len(self._damages) and self._damages[place] == worth.damage:
            place += 1
        start = place
        while start and self._chances[start - 1] <= worth.chance:
            start -= 1
        self._damages[start:place] = [worth.damage]
        self._chances[start:place] = [worth.chance]

    def beats(self, most: Worth) -> bool:
        """Whether routes that come to this at the very most are better in nothing."""
        if self._aim is Aim.EXPECTED and most.expected > self._expected:
            return False
        if self._aim is Aim.SHORTEST and most.frames <= self._frames:
            return False
        if not self._front_too and self._aim in (Aim.EXPECTED, Aim.SHORTEST):
            return True
        place = bisect_left(self._damages, most.damage)
        return place < len(self._damages) and self._chances[place] >= most.chance


class _Search:
    """One question with what is worked out for it once."""

    def __init__(self, judge: Judge, query: Query) -> None:
        self.judge, self.query = judge, query
        game = judge.game
        every = [move.under(query.scheme) for move in judge.character.moves]
        usable = [move for move in every if _usable(move)]
        self.left_out = tuple(move.input for move in every if not _usable(move))
        self._limits = tuple(dict(query.spend).get(gauge.name, gauge.maximum) for gauge in game.gauges)
        named = {gauge.name for gauge in game.gauges if gauge.name in dict(query.spend)}
        self._limited = tuple(gauge.name in named for gauge in game.gauges)
        self._moves = tuple(
            move for move in usable if move.input not in query.avoid and self._affordable(move)
        )
        self._attacks = tuple(Step(move) for move in self._moves if hits(move))
        self._dashes = tuple(Step(move) for move in self._moves if not hits(move))
        self._step_of = {id(step.move): step for step in self._attacks}
        self._required = {move: 1 << n for n, move in enumerate(query.require)}
        self._all_required = (1 << len(self._required)) - 1
        self._bounds = Bounds(judge, self._moves, query.start.distance)
        self._best = Best(query)
        self._chances: dict[Window, float] = {}
        reaches = [move.reach for move in self._moves if move.reach is not None and move.projectile is None]
        self._shortest_reach = min(reaches, default=math.inf)
        # The most by which one move, pushing or moving away, brings the two further apart.
        pushes = (move.pushback_on_hit or 0 for move in self._moves)
        self._most_apart = max((0, *pushes, *(-(move.travel or 0) for move in self._moves)))
        self._followers: dict[tuple[object, ...], tuple[tuple[Step, float], ...]] = {}
        costs = [self.judge.costs(move) for move in self._moves]
        gains = [dict(move.gains) for move in self._moves]
        self._cheapest = tuple(
            min((cost[n] for cost in costs if cost[n]), default=None) for n in range(len(game.gauges))
        )
        self._best_gain = tuple(
            max((gain.get(gauge.name, 0) for gain in gains), default=0) for gauge in game.gauges
        )

    def starts(self) -> Iterator[Label[Node]]:
        for step in self._attacks:
            if self.query.first and step.move.input not in self.query.first:
                continue
            state = begin(self.judge, step, self.query.start)
            if isinstance(state, RouteState) and self._within(state):
                required = self._required.get(step.move.input, 0)
                node = Node(state, step, step.move, 1.0, 0.0, required, 1, 0)
                self._best.note(self._worth(node))
                yield self._label(node, None)

    def grow(self, label: Label[Node]) -> Iterator[Label[Node]]:
        node = label.state
        if node.moves >= self.query.most_moves:
            return
        for step in self._promising(node):
            taken = follow(self.judge, node.state, step)
            if isinstance(taken, Verdict):
                continue
            for one in taken:
                after = self._after(node, step, one)
                if after is not None and self._within(after.state) and not self._hopeless(after):
                    self._best.note(self._worth(after))
                    yield self._label(after, label)

    def _promising(self, node: Node) -> Iterator[Step]:
        """The steps that may follow, without those that better nothing known even at their surest."""
        state = node.state
        left = self.query.most_moves - node.moves
        own = self.judge.damage(state.move, state.contact, len(state.move.hits)) or 0
        damage, expected = (state.damage or 0) + own, node.expected + node.chance * own
        frames = math.inf if state.frames is None else state.frames
        for step, surest in self._follow_at_all(node):
            chance = node.chance * surest
            more = math.inf
            if hits(step.move):
                more = self._bounds.with_next(step.move, state.contact.hits_before, left)
            most = Worth(damage + more, chance, expected + chance * more, frames)
            if damage + more >= self.query.least_damage and not self._best.beats(most):
                yield step

    def promise(self, label: Label[Node]) -> float:
        """The most damage that can land of what grows from it, as likely as it has come so far."""
        chance = label.state.chance
        return self._at_most(label.state) * chance if chance else 0.0

    def end(self, label: Label[Node]) -> End | None:
        """What the route comes to if it ends here; None where it is not what is looked for."""
        node = label.state
        worth = self._worth(node)
        if worth is None:
            return None
        steps = tuple(one.step for one in label.way)
        return End(steps, node.state, int(worth.damage), node.chance, worth.expected, worth.frames)

    def _worth(self, node: Node) -> Worth | None:
        state, query = node.state, self.query
        if state.dash is not None or node.required != self._all_required:
            return None
        if node.moves < query.least_moves:
            return None
        more = self.judge.damage(state.move, state.contact, len(state.move.hits))
        if state.damage is None or more is None or state.damage + more < query.least_damage:
            return None
        frames = math.inf
        if query.knockdown or query.aim is Aim.SHORTEST:
            ending = finish(self.judge, state)
            if query.knockdown and ending.effect is not Effect.KNOCKDOWN:
                return None
            frames = math.inf if ending.frames is None else ending.frames
        return Worth(state.damage + more, node.chance, node.expected + node.chance * more, frames)

    def _at_most(self, node: Node) -> float:
        """More than this damage no route has that begins so."""
        state = node.state
        own = self.judge.damage(state.move, state.contact, len(state.move.hits)) or 0
        left = self.query.most_moves - node.moves
        after = math.inf if node.begins else self._bounds.more(node.attack, state.contact.hits_before, left)
        return (state.damage or 0) + own + after

    def _hopeless(self, node: Node) -> bool:
        """Whether nothing that begins so is worth more than what is known already."""
        damage = self._at_most(node)
        if damage < self.query.least_damage:
            return True
        settled = node.state.damage or 0
        expected = node.expected + node.chance * (damage - settled)
        frames = math.inf if node.state.frames is None else node.state.frames
        return self._best.beats(Worth(damage, node.chance, expected, frames))

    def told(self, end: End) -> FoundRoute:
        """A route as it is given."""
        joints = dict.fromkeys(joint_key(a, b) for a, b in pairwise(end.steps))
        return FoundRoute(
            Route(end.steps),
            end.damage,
            end.chance,
            end.expected,
            finish(self.judge, end.state).frames,
            end.state.spent,
            tuple(key for key in joints if key not in self.query.known),
        )

    def _follow_at_all(self, node: Node) -> tuple[tuple[Step, float], ...]:
        """The steps that timing and rules let follow, each with the chance of its surest press."""
        judge, state = self.judge, node.state
        first, dash = state.move, state.dash
        contact = judge.for_timing(first, state.contact)
        key = (id(first), contact, dash.key if dash else None, node.begins)
        if key not in self._followers:
            attacks = self._attacks
            if not node.begins and self._bounds.usable:
                attacks = tuple(self._step_of[id(move)] for move in self._bounds.following(node.attack))
            frozen = first.freeze.frames if first.freeze and not dash else 0
            found = []
            for step in attacks:
                joints = judge.joints(first, step.move, contact, dash)
                if joints:
                    found.append((step, max(self._chance(joint.window, frozen) for joint in joints)))
            for step in () if dash else self._dashes:
                if self._leads_on(state, step, attacks):
                    found.append((step, 1.0))
            self._followers[key] = tuple(found)
        return self._followers[key]

    def _leads_on(self, state: RouteState, dash: Step, attacks: tuple[Step, ...]) -> bool:
        """Whether anything at all follows the movement in time."""
        taken = begin_dash(self.judge, state, dash)
        return not isinstance(taken, Verdict) and any(
            self.judge.joints(state.move, step.move, state.contact, one.state.dash)
            for one in taken
            for step in attacks
        )

    def _after(self, node: Node, step: Step, taken: Taken) -> Node | None:
        """The node that this way of following leads to; None where too much would be new."""
        joint = taken.joint
        state, settled = node.state, taken.state.damage
        lands = 1.0
        if taken.state.dash is None:
            frozen = state.move.freeze.frames if state.move.freeze else 0
            lands = self._chance(joint.window, 0 if state.dash else frozen)
            if state.dash is not None:
                presses = dash_window(self.judge, state, joint.spare_frames)
                lands *= 0.0 if presses is None else self._chance(presses, frozen)
        new = node.new
        joined = Step(step.move, joint.means)
        if self.query.most_new is not None:
            new += joint_key(node.step, joined) not in self.query.known
            if new > self.query.most_new:
                return None
        more = (settled or 0) - (state.damage or 0)
        return Node(
            taken.state,
            joined,
            step.move if taken.state.dash is None else node.attack,
            node.chance * lands,
            node.expected + node.chance * more,
            node.required | self._required.get(step.move.input, 0),
            node.moves + 1,
            new,
        )

    def _chance(self, window: Window | Verdict, freeze_frames: int) -> float:
        """The chance of a press; none where it is not known what is accepted."""
        if isinstance(window, Verdict):
            return 0.0
        window = in_player_time(window, freeze_frames)
        known = self._chances.get(window)
        if known is None:
            known = self._chances[window] = self.query.hands(window)
        return known

    def _label(self, node: Node, before: Label[Node] | None) -> Label[Node]:
        state = node.state
        group = (
            id(state.move),
            state.contact,
            state.lying,
            state.lying_hits,
            state.dash.key if state.dash else None,
            node.required,
            min(node.moves, self.query.least_moves),
        )
        # Fewer moves leave room for more of them; so near that nothing goes out of reach is near enough.
        left = self.query.most_moves - node.moves
        near = self._shortest_reach - (left + 1) * self._most_apart
        costs = [-float(state.damage or 0), -node.chance, float(node.moves)]
        if near < math.inf:
            costs.append(max(state.distance, near))
        if self.query.aim is Aim.EXPECTED:
            costs.append(-node.expected)
        if self.query.aim is Aim.SHORTEST:
            costs.append(math.inf if state.frames is None else float(state.frames))
        if self.query.most_new is not None:
            costs.append(float(node.new))
        for n in range(len(state.gauges)):
            if self._cheapest[n] is not None:
                costs += self._gauge(node, n)
        return Label(node, group, tuple(costs), before)

    def _gauge(self, node: Node, n: int) -> Iterator[float]:
        """What the gauge is worth to the moves still to come, the more the lower: nothing where even the
        cheapest of them can no longer be paid."""
        cheapest, state = self._cheapest[n], node.state
        assert cheapest is not None
        left = self.query.most_moves - node.moves
        allowed = self._limits[n] - state.spent[n] if self._limited[n] else self._limits[n]
        # The newest move's own gain is still to come too.
        most = min(allowed, state.gauges[n] + left * self._best_gain[n])
        useful = left > 0 and most >= cheapest
        yield -float(min(state.gauges[n], allowed)) if useful else 0.0
        if self._limited[n]:
            yield -float(allowed) if useful else 0.0

    def _affordable(self, move: Move) -> bool:
        return all(cost <= most for cost, most in zip(self.judge.costs(move), self._limits, strict=True))

    def _within(self, state: RouteState) -> bool:
        """Whether no more is spent of any gauge than was asked for."""
        return all(
            spent <= most or not limited
            for spent, most, limited in zip(state.spent, self._limits, self._limited, strict=True)
        )


def _usable(move: Move) -> bool:
    """Whether the file has what the search must know of the move whatever comes before."""
    if not hits(move):
        return move.travel is not None
    return bool(move.hits) and all(hit.damage is not None for hit in move.hits)


def joint_key(before: Step, after: Step) -> JointKey:
    """What is learnt as one thing: a move after another by these means."""
    return before.move.input, after.move.input, after.joined or Means.LINK
