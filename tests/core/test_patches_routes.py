"""What a patch does to saved routes: against the check in both versions, and case by case."""

from __future__ import annotations

import pickle
import random
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from builders import solo
from demo import GAMES, demo
from hypothesis import given, settings
from hypothesis import strategies as st
from judged import usual
from patching import drawn_routes, patched

from core.model import Character, Game, HitState, Move, Scaling, Scheme
from core.notation import MoveBook, NotationError, Route, parse_route
from core.patches import RouteChange, RouteEffect, SavedText, compare, route_changes
from core.routes import RouteCheck, Start, reliability
from core.routes.check import judged
from core.routes.joints import Judge
from core.timing import TYPICAL, RouteChance
from core.verdict import Code

SEED = 3


@cache
def games() -> tuple[Game, ...]:
    """The demo games and a small one, with two characters at most."""
    return (*(replace(demo(name), characters=demo(name).characters[:2]) for name in GAMES), usual())


@cache
def saved(place: int) -> tuple[SavedText, ...]:
    """Routes of a game that work, some of them in a hit state, and some that do not work."""
    game = games()[place]
    routes = drawn_routes(game, random.Random(SEED), 10)
    for number, one in enumerate(routes[:6]):
        if game.hit_states and number % 2:
            routes.append(replace(one, key=100 + number, notation=f"counter hit {one.notation}"))
        elif not number % 2:
            last = game.character(one.character)
            assert last is not None
            routes.append(replace(one, key=100 + number, notation=f"{one.notation} > {last.moves[0].input}"))
    return tuple(routes)


def usually(game: Game, who: Character, route: Route) -> RouteCheck:
    full = Start(gauges=tuple((gauge.name, gauge.maximum) for gauge in game.gauges))
    judge = Judge(game, who)
    found = judged(judge, route, full)
    airborne = judged(judge, route, replace(full, airborne=True))
    return airborne if airborne.works and not found.works else found


def read(game: Game, name: str, text: str) -> tuple[Character, Route] | None:
    who = game.character(name)
    if who is None:
        return None
    try:
        return who, MoveBook(game, who).route(text)
    except NotationError:
        return None


@settings(max_examples=60)
@given(st.data(), st.sampled_from([0, 1, 2]))
def test_what_is_told_of_routes_is_what_the_check_says_of_them_in_both_versions(
    data: st.DataObject, place: int
) -> None:
    old, routes = games()[place], saved(place)
    new = data.draw(patched(old, most=4))
    changes = route_changes(old, new, compare(old, new), routes)
    keys = [route.key for route in routes]
    assert [key for key, _ in changes] == [key for key in keys if key in dict(changes)]
    for route in routes:
        before = read(old, route.character, route.notation)
        assert before is not None
        was = usually(old, *before)
        after = read(new, route.character, route.notation)
        same_start = replace(was.start, gauges=tuple((one.name, one.maximum) for one in new.gauges))
        now = None if after is None else judged(Judge(new, after[0]), after[1], same_start)
        change = dict(changes).get(route.key)
        assert_told(was, now, change)
        if change is not None and change.repair is not None and change.repaired is not None:
            mended = read(new, route.character, change.repaired)
            assert mended is not None, change
            again = judged(Judge(new, mended[0]), mended[1], change.repair.start)
            assert again.works == change.repair.whole


def assert_told(was: RouteCheck, now: RouteCheck | None, change: RouteChange | None) -> None:
    if change is None:
        assert now is not None
        if was.works:
            assert now.works
            assert None in (was.damage, now.damage) or was.damage == now.damage
            rates = rate(was), rate(now)
            assert None in rates or rates == pytest.approx(rates[::-1], abs=0.01)
        return
    assert change.old_damage == was.damage
    if change.effect is RouteEffect.BREAKS:
        assert change.failing is not None
        assert now is None or not now.works
        if now is not None and was.works:
            assert change.failing == now.failing
            assert change.reasons == now.verdict.reasons
        return
    assert now is not None
    assert change.failing is None
    if change.effect is RouteEffect.MENDED:
        assert not was.works
        return
    assert was.works
    assert now.works
    assert change.new_damage == now.damage
    if change.effect is RouteEffect.DAMAGE:
        assert was.damage != now.damage
    elif change.old_rate is not None and change.new_rate is not None:
        easier = change.new_rate > change.old_rate
        assert change.effect is (RouteEffect.EASIER if easier else RouteEffect.HARDER)
        assert (change.old_rate, change.new_rate) == (rate(was), rate(now))


