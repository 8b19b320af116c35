"""How fast routes are found that are far too many for a chat, beside looking at every route there is.

The other way to find the best route is networkx walking every path of a graph unrolled move by move, with
nothing but damage to add up; it goes as deep as it gets within `SECONDS`. The same search answers the same
question, and must find the same damage; the aim (step 5) is 100 times as fast. Takes some five minutes.
"""

from __future__ import annotations

import random
import time
from dataclasses import replace

import networkx as nx
from benchmarks.figures import Figure, alone, ratio_at_least, times_as_fast
from benchmarks.stopwatch import peak_mib

from core.model import (
    CancelRule,
    Character,
    Contact,
    ContactKind,
    Effect,
    Game,
    Gauge,
    Hit,
    Juggle,
    JuggleRules,
    Means,
    Move,
    MoveKind,
    Order,
    Outcome,
    Range,
    Scaling,
    Selector,
)
from core.routes import Query, find
from core.routes.joints import Judge

SECONDS, DEEPEST = 60, 11
LENGTH = 10
MOVES = 80
HIT = frozenset({ContactKind.HIT})
FALLS = Outcome(Effect.KNOCKDOWN, Range(40, 40))
LIGHT = frozenset({"light"})
CANCELLABLE = frozenset({"special-cancellable"})
STRENGTHS = ("light", "medium", "heavy")


def drawn_move(chance: random.Random, number: int) -> Move:
    kind = (MoveKind.NORMAL, MoveKind.NORMAL, MoveKind.SPECIAL, MoveKind.ENHANCED, MoveKind.SUPER)[number % 5]
    weight = number % 3
    effect, lead = Effect.STAND, chance.randint(-6, 6)
    if kind is MoveKind.ENHANCED or number % 16 == 5:
        effect = Effect.LAUNCH
    elif kind is MoveKind.SUPER or number % 9 == 3:
        effect, lead = Effect.KNOCKDOWN, 40
    advantage = None if effect is Effect.LAUNCH else Range(lead, lead)
    return Move(
        f"{number}P",
        f"move {number}",
        kind,
        strength=STRENGTHS[weight],
        tags=CANCELLABLE if number % 4 == 0 else frozenset(),
        startup_frames=4 + 2 * weight + chance.randint(0, 3) + (6 if kind is not MoveKind.NORMAL else 0),
        hits=tuple(
            Hit(
                3,
                0 if n == 0 else 2,
                hitstun_frames=None if n else (16 if number % 6 == 0 else None),
                damage=chance.randint(30, 60) * (weight + 1),
                attacker_hitstop_frames=9,
                defender_hitstop_frames=9,
            )
            for n in range(2 if number % 6 == 0 else 1)
        ),
        recovery_frames=10 + 3 * weight,
        on_hit=Outcome(effect, advantage, 34),
        on_air_hit=FALLS if number % 4 else Outcome(Effect.LAUNCH, None, 24),
        reach=1.2 + chance.randint(0, 12) / 10,
        pushback_on_hit=chance.choice([0.2, 0.3, 0.4]),
        juggle=Juggle(1, 1),
        gains=(("bar", 5 + 3 * weight),),
        costs=(("bar", 50 if kind is MoveKind.ENHANCED else 100),)
        if kind in (MoveKind.ENHANCED, MoveKind.SUPER)
        else (),
    )


def drawn_game(count: int) -> Game:
    """A character with so many moves in a game that has every kind of limit."""
    chance = random.Random(5)
    normals = frozenset({MoveKind.NORMAL})
    specials = frozenset({MoveKind.SPECIAL, MoveKind.ENHANCED})
    rules = (
        CancelRule(
            "chain", Means.CHAIN, Selector(normals, tags=CANCELLABLE), Selector(normals), HIT, 2, 8,
            order=Order.RISING, per_route=2,
        ),
        CancelRule(
            "special cancel", Means.CANCEL, Selector(normals, tags=CANCELLABLE), Selector(specials), HIT,
            not_after=frozenset({Means.CHAIN}), order=Order.NOT_FALLING,
        ),
        CancelRule(
            "super cancel", Means.CANCEL, Selector(specials, strengths=LIGHT),
            Selector(frozenset({MoveKind.SUPER})), HIT,
            per_route=1,
        ),
    )  # fmt: skip
    return Game(
        "Drawn", "1", 60, (),
        strengths=STRENGTHS,
        link_buffer_frames=3,
        cancel_buffer_frames=5,
        cancel_window_frames=2,
        hitstun_decay_frames=(0, 0, 0, 1, 1, 2, 3),
        scaling=Scaling((100, 100, 85, 70, 55, 45, 35), 20, ((MoveKind.SUPER, 40),)),
        gauges=(Gauge("bar", 300, 150),),
        rules=rules,
        juggle=JuggleRules(4),
        characters=(Character("Solo", moves=tuple(drawn_move(chance, n) for n in range(count))),),
    )  # fmt: skip


