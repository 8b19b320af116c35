"""How fast routes are checked and found on the demo games; routes_deep.py has the largest searches."""

from __future__ import annotations

import time

from benchmarks.figures import Figure, alone, beside
from benchmarks.stopwatch import best_ms

from bot.gamefiles import find_game, read_game
from core.followups import follow_up
from core.model import Character, Contact, Game
from core.notation import parse_route
from core.routes import Aim, Query, Start, check, find

LENGTH = 10
BUDGET = 5_000_000


def checks(rounds: int) -> list[Figure]:
    """Of a route that works and of one that fails."""
    game = read_game(find_game("saltglass"))
    who = game.characters[0]
    times = 1 if rounds == 1 else 200
    pair = best_ms(lambda: follow_up(game, who, who.moves[1], who.moves[7], Contact()), times)
    made = []
    for name, label, written in (
        ("works", "a route of 5 that works", "5MP, 5MP, 2MP xx 214KK, 623HP"),
        ("fails", "a route of 4 that fails, with repairs", "5MP, 5MP, 2MP, 5HP"),
    ):
        route = parse_route(written, game, who)
        ms = best_ms(lambda route=route: check(game, who, route), rounds, rounds)  # type: ignore[misc]
        made.append(beside(f"routes.{name}", f"check of {label}, beside one pair's follow-up", ms, pair))
    return made


def searched(game: Game, who: Character, aim: Aim, length: int) -> list[Figure]:
    """One search to its end."""
    full = Start(gauges=tuple((gauge.name, gauge.maximum) for gauge in game.gauges))
    started = time.perf_counter()
    found = find(game, who, Query(aim=aim, most_moves=length, start=full, budget=BUDGET))
    taken = (time.perf_counter() - started) * 1000
    assert found.complete
    name, what = (
        aim.value.replace("-", "_"),
        f"{who.name}, {len(who.moves)} moves, {aim.value}, at most {length}",
    )
    return [
        alone(f"routes.find_{name}", what, taken),
        alone(f"routes.find_{name}_labels", f"{what}, labels", found.explored, "labels"),
    ]


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of checks, and of finding on the largest demo character."""
    largest, owner = max(
        (
            (one, player)
            for one in map(read_game, map(find_game, ("saltglass", "kitewind")))
            for player in one.characters
        ),
        key=lambda pair: len(pair[1].moves),
    )
    length = 2 if tiny else LENGTH
    found = [figure for aim in Aim for figure in searched(largest, owner, aim, length)]
    return (*checks(1 if tiny else 5), *found)