def rate(found: RouteCheck) -> float | None:
    chance = reliability(found, TYPICAL, 0.0)
    return chance.whole if isinstance(chance, RouteChance) else None


@pytest.mark.parametrize("place", [0, 1, 2])
def test_no_route_changes_where_the_game_does_not(place: int) -> None:
    game = games()[place]
    assert route_changes(game, game, compare(game, game), saved(place)) == ()


@pytest.mark.parametrize("place", [0, 1])
def test_a_patch_that_no_route_hangs_on_changes_none(place: int) -> None:
    old = games()[place]
    people = tuple(
        replace(who, aliases=("else",), moves=tuple(map(_only_on_block, who.moves))) for who in old.characters
    )
    new = replace(old, version="9", fps=50, distance_unit="paces", characters=people)
    assert route_changes(old, new, compare(old, new), saved(place)) == ()


def _only_on_block(move: Move) -> Move:
    hits = tuple(replace(hit, blockstun_frames=1) for hit in move.hits)
    return replace(move, name=f"new {move.name}", on_block=None, pushback_on_block=9.0, hits=hits)


# Case by case


def _told(new: Game, text: str, scheme: str | None = None, old: Game | None = None) -> RouteChange:
    before = old or usual()
    ((key, change),) = route_changes(before, new, compare(before, new), [SavedText(5, "Solo", text, scheme)])
    assert key == 5
    return change


def _with(place: int, **changes: Any) -> Game:
    old = usual()
    moves = list(solo(old).moves)
    moves[place] = replace(moves[place], **changes)
    return _moves(*moves)


def _moves(*moves: Move) -> Game:
    return replace(usual(), characters=(replace(solo(usual()), moves=moves),))


def test_a_link_that_is_lost_breaks_a_route_and_says_where_why_and_what_mends_it() -> None:
    change = _told(_with(1, startup_frames=6), "5LP, 5LP, 5MP xx 236LP")
    assert change.effect is RouteEffect.BREAKS
    assert (change.failing, change.failing_move) == (2, "5MP")
    assert Code.LINK_TOO_LATE in {reason.code for reason in change.reasons}
    assert change.old_damage == 30 + 30 + 60 + 100
    assert (change.new_damage, change.old_frames, change.new_frames) == (None, 1, None)
    assert change.repair is not None
    assert change.repaired == "5LP, 5LP, 5LP xx 236LP"


def test_a_route_that_only_needs_a_move_s_new_input_is_mended_by_it() -> None:
    change = _told(_with(1, input="4MP"), "5LP, 5LP, 5MP > 236LP")
    assert change.effect is RouteEffect.BREAKS
    assert (change.failing, change.failing_move, change.reasons) == (2, "5MP", ())
    assert change.repair is not None
    assert (change.repair.kind, change.repair.whole) == ("renamed", True)
    assert change.repaired == "5LP, 5LP, 4MP > 236LP"
    assert change.new_damage == change.old_damage


def test_a_renamed_move_that_still_goes_by_its_old_input_changes_nothing() -> None:
    old, new = usual(), _with(1, input="4MP", aliases=("5MP",))
    assert compare(old, new).of("Solo").renamed
    assert route_changes(old, new, compare(old, new), [SavedText(1, "Solo", "5LP, 5MP")]) == ()


def test_a_route_that_no_longer_works_under_the_new_input_either_is_mended_as_any_other() -> None:
    change = _told(_with(1, input="4MP", startup_frames=6), "5LP, 5MP")
    assert change.effect is RouteEffect.BREAKS
    assert (change.failing, change.failing_move) == (1, "4MP")
    assert change.repair is not None
    assert change.repair.kind != "renamed"


