"""How a starter may land, and how a route begins there."""

from __future__ import annotations

from dataclasses import replace

import pytest
from demo import demo

from core.model import Game, HitState
from core.notation import format_route, parse_route
from core.routes import Start, check
from core.situations import (
    SituationKind,
    situation_named,
    situations,
    started_in,
    written_for,
)

SALT = demo("saltglass")
ODRUN = SALT.characters[0]
EMPTY = (("glow", 0), ("salt", 0))


def start_of(game: Game, name: str) -> Start:
    found = situation_named(game, name)
    assert found is not None
    return found.start


def test_every_hit_state_of_the_game_is_a_situation() -> None:
    names = [one.name for one in situations(SALT)]
    assert names == ["hit", "counter hit", "off balance", "punish", "gauge", "airborne", "meaty", "corner"]
    assert [one.name for one in situations(demo("kitewind"))][:3] == ["hit", "counter hit", "punish"]


def test_without_gauge_a_route_begins_with_none_and_with_it_with_all() -> None:
    for situation in situations(SALT):
        full = situation.kind is SituationKind.GAUGE
        assert dict(situation.start.gauges) == ({"glow": 200, "salt": 120} if full else dict(EMPTY))


@pytest.mark.parametrize(
    ("name", "start"),
    [
        ("counter hit", Start(state="counter hit", gauges=EMPTY)),
        ("airborne", Start(airborne=True, gauges=EMPTY)),
        ("meaty", Start(active_frame=2, gauges=EMPTY)),
        ("corner", Start(corner=True, gauges=EMPTY)),
        ("punish", Start(gauges=EMPTY)),
    ],
)
def test_each_situation_says_how_a_route_starts(name: str, start: Start) -> None:
    assert start_of(SALT, name) == start


def test_a_punish_is_met_in_the_games_own_state_for_it() -> None:
    game = replace(SALT, hit_states=(*SALT.hit_states, HitState("punish counter", ("punish",), 4)))
    assert start_of(game, "punish").state == "punish counter"
    assert [one.name for one in situations(game)].count("punish counter") == 0
    assert not next(one for one in situations(game) if one.name == "punish").like_a_hit


def test_what_is_like_a_plain_hit_says_so() -> None:
    assert [one.name for one in situations(SALT) if one.like_a_hit] == ["punish", "corner"]


def test_a_situation_is_found_by_its_name_or_alias_in_any_case() -> None:
    for typed in ("Counter Hit", "CH", "counter", " counter-hit "):
        found = situation_named(SALT, typed)
        assert found is not None
        assert found.name == "counter hit"
    assert situation_named(SALT, "sideways") is None


def test_a_game_without_gauges_has_no_situation_for_them() -> None:
    assert "gauge" not in [one.name for one in situations(replace(SALT, gauges=()))]


def test_a_state_written_before_the_first_move_is_that_of_the_situation() -> None:
    """ "counter hit 5MP, 5HP" is not a route for a plain hit, whatever its notation says."""
    route = parse_route("off balance meaty(3) 5MP, 5HP", SALT, ODRUN)
    hit, state, meaty = (situation_named(SALT, name) for name in ("hit", "off balance", "meaty"))
    assert hit is not None
    assert state is not None
    assert meaty is not None
    assert check(SALT, ODRUN, route).works
    assert format_route(started_in(route, hit)) == "5MP, 5HP"
    assert not check(SALT, ODRUN, started_in(route, hit), hit.start).works
    assert check(SALT, ODRUN, started_in(route, state), state.start).works
    assert format_route(started_in(route, meaty)) == "meaty(3) 5MP, 5HP"


def test_a_route_is_written_so_that_it_can_be_read_again_for_its_situation() -> None:
    route = parse_route("5MP, 5HP", SALT, ODRUN)
    written = {one.name: format_route(written_for(route, one)) for one in situations(SALT)}
    assert written["off balance"] == "off balance 5MP, 5HP"
    assert written["meaty"] == "meaty(2) 5MP, 5HP"
    assert written["hit"] == written["corner"] == "5MP, 5HP"
