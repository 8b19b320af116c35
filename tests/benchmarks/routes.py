"""How fast routes are checked and found, beside looking at every route there is.

Run by hand: `python tests/benchmarks/routes.py`. The other way to find the best route is networkx walking
every path of a graph unrolled move by move, with nothing but damage to add up; it goes as deep as it
gets within `SECONDS`. The same search answers the same question, and must find the same damage.
"""

from __future__ import annotations

import random
import resource
import sys
import time
from dataclasses import replace
from pathlib import Path

import networkx as nx

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from stopwatch import best_ms  # noqa: E402

from bot.gamefiles import find_game, read_game  # noqa: E402
from core.followups import follow_up  # noqa: E402
from core.model import (  # noqa: E402
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
from core.notation import parse_route  # noqa: E402
from core.routes import Aim, Query, Start, check, find  # noqa: E402
from core.routes.joints import Judge  # noqa: E402

SECONDS = 60
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


def drawn_game() -> Game:
    """A character with `MOVES` moves in a game that has every kind of limit."""
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
        characters=(Character("Solo", moves=tuple(drawn_move(chance, n) for n in range(MOVES))),),
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


def by_networkx(game: Game, depth: int) -> tuple[float, int, int] | None:
    """Seconds, routes and the best damage of walking every path; None where it takes too long."""
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
        if not routes % 4096 and time.perf_counter() - started > SECONDS:
            return None
    return time.perf_counter() - started, routes, best


def compare(game: Game) -> None:
    who = game.characters[0]
    deepest = None
    for depth in range(2, 12):
        walked = by_networkx(game, depth)
        if walked is None:
            break
        deepest = depth, walked
    assert deepest is not None
    depth, (seconds, routes, best) = deepest
    query = Query(most_moves=depth, budget=10**7)
    started = time.perf_counter()
    found = find(game, who, query)
    taken = time.perf_counter() - started
    assert found.complete
    assert found.routes[0].damage == best, (found.routes[0].damage, best)
    print(
        f"without limits, {MOVES} moves, routes of at most {depth}: "
        f"every path {seconds:.2f} s ({routes:,} routes)"
    )
    print(
        f"  search, damage against chance, from nothing: {taken:.3f} s: {seconds / taken:.0f} times as fast"
    )


def peak_mib() -> float:
    """The most memory this process has held so far (Linux counts it in KiB)."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def alone(game: Game, who: Character, start: Start, aim: Aim) -> None:
    query = Query(aim=aim, most_moves=10, start=start, budget=5_000_000)
    held, started = peak_mib(), time.perf_counter()
    found = find(game, who, query)
    taken, more = time.perf_counter() - started, peak_mib() - held
    print(
        f"{who.name} ({len(who.moves)} moves), {aim.value}, at most 10 moves: {taken:.2f} s, "
        f"{found.explored:,} labels, process grew by {more:.1f} MiB to {held + more:.0f}, "
        f"complete: {found.complete}, best {found.routes[0].damage}"
    )


def main() -> None:
    game = read_game(find_game("saltglass"))
    who = game.characters[0]
    route = parse_route("5MP, 5MP, 2MP xx 214KK, 623HP", game, who)
    failing = parse_route("5MP, 5MP, 2MP, 5HP", game, who)
    pair = best_ms(lambda: follow_up(game, who, who.moves[1], who.moves[7], Contact()), 200)
    for label, one in (("a route of 5 that works", route), ("one of 4 that fails, with repairs", failing)):
        ms = best_ms(lambda one=one: check(game, who, one), 5, 5)  # type: ignore[misc]
        print(f"check of {label}: {ms:.2f} ms, {ms / pair:.0f} times one pair's follow-up ({pair:.3f} ms)")
    largest, owner = max(
        (
            (one, player)
            for one in map(read_game, map(find_game, ("saltglass", "kitewind")))
            for player in one.characters
        ),
        key=lambda pair: len(pair[1].moves),
    )
    full = Start(gauges=tuple((gauge.name, gauge.maximum) for gauge in largest.gauges))
    for aim in Aim:
        alone(largest, owner, full, aim)
    drawn = drawn_game()
    alone(drawn, drawn.characters[0], Start(), Aim.DAMAGE)
    compare(without_limits(drawn))


if __name__ == "__main__":
    main()
