"""What mends a route, and the check's agreement with the rest of the engine."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from demo import GAMES, demo
from hypothesis import given, settings
from hypothesis import strategies as st
from judged import judged, usual

from core.followups import follow_up
from core.model import Contact, Means
from core.notation import Route, Step, format_route
from core.routes import RouteCheck, Start, check, reliability
from core.timing import Spread, Window, in_rhythm, route_chance
from core.verdict import Answer

# Repairs


def repairs(found: RouteCheck) -> dict[str, str]:
    return {repair.kind: format_route(repair.route) for repair in found.repairs}


def test_a_link_that_comes_too_late_is_mended_by_another_move_a_hit_state_or_a_meaty() -> None:
    game = usual(hit_state=[{"name": "counter hit", "bonus_frames": 2}])
    found = judged(game, "5MP, 5MP")
    assert repairs(found) == {
        "state": "counter hit 5MP, 5MP",
        "meaty": "meaty(3) 5MP, 5MP",
    }
    found = judged(game, "5LP, 5LP, 236LP")
    assert repairs(found)["means"] == "5LP, 5LP xx 236LP"
    assert repairs(found)["move"] == "5LP, 5LP, 5MP"  # nearer to a startup of 8 than 5LP is


def test_a_gauge_that_does_not_suffice_is_mended_by_as_much_as_lacks() -> None:
    found = judged(usual(), "5MP xx 236MP", Start(gauges=(("salt", 5),)))
    gauge = next(repair for repair in found.repairs if repair.kind == "gauge")
    assert gauge.start.gauges == (("salt", 20),)  # 20 + 10 for the hit pay the 30
    assert gauge.whole


@settings(max_examples=60)
@given(data=st.data())
def test_every_repair_passes_the_check_at_the_step_that_failed(data: st.DataObject) -> None:
    game = demo(data.draw(st.sampled_from(GAMES)))
    who = data.draw(st.sampled_from(game.characters))
    moves = data.draw(st.lists(st.sampled_from(who.moves), min_size=2, max_size=4))
    joined = data.draw(st.lists(st.sampled_from([None, *Means]), min_size=len(moves), max_size=len(moves)))
    joined[0] = None
    route = Route(tuple(map(Step, moves, joined)))
    found = check(game, who, route)
    assert len(found.repairs) <= 3
    if found.works:
        assert found.repairs == ()
    for repair in found.repairs:
        again = check(game, who, repair.route, repair.start)
        assert again.works == repair.whole
        assert again.failing is None or again.failing > (found.failing or 0)


# Agreement with the rest of the engine


@settings(max_examples=150)
@given(data=st.data())
def test_a_route_of_two_moves_is_judged_as_the_pair_is(data: st.DataObject) -> None:
    game = demo(data.draw(st.sampled_from(GAMES)))
    who = data.draw(st.sampled_from(game.characters))
    attacks = [move for move in who.moves if move.hits and not move.costs]
    first, second = (data.draw(st.sampled_from(attacks)) for _ in range(2))
    pair = follow_up(game, who, first, second, Contact())
    found = check(game, who, Route((Step(first), Step(second))))
    assert found.verdict.answer is pair.verdict.answer
    if found.works:
        assert found.steps[1].means is pair.means
        assert found.steps[1].verdict.reasons == pair.verdict.reasons


def test_the_chance_of_a_route_is_that_of_its_windows_in_one_rhythm() -> None:
    found = judged(usual(), "5LP, 5MP xx 236LP")
    windows = [step.window for step in found.steps[1:]]
    assert all(isinstance(window, Window) for window in windows)
    spread = Spread(0.8, 0.04)
    steps = in_rhythm([window for window in windows if isinstance(window, Window)], spread, 0.5)
    chance = reliability(found, spread, 0.5)
    assert chance == route_chance(steps)
    assert chance.bottleneck == 0  # the one-frame link costs most


def test_the_chance_of_a_route_that_fails_or_lacks_a_window_is_the_reason_why() -> None:
    failed = judged(usual(), "5MP, 5MP")
    assert reliability(failed, Spread(1, 0.05), 0) == failed.verdict
    game = replace(usual(), link_buffer_frames=None)
    unknown = reliability(judged(game, "5LP, 5MP"), Spread(1, 0.05), 0)
    assert getattr(unknown, "answer", None) is Answer.UNKNOWN


def test_steps_follow_each_other_in_time() -> None:
    for text in ("5LP, 5MP xx 236LP", "5LP ~ 5LP, 5LP"):
        frames = [step.frame or 0 for step in judged(usual(), text).steps]
        assert all(before < after for before, after in pairwise(frames))
