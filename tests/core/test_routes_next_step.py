"""One step up: the route that adds least to what somebody owns and gains most."""

from __future__ import annotations

from itertools import pairwise

import pytest
from builders import game_of, row, solo
from demo import demo

from core.model import Game, Means
from core.notation import Route, format_route, parse_route
from core.routes import NextStep, Query, check, expected_damage, find, next_step
from core.timing import Window


def half(window: Window) -> float:
    """Every press but the widest lands every other time."""
    return 1.0 if window.frames > 12 else 0.5


GAME = game_of(
    row("5LP", 4, 3, 7, 5, 2, damage=30),
    row("5MP", 5, 3, 12, 3, 0, damage=60),
    row("236LP", 8, 3, 20, -4, -8, damage=100, kind="special"),
    cancel=[
        {
            "name": "special cancel",
            "from": {"kinds": ["normal"]},
            "into": {"kinds": ["special"]},
            "contact": ["hit"],
        }
    ],
)
QUERY = Query(most_moves=3, hands=half)


def routes(*texts: str, game: Game = GAME) -> list[Route]:
    return [parse_route(text, game, solo(game)) for text in texts]


def step_up(*owned: str, query: Query = QUERY) -> NextStep | None:
    return next_step(GAME, solo(GAME), routes(*owned), query)


def test_who_owns_nothing_begins_with_one_thing_to_learn() -> None:
    # 5MP into the special is sure: 60 + 100. 5LP into it 30 + 100; links land every other time.
    up = step_up()
    assert up is not None
    assert format_route(up.route.route) == "5MP xx 236LP"
    assert up.new == (("5MP", "236LP", Means.CANCEL),)
    assert (up.gain_damage, up.instead_of, up.builds_on) == (160, None, None)


def test_a_step_up_gains_over_the_best_that_is_owned_with_one_new_thing() -> None:
    up = step_up("5LP xx 236LP", "5LP, 5MP")
    assert up is not None
    # 5LP, 5MP brings 30 + .5 x 60 = 60 and 5LP xx 236LP 130; 5MP xx 236LP brings 160. With the link owned,
    # 5LP, 5MP xx 236LP would bring only 30 + .5 x 160 = 110.
    assert format_route(up.route.route) == "5MP xx 236LP"
    assert up.gain_damage == pytest.approx(30)
    assert up.instead_of is not None
    assert format_route(up.instead_of) == "5LP xx 236LP"
    assert up.complete


def test_the_longest_beginning_that_is_owned_is_named() -> None:
    sure = Query(most_moves=3, hands=lambda _: 1.0)
    up = step_up("5LP, 5MP", "5LP, 5LP", query=sure)
    assert up is not None
    assert format_route(up.route.route) == "5LP, 5MP xx 236LP"
    assert up.builds_on is not None
    assert (format_route(up.builds_on), up.shared_moves) == ("5LP, 5MP", 2)


def test_where_nothing_gains_anything_there_is_no_step() -> None:
    sure = Query(most_moves=3, hands=lambda _: 1.0)
    assert step_up("5LP, 5MP xx 236LP", query=sure) is None
    assert step_up("5LP, 5MP", query=sure) is not None


def test_an_owned_route_that_no_longer_works_counts_for_nothing() -> None:
    assert step_up("5MP, 5MP") == step_up()


def test_expected_damage_is_what_lands_before_a_drop() -> None:
    who = solo(GAME)
    (route,) = routes("5LP, 5MP xx 236LP")
    # 30, then every other time 60 and, the cancel being sure, 100
    assert expected_damage(check(GAME, who, route), QUERY) == pytest.approx(30 + 0.5 * 60 + 0.5 * 100)


@pytest.mark.parametrize("name", ["saltglass", "kitewind"])
def test_the_search_and_the_check_agree_on_expected_damage(name: str) -> None:
    game = demo(name)
    who = game.characters[0]
    query = Query(most_moves=4)
    for route in find(game, who, query).routes:
        assert expected_damage(check(game, who, route.route), query) == pytest.approx(route.expected_damage)


def test_each_step_of_a_ladder_in_a_demo_game_adds_little_and_gains() -> None:
    game = demo("saltglass")
    who = game.characters[0]
    query = Query(most_moves=4)
    owned = [parse_route("5MP, 2MP", game, who)]
    for _ in range(3):
        up = next_step(game, who, owned, query)
        if up is None:
            break
        assert 1 <= len(up.new) <= 3
        assert up.gain_damage > 0
        judged = check(game, who, up.route.route)
        assert judged.works
        best = max(expected_damage(check(game, who, route), query) for route in owned)
        assert up.route.expected_damage == pytest.approx(best + up.gain_damage)
        owned.append(judged.route)
    assert len(owned) > 2
    assert all(len(one.steps) <= 4 for one, _ in pairwise(owned[1:]))
