"""A patch's values as cells: written as the game file writes them, one by one, each where it changed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from builders import solo
from demo import GAMES, demo
from hypothesis import given
from judged import usual
from patching import versions

from core.gamefile import cells
from core.gamefile.schema import COLUMNS
from core.model import Effect, Game, HitState, Jump, Move, Outcome, Range, Scaling
from core.patches import NumberChange, RuleChange, compare, number_changes, rule_changes
from core.patches.written import cells_of, written


def _moves(name: str) -> list[Move]:
    return [move for who in demo(name).characters for move in who.moves]


@pytest.mark.parametrize("name", GAMES)
def test_what_is_written_of_a_move_is_what_the_loader_reads(name: str) -> None:
    for move in _moves(name):
        told = cells_of(move)
        for column, value in (("on_hit", move.on_hit), ("on_air_hit", move.on_air_hit)):
            assert (cells.outcome(told[column]) if told[column] else None) == value
        for state, result in move.outcomes:
            assert cells.outcome(told["on_" + state.replace(" ", "_")]) == result
        assert (cells.advantage(told["on_block"]) if told["on_block"] else None) == move.on_block
        assert (cells.freeze(told["freeze"]) if told["freeze"] else None) == move.freeze
        assert (cells.projectile(told["projectile"]) if told["projectile"] else None) == move.projectile
        spans = tuple((hit.gap_frames, hit.active_frames) for hit in move.hits)
        assert (cells.active(told["active"]) if told["active"] else ()) == spans
        for column, values, read in (
            ("damage", [hit.damage for hit in move.hits], cells.damages),
            ("hitstun", [hit.hitstun_frames for hit in move.hits], cells.stuns),
            ("blockstun", [hit.blockstun_frames for hit in move.hits], cells.stuns),
        ):
            assert list(read(told[column]) if told[column] else [None] * len(move.hits)) == values
        stops = [(hit.attacker_hitstop_frames, hit.defender_hitstop_frames) for hit in move.hits]
        if told["hitstop"]:
            assert [both or (None, None) for both in cells.hitstops(told["hitstop"])] == stops
        else:
            assert all(both == (None, None) for both in stops)
        assert (cells.amounts(told["cost"]) if told["cost"] else ()) == move.costs
        assert (cells.amounts(told["gain"]) if told["gain"] else ()) == move.gains
        assert (cells.tags(told["tags"]) if told["tags"] else frozenset()) == move.tags
        assert (float(told["reach"]) if told["reach"] else None) == move.reach


def test_every_column_of_a_move_is_written_but_those_that_name_it() -> None:
    told = set(cells_of(_moves("saltglass")[0]))
    assert set(COLUMNS) - told == {"input", "aliases", "scheme", "same_as"}
    assert told <= set(COLUMNS)


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        (None, ""),
        (Range(0, 0), "0"),
        (Range(-2, 3), "-2..3"),
        (Outcome(Effect.LAUNCH, None, 46), "launch 46"),
        (Outcome(Effect.LAUNCH), "launch"),
        (Outcome(Effect.KNOCKDOWN, Range(3, 5)), "KD 3..5"),
        (Outcome(Effect.STAND, Range(4, 4)), "+4"),
        (1.50, "1.5"),
        (2.0, "2"),
        (False, "no"),
        (frozenset({"b", "a"}), "a; b"),
    ],
)
def test_values_are_written_as_in_a_game_file(value: object, cell: str) -> None:
    assert written(value) == cell


def _patch(new: Game) -> list[tuple[str, str, str, str]]:
    changes = number_changes(compare(usual(), new))
    return [(one.input, one.field, one.old, one.new) for one in changes]


def _with(place: int, **changes: Any) -> Game:
    old = usual()
    moves = list(solo(old).moves)
    moves[place] = replace(moves[place], **changes)
    return replace(old, characters=(replace(solo(old), moves=tuple(moves)),))


def test_a_number_of_a_move_is_told_with_both_its_values() -> None:
    assert _patch(_with(0, startup_frames=6)) == [("5LP", "startup", "4", "6")]
    assert _patch(_with(0, reach=None)) == [("5LP", "reach", "1.5", "")]
    assert _patch(_with(2, on_block=Range(-3, -3))) == [("236LP", "on_block", "-8", "-3")]


def test_a_stun_that_only_follows_from_the_advantage_is_not_told_again() -> None:
    old = solo(usual()).moves[0]
    more = replace(old.hits[0], hitstun_frames=(old.hits[0].hitstun_frames or 0) + 2)
    better = Outcome(Effect.STAND, Range(7, 7))
    assert _patch(_with(0, on_hit=better, hits=(more,))) == [("5LP", "on_hit", "+5", "+7")]
    assert [one[1] for one in _patch(_with(0, hits=(more,)))] == ["hitstun"]


def test_values_of_the_game_are_told_by_their_keys() -> None:
    new = replace(
        usual(),
        version="9",
        link_buffer_frames=4,
        keeps_newest_press=False,
        hit_states=(HitState("counter hit", bonus_frames=2),),
        scaling=Scaling((100, 90)),
        gauges=(replace(usual().gauges[0], maximum=50),),
    )
    assert _patch(new) == [
        ("", "link_frames", "3", "4"),
        ("", "held_press", "newest", "first"),
        ("", "hit_state", "", "counter hit"),
        ("", "steps_percent of scaling", "", "100; 90"),
        ("", "floor_percent of scaling", "", "0"),
        ("", "maximum of salt", "40", "50"),
    ]


def test_a_character_s_jump_is_told_with_its_owner() -> None:
    old = usual()
    first = replace(old, characters=(replace(solo(old), jump=Jump(4, 38, 3)),))
    then = replace(old, characters=(replace(solo(old), jump=Jump(5, 38, 3)),))
    told = number_changes(compare(first, then))
    assert told == (NumberChange("Solo", "", "before_frames of jump", "4", "5"),)


def test_what_changes_under_a_scheme_alone_is_told_with_the_scheme() -> None:
    move = solo(usual()).moves[0]
    quick = replace(move, input="4LP", startup_frames=9)
    old = _with(0, by_scheme=(("simple", quick),))
    new = _with(
        0, recovery_frames=8, by_scheme=(("simple", replace(quick, startup_frames=7, recovery_frames=8)),)
    )
    assert number_changes(compare(old, new)) == (
        NumberChange("Solo", "5LP", "recovery", "7", "8"),
        NumberChange("Solo", "5LP", "startup", "9", "7", "simple"),
    )
    gone = number_changes(compare(old, usual()))
    assert gone == (NumberChange("Solo", "5LP", "input", "4LP", "", "simple"),)


def test_a_movement_s_length_is_its_total() -> None:
    old = demo("kitewind")
    who = old.characters[0]
    moves = tuple(replace(move, recovery_frames=99) if move.input == "66" else move for move in who.moves)
    new = replace(old, characters=(replace(who, moves=moves), *old.characters[1:]))
    ((change,),) = [number_changes(compare(old, new))]
    assert (change.field, change.new) == ("total", "99")


def test_numbers_of_a_renamed_move_are_told_under_its_new_input() -> None:
    assert _patch(_with(0, input="2LP", startup_frames=9)) == [("2LP", "startup", "4", "9")]


def test_rules_are_told_apart_by_name() -> None:
    old = usual()
    first, second = old.rules
    changed, fresh = replace(first, per_route=1), replace(second, name="fresh")
    new = replace(old, rules=(fresh, changed))
    assert rule_changes(compare(old, new)) == (
        RuleChange("", None, fresh),
        RuleChange("", first, changed),
        RuleChange("", second, None),
    )
    assert [one.name for one in rule_changes(compare(old, new))] == ["fresh", first.name, second.name]
    own = replace(solo(old), rules=(fresh,))
    assert rule_changes(compare(old, replace(old, characters=(own,)))) == (RuleChange("Solo", None, fresh),)
    assert rule_changes(compare(old, replace(old, rules=(second, first)))) == ()


@given(versions())
def test_whatever_changes_can_be_told_and_every_line_tells_a_difference(pair: tuple[Game, Game]) -> None:
    patch = compare(*pair)
    told = number_changes(patch)
    assert all(one.old != one.new for one in told)
    assert len(set(told)) == len(told)
    rule_changes(patch)
