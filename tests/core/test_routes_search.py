"""The search for routes against looking at every route there is (`every_route`), on small drawn games."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from builders import game_of, row
from demo import GAMES, demo
from drawn import game_with_movement, generated_game
from every_route import Reference, Told, lands

from core.model import Character, Effect, Game, Means
from core.notation import format_route
from core.routes import Aim, FoundRoute, Query, Start, check, find
from core.routes.joints import Judge
from core.routes.search import search

DEPTH = 3
AT_HAND = Start()


@cache
def every_route(made: Callable[[int], Game], seed: int, depth: int) -> list[Told]:
    """Every route of a drawn game, told once for all tests that ask."""
    return Reference(made(seed)).all(depth)


def asked(**more: object) -> Query:
    return replace(Query(most_moves=DEPTH, hands=lands, budget=10**6), **more)  # type: ignore[arg-type]


def asks_about(seed: int, top: int) -> tuple[Query, Callable[[Told], bool], Callable[[Told], float]]:
    """One question by turns, which routes answer it, and what makes one the best."""
    least = top * 2 // 3
    limit = (0, 10, 25)[seed // 5 % 3]
    questions: list[tuple[Query, Callable[[Told], bool], Callable[[Told], float]]] = [
        (asked(aim=Aim.EXPECTED), lambda _: True, lambda told: told.expected),
        (
            asked(aim=Aim.RELIABLE, least_damage=least),
            lambda told: told.damage >= least,
            lambda told: told.chance,
        ),
        (
            asked(aim=Aim.SHORTEST, least_damage=least),
            lambda told: told.damage >= least,
            lambda told: -told.frames,
        ),
        (
            asked(spend=(("salt", limit),)),
            lambda told: told.spent <= limit,
            lambda told: told.damage,
        ),
        (
            asked(knockdown=True),
            lambda told: told.effect is Effect.KNOCKDOWN,
            lambda told: told.damage,
        ),
    ]
    return questions[seed % 5]


def worth(aim: Aim, route: FoundRoute) -> float:
    assert route.frames is not None
    return {
        Aim.DAMAGE: route.damage,
        Aim.EXPECTED: route.expected_damage,
        Aim.RELIABLE: route.chance,
        Aim.SHORTEST: -route.frames,
    }[aim]


def compare(game: Game, seed: int, depth: int, start: Start = AT_HAND) -> tuple[int, int, list[Told]]:
    """The search against every route; returns how many there are, the labels made, and the routes."""
    every = Reference(game, start).all(depth)
    judge = Judge(game, game.characters[0])
    found = search(judge, replace(asked(), most_moves=depth, start=start))
    explored = found.explored
    assert found.complete
    if not every:
        assert found.routes == ()
        return 0, explored, []
    top = max(told.damage for told in every)
    surest = max(told.chance for told in every if told.damage == top)
    assert found.routes[0].damage == top, seed
    assert found.routes[0].chance == pytest.approx(surest), seed

    query, answers, value = asks_about(seed, top)
    fit = [value(told) for told in every if answers(told)]
    found = search(judge, replace(query, most_moves=depth, start=start))
    assert bool(found.routes) == bool(fit), seed
    if fit:
        assert worth(query.aim, found.routes[0]) == pytest.approx(max(fit)), seed
    assert all(
        route.spent[0] <= dict(query.spend).get("salt", math.inf) and route.damage >= query.least_damage
        for route in found.routes
    )
    return len(every), explored, [told for told in every if answers(told)]


@pytest.mark.parametrize(("depth", "seeds"), [(3, range(120)), (4, range(120, 170)), (5, range(170, 190))])
def test_each_aim_finds_what_looking_at_every_route_finds(depth: int, seeds: range) -> None:
    routes = made = answered = 0
    for seed in seeds:
        more, labels, fit = compare(generated_game(seed), seed, depth)
        routes, made, answered = routes + more, made + labels, answered + bool(fit)
    assert answered > len(seeds) * 0.8
    assert made < routes


STARTS = [AT_HAND, Start(distance=0.8), Start(state="counter hit")]


@pytest.mark.parametrize(("depth", "seeds"), [(3, range(50)), (4, range(50, 80)), (5, range(80, 83))])
@pytest.mark.parametrize("start", STARTS, ids=["at hand", "from afar", "on counter hit"])
def test_with_movement_each_aim_finds_what_looking_at_every_route_finds(
    depth: int, seeds: range, start: Start
) -> None:
    moved = 0
    for seed in seeds:
        _, _, fit = compare(game_with_movement(seed), seed, depth, start)
        moved += any("66" in told.moves for told in fit)
    assert moved > len(seeds) * 0.4


@pytest.mark.parametrize(
    "wanted",
    [("66",), ("44",), ("66", "44"), ("66", "5A", "5B")],
    ids=["forward", "back", "both", "attacks too"],
)
def test_movement_that_must_be_in_a_route_costs_it_no_more_than_it_has_to(wanted: tuple[str, ...]) -> None:
    # In 9, 60 and 98 the way that does less damage at first but stays nearer wins.
    depth, seeds = (5, range(6)) if len(wanted) > 1 else (4, (*range(12), 60, 98))
    some = 0
    for seed in seeds:
        game = game_with_movement(seed)
        every = [
            told for told in every_route(game_with_movement, seed, depth) if set(wanted) <= set(told.moves)
        ]
        best = max((told.damage for told in every), default=None)
        found = find(game, game.characters[0], replace(asked(require=wanted), most_moves=depth))
        assert (found.routes[0].damage if found.routes else None) == best, seed
        surest = max((told.chance for told in every), default=None)
        query = replace(asked(require=wanted, aim=Aim.RELIABLE), most_moves=depth)
        found = find(game, game.characters[0], query)
        assert (found.routes[0].chance if found.routes else None) == pytest.approx(surest), seed
        some += bool(every)
    assert some > 1


@pytest.mark.parametrize("batch", range(3))
def test_starters_and_wanted_and_unwanted_moves_are_kept_to(batch: int) -> None:
    some = none = 0
    for seed in range(batch, 30, 3):
        game = generated_game(seed)
        every = every_route(generated_game, seed, DEPTH)
        moves = [move.input for move in game.characters[0].moves]
        first, wanted, unwanted = moves[0], moves[1], moves[2]
        found = find(game, game.characters[0], asked(first=(first,), require=(wanted,), avoid=(unwanted,)))
        fit = [
            told.damage
            for told in every
            if told.moves[0] == first and wanted in told.moves and unwanted not in told.moves
        ]
        assert (found.routes[0].damage if found.routes else None) == max(fit, default=None), seed
        some, none = some + bool(fit), none + (not fit)
        for route in found.routes:
            inputs = [move.input for move in route.route.moves]
            assert inputs[0] == first
            assert wanted in inputs
            assert unwanted not in inputs
    assert some
    assert none


def test_a_required_move_that_nobody_has_is_in_no_route() -> None:
    game = generated_game(0)
    found = find(game, game.characters[0], asked(require=("5Z",)))
    assert found.complete
    assert found.routes == ()


@pytest.mark.parametrize("least", [2, 3])
@pytest.mark.parametrize("aim", [Aim.RELIABLE, Aim.SHORTEST])
def test_a_route_of_too_few_moves_is_not_given_and_the_best_of_the_longer_ones_is(
    aim: Aim, least: int
) -> None:
    some = 0
    for seed in range(25):
        game = generated_game(seed)
        longer = [told for told in every_route(generated_game, seed, DEPTH) if len(told.moves) >= least]
        values = [told.chance if aim is Aim.RELIABLE else -told.frames for told in longer]
        found = find(game, game.characters[0], asked(aim=aim, least_moves=least))
        assert all(len(route.route.steps) >= least for route in found.routes)
        assert bool(found.routes) == bool(longer), seed
        if longer:
            assert worth(aim, found.routes[0]) == pytest.approx(max(values)), seed
        some += bool(longer)
    assert some > 15


# What is given


WHOLE = {name: Start(gauges=tuple((g.name, g.maximum) for g in demo(name).gauges)) for name in GAMES}
PEOPLE = [(name, who) for name in GAMES for who in demo(name).characters]
NAMES = [who.name for _, who in PEOPLE]


@pytest.mark.parametrize(
    ("name", "who", "aim"),
    [(*person, aim) for person, aim in zip(PEOPLE, [*Aim, *Aim], strict=True)],
    ids=NAMES,
)
def test_every_route_given_is_one_the_check_says_yes_to_with_the_same_damage(
    name: str, who: Character, aim: Aim
) -> None:
    game = demo(name)
    least = 1000 if name == "saltglass" else 100
    found = find(game, who, Query(aim=aim, start=WHOLE[name], most_moves=5, least_damage=least))
    assert found.complete
    assert found.routes
    for route in found.routes:
        judged = check(game, who, route.route, WHOLE[name])
        assert judged.works, format_route(route.route)
        assert judged.route == route.route
        assert judged.damage == route.damage
        assert judged.frames == route.frames
        assert tuple(amount for _, amount in judged.spent) == route.spent


@pytest.mark.parametrize(("name", "who"), PEOPLE[1::2], ids=NAMES[1::2])
def test_what_is_given_beside_the_best_gives_up_damage_for_safety(name: str, who: Character) -> None:
    found = find(demo(name), who, Query(most_moves=5))
    assert 2 <= len(found.routes) <= 5
    for harder, surer in zip(found.routes, found.routes[1:], strict=False):
        assert harder.damage > surer.damage
        assert harder.chance < surer.chance
        assert harder.chance < surer.chance - 0.02 or harder.damage > surer.damage * 1.02


def test_the_same_question_has_the_same_answer() -> None:
    game = demo("saltglass")
    query = Query(most_moves=5)
    assert find(game, game.characters[0], query) == find(game, game.characters[0], query)


def test_a_search_that_runs_out_says_so_and_still_gives_routes_that_work() -> None:
    game = demo("kitewind")
    who = game.characters[0]
    whole = find(game, who, Query())
    cut = find(game, who, Query(budget=200))
    assert (whole.complete, cut.complete) == (True, False)
    assert cut.explored == 200
    assert all(check(game, who, route.route).works for route in cut.routes)


def test_specials_that_differ_in_strength_alone_are_given_once() -> None:
    game = demo("saltglass")
    who = game.characters[0]
    found = find(game, who, Query(most_moves=4, most_routes=20))
    shapes = [format_route(route.route) for route in found.routes]
    for strength in "LMH":
        shapes = [
            shape.replace(f"214{strength}K", "214K").replace(f"623{strength}P", "623P") for shape in shapes
        ]
    assert len(shapes) == len(set(shapes)) > 2


def test_a_press_nothing_is_known_about_never_counts_as_landing() -> None:
    game = replace(generated_game(1), link_buffer_frames=None)
    known = find(generated_game(1), game.characters[0], asked())
    found = find(game, game.characters[0], asked())
    assert found.routes[0].damage == known.routes[0].damage
    for route in found.routes:
        links = any(step.joined is Means.LINK for step in route.route.steps)
        assert (route.chance == 0) == links
    assert not math.isnan(found.routes[0].expected_damage)


def test_a_move_without_damage_in_the_file_is_left_out_and_named() -> None:
    game = generated_game(2)
    who = game.characters[0]
    dull = replace(who.moves[0], hits=tuple(replace(hit, damage=None) for hit in who.moves[0].hits))
    solo = replace(who, moves=(dull, *who.moves[1:]))
    found = find(replace(game, characters=(solo,)), solo, asked())
    assert found.left_out == (dull.input,)
    assert all(dull not in route.route.moves for route in found.routes)


def detour(first: dict[str, Any], second: dict[str, Any], last: dict[str, Any]) -> Game:
    """Two starters with the same numbers, of which the second does less damage; both link into 5MP alone,
    which is cancelled into a special."""
    return game_of(
        row("5LP", 7, 3, 7, 6, 0, damage=60, reach=3, **first),
        row("5LK", 7, 3, 7, 6, 0, damage=50, reach=3, **second),
        row("5MP", 6, 3, 12, 0, 0, damage=10, reach=3, pushback_on_hit=0.2),
        row("236LP", 8, 3, 20, -4, -8, damage=300, kind="special", **last),
        cancel=[
            {
                "name": "special cancel",
                "from": {"moves": ["5MP"]},
                "into": {"kinds": ["special"]},
                "contact": ["hit"],
            }
        ],
        gauge=[{"name": "salt", "maximum": 40}],
    )


@pytest.mark.parametrize(
    "game",
    [
        detour({"gain": "salt 10"}, {"gain": "salt 30"}, {"cost": "salt 30"}),
        detour({"pushback_on_hit": 1.0}, {"pushback_on_hit": 0.2}, {"reach": 1.0}),
    ],
    ids=["it fills the gauge", "it stays in reach"],
)
def test_less_damage_now_is_kept_where_it_opens_up_more_later(game: Game) -> None:
    found = find(game, game.characters[0], asked())
    assert format_route(found.routes[0].route) == "5LK, 5MP xx 236LP"
    assert found.routes[0].damage == 360


def test_a_character_none_of_whose_moves_counts_has_no_routes_and_all_are_named() -> None:
    game = generated_game(2)
    who = game.characters[0]
    dull = tuple(
        replace(move, hits=tuple(replace(hit, damage=None) for hit in move.hits)) for move in who.moves
    )
    solo = replace(who, moves=dull)
    found = find(replace(game, characters=(solo,)), solo, asked())
    assert found.routes == ()
    assert set(found.left_out) == {move.input for move in dull}