def test_a_route_with_a_move_that_is_gone_gets_the_most_alike_in_its_place() -> None:
    moves = solo(usual()).moves
    change = _told(_moves(moves[0], *moves[2:]), "5LP, 5MP xx 236LP")
    assert change.effect is RouteEffect.BREAKS
    assert (change.failing, change.failing_move, change.reasons) == (1, "5MP", ())
    assert change.repaired == "5LP, 5LP xx 236LP"


def test_a_route_with_two_moves_gone_gets_no_guess() -> None:
    moves = solo(usual()).moves
    change = _told(_moves(moves[0], moves[3]), "5LP, 5MP xx 236LP")
    assert (change.failing, change.failing_move, change.repair) == (1, "5MP", None)


def test_a_route_may_fail_before_the_move_that_is_gone() -> None:
    moves = solo(usual()).moves
    change = _told(_moves(moves[0], replace(moves[1], startup_frames=9), moves[3]), "5LP, 5MP xx 236LP")
    assert (change.failing, change.failing_move, change.repair) == (1, "5MP", None)
    assert Code.LINK_TOO_LATE in {reason.code for reason in change.reasons}


def test_a_route_of_a_character_who_is_gone_breaks_at_once() -> None:
    old = usual()
    new = replace(old, characters=(replace(solo(old), name="Other"),))
    change = _told(new, "5LP, 5MP")
    assert (change.effect, change.failing, change.failing_move) == (RouteEffect.BREAKS, 0, "5LP")
    assert (change.repair, change.old_damage) == (None, 90)


def test_a_route_that_begins_to_work_is_mended() -> None:
    change = _told(_with(1, startup_frames=3), "5MP, 5MP")
    assert change.effect is RouteEffect.MENDED
    assert (change.old_damage, change.new_damage) == (None, 120)
    assert (change.old_frames, change.new_frames) == (None, 1)


def test_one_number_of_damage_changes_every_route_with_the_move() -> None:
    old = usual()
    hit = replace(solo(old).moves[0].hits[0], damage=20)
    routes = [SavedText(1, "Solo", "5LP, 5MP"), SavedText(2, "Solo", "5MP"), SavedText(3, "Solo", "5LP")]
    new = _with(0, hits=(hit,))
    told = [
        (key, change.effect, change.old_damage, change.new_damage)
        for key, change in route_changes(old, new, compare(old, new), routes)
    ]
    assert told == [(1, RouteEffect.DAMAGE, 90, 80), (3, RouteEffect.DAMAGE, 30, 20)]


def test_scaling_changes_every_route_that_it_reaches() -> None:
    new = replace(usual(), scaling=Scaling((100, 50)))
    change = _told(new, "5LP, 5MP")
    assert (change.effect, change.old_damage, change.new_damage) == (RouteEffect.DAMAGE, 90, 60)
    assert change.old_rate is None


def test_a_tighter_link_makes_a_route_harder_and_a_wider_one_easier() -> None:
    change = _told(_with(0, startup_frames=5), "5LP, 5LP")
    assert (change.effect, change.old_frames, change.new_frames) == (RouteEffect.HARDER, 2, 1)
    assert change.old_rate is not None
    assert change.new_rate is not None
    assert change.new_rate < change.old_rate
    change = _told(_with(0, startup_frames=3), "5LP, 5LP")
    assert (change.effect, change.old_frames, change.new_frames) == (RouteEffect.EASIER, 2, 3)


def test_a_smaller_buffer_makes_a_link_harder_though_its_window_stays() -> None:
    change = _told(replace(usual(), link_buffer_frames=0), "5LP, 5LP")
    assert (change.effect, change.old_frames, change.new_frames) == (RouteEffect.HARDER, 2, 2)


def test_without_a_known_buffer_the_tightest_link_tells_what_is_harder() -> None:
    old = replace(usual(), link_buffer_frames=None)
    new = replace(_with(0, startup_frames=5), link_buffer_frames=None)
    change = _told(new, "5LP, 5LP", old=old)
    assert (change.effect, change.old_rate, change.new_rate) == (RouteEffect.HARDER, None, None)