def without_limits(game: Game) -> Game:
    """The game with nothing that a step must know of those before it but damage scaling."""
    who = game.characters[0]
    moves = tuple(
        replace(
            move, costs=(), gains=(), reach=None, hits=move.hits[-1:],
            on_hit=move.on_hit if move.on_hit and move.on_hit.advantage else FALLS,
        )
        for move in who.moves
    )  # fmt: skip
    rules = tuple(replace(rule, per_route=None, not_after=frozenset()) for rule in game.rules)
    solo = replace(who, moves=moves)
    return replace(game, rules=rules, hitstun_decay_frames=(), gauges=(), characters=(solo,))


def unrolled(game: Game, depth: int) -> nx.DiGraph:
    """A node for each move at each place of a route, an arc where it may follow."""
    who = game.characters[0]
    judge = Judge(game, who)
    arcs = [
        (a, b)
        for a, first in enumerate(who.moves)
        for b, second in enumerate(who.moves)
        if judge.joints(first, second, Contact())
    ]
    graph = nx.DiGraph()
    for n in range(len(who.moves)):
        graph.add_edge("start", (0, n))
    for place in range(depth - 1):
        graph.add_edges_from(((place, a), (place + 1, b)) for a, b in arcs)
    return graph


def by_networkx(game: Game, depth: int, patience: float) -> tuple[float, int, int] | None:
    """Seconds, routes and the best damage of walking every path; None where it takes longer than this."""
    graph = unrolled(game, depth)
    moves, scaling = game.characters[0].moves, game.scaling
    assert scaling is not None
    percents = scaling.steps_percent
    plain = [move.hits[0].damage or 0 for move in moves]
    floors = [dict(scaling.floors_percent).get(move.kind, scaling.floor_percent) for move in moves]
    started, routes, best = time.perf_counter(), 0, 0
    ends = [node for node in graph if node != "start"]
    for path in nx.all_simple_paths(graph, "start", ends):
        routes += 1
        damage = sum(
            plain[move] * max(percents[min(place, len(percents) - 1)], floors[move]) // 100
            for place, move in path[1:]
        )
        best = max(best, damage)
        if not routes % 4096 and time.perf_counter() - started > patience:
            return None
    return time.perf_counter() - started, routes, best


def walked(game: Game, deepest: int, patience: float) -> tuple[int, float, int, int]:
    """The deepest level whose every path could be walked, its seconds, its routes and the best damage."""
    last = None
    for depth in range(2, deepest + 1):
        found = by_networkx(game, depth, patience)
        if found is None:
            break
        last = (depth, *found)
    assert last is not None
    return last


def beside_every_path(game: Game, deepest: int) -> Figure:
    """The search beside networkx, where nothing limits a route."""
    depth, seconds, routes, best = walked(game, deepest, SECONDS)
    started = time.perf_counter()
    found = find(game, game.characters[0], Query(most_moves=depth, budget=10**7))
    taken = time.perf_counter() - started
    assert found.complete
    assert found.routes[0].damage == best, (found.routes[0].damage, best)
    moves = len(game.characters[0].moves)
    what = f"without limits, {moves} moves, at most {depth}, beside every of {routes:,} paths"
    return times_as_fast("routes_deep.every_path", what, taken, seconds, "s", ratio_at_least(100))


def alone_with_limits(game: Game, length: int) -> tuple[Figure, ...]:
    """The same search with every limit, to its end."""
    held, started = peak_mib(), time.perf_counter()
    found = find(game, game.characters[0], Query(most_moves=length, budget=5_000_000))
    taken, grown = time.perf_counter() - started, peak_mib() - held
    assert found.complete
    what = f"with all limits, {len(game.characters[0].moves)} moves, at most {length}"
    return (
        alone("routes_deep.limits", what, taken, "s"),
        alone("routes_deep.labels", f"{what}, labels", found.explored, "labels"),
        alone("routes_deep.memory", f"{what}, the process grew by", grown, "MiB"),
    )


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of the largest searches."""
    drawn = drawn_game(12 if tiny else MOVES)
    limited = alone_with_limits(drawn, 3 if tiny else LENGTH)
    return (beside_every_path(without_limits(drawn), 3 if tiny else DEEPEST), *limited)