def test_a_route_in_a_hit_state_that_is_gone_breaks_there_and_may_do_without() -> None:
    state = HitState("counter hit", bonus_frames=2)
    old = replace(usual(), hit_states=(state,))
    change = _told(usual(), "counter hit 5LP, 5MP", old=old)
    assert (change.effect, change.failing, change.failing_move) == (RouteEffect.BREAKS, 0, "5LP")
    assert {reason.code for reason in change.reasons} == {Code.NUMBER_MISSING}
    assert change.repaired == "5LP, 5MP"
    change = _told(usual(), "counter hit 5MP, 5MP", old=old)
    assert change.repaired is None


def test_a_route_is_followed_under_the_scheme_it_is_written_in() -> None:
    old = replace(usual(), schemes=(Scheme("simple"),))
    special = solo(old).moves[2]
    quick = replace(special, input="4LP")

    def game(under: Move) -> Game:
        moves = list(solo(old).moves)
        moves[2] = replace(special, by_scheme=(("simple", under),))
        return replace(old, characters=(replace(solo(old), moves=tuple(moves)),))

    slower = replace(quick, startup_frames=30)
    before, after = game(quick), game(slower)
    change = _told(after, "5LP xx 4LP", "simple", old=before)
    assert (change.effect, change.failing_move) == (RouteEffect.BREAKS, "4LP")
    plain = [SavedText(1, "Solo", "5LP xx 236LP")]
    assert route_changes(before, after, compare(before, after), plain) == ()
    moved = game(replace(quick, input="6LP"))
    change = _told(moved, "5LP xx 4LP", "simple", old=before)
    assert (change.repair and change.repair.kind, change.repaired) == ("renamed", "5LP xx 6LP")


def test_texts_that_could_not_be_read_before_are_left_out() -> None:
    old, new = usual(), _with(0, startup_frames=9)
    routes = [
        SavedText(1, "Solo", "no such move"),
        SavedText(2, "Nobody", "5LP, 5LP"),
        SavedText(3, "Solo", ""),
        SavedText(4, "Solo", "5LP, 5LP"),
    ]
    assert [key for key, _ in route_changes(old, new, compare(old, new), routes)] == [4]


def test_the_same_text_is_told_for_everyone_who_saved_it() -> None:
    old, new = usual(), _with(0, startup_frames=5)
    routes = [SavedText(key, "Solo", "5LP, 5LP") for key in (8, 3)]
    first, second = route_changes(old, new, compare(old, new), routes)
    assert (first[0], second[0]) == (8, 3)
    assert first[1] == second[1]


def test_changes_are_plain_values_that_a_worker_can_send() -> None:
    old, new = usual(), _with(1, startup_frames=6)
    told = route_changes(old, new, compare(old, new), [SavedText(1, "Solo", "5LP, 5LP, 5MP")])
    assert pickle.loads(pickle.dumps(told)) == told
    assert parse_route(told[0][1].repaired or "", new, solo(new))


def test_a_gauge_that_no_longer_holds_enough_breaks_the_routes_that_pay_with_it() -> None:
    new = replace(usual(), gauges=(replace(usual().gauges[0], maximum=20),))
    change = _told(new, "5MP xx 236MP")
    assert (change.effect, change.failing_move) == (RouteEffect.BREAKS, "236MP")
    assert Code.GAUGE_SHORT in {reason.code for reason in change.reasons}


def test_a_character_s_own_rule_that_is_gone_breaks_what_came_by_it() -> None:
    old = usual()
    own = replace(old, rules=(), characters=(replace(solo(old), rules=old.rules),))
    change = _told(replace(own, characters=old.characters), "5MP xx 236LP", old=own)
    assert (change.effect, change.failing_move) == (RouteEffect.BREAKS, "236LP")


def test_a_text_that_would_mean_another_move_now_needs_the_new_input() -> None:
    moves = solo(usual()).moves
    other = replace(moves[0], aliases=("5MP",))
    change = _told(_moves(other, replace(moves[1], input="4MP"), *moves[2:]), "5LP, 5MP")
    assert change.effect is RouteEffect.BREAKS
    assert change.repaired == "5LP, 4MP"
