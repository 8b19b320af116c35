"""Comparing two versions: the patch makes the new one of the old, holds nothing else, and follows renames."""

from __future__ import annotations

import pickle
from dataclasses import fields, replace
from typing import Any

import pytest
from builders import game_of, row, solo
from demo import GAMES, demo
from hypothesis import given
from hypothesis import strategies as st
from judged import usual
from patching import patched, starting_games, versions

from core.model import Character, Game, Move
from core.patches import Change, CharacterPatch, Patch, apply, compare


@given(versions())
def test_a_patch_makes_the_new_version_of_the_old_one_exactly(pair: tuple[Game, Game]) -> None:
    old, new = pair
    assert apply(compare(old, new), old) == new


@given(st.data())
def test_there_is_a_patch_between_any_two_games_and_back(data: st.DataObject) -> None:
    one, other = (data.draw(st.sampled_from(starting_games())) for _ in range(2))
    new = data.draw(patched(other))
    assert apply(compare(one, new), one) == new
    assert apply(compare(new, one), new) == one


@given(versions())
def test_patches_in_a_row_lead_where_the_one_patch_over_all_leads(pair: tuple[Game, Game]) -> None:
    old, new = pair
    between = replace(new, characters=old.characters)
    there = apply(compare(between, new), apply(compare(old, between), old))
    assert there == apply(compare(old, new), old)


@pytest.mark.parametrize("game", starting_games(), ids=lambda game: game.name)
def test_a_version_does_not_differ_from_itself_read_again(game: Game) -> None:
    again = pickle.loads(pickle.dumps(game))
    assert again is not game
    assert compare(game, again) == Patch()
    assert compare(game, again).empty
    assert apply(Patch(), game) == game


@given(versions())
def test_a_patch_is_a_plain_value_that_a_worker_can_send(pair: tuple[Game, Game]) -> None:
    patch = compare(*pair)
    assert pickle.loads(pickle.dumps(patch)) == patch
    assert patch.empty == (pair[0] == pair[1])


@given(versions())
def test_every_change_is_one_and_every_move_is_told_once(pair: tuple[Game, Game]) -> None:
    old, new = pair
    patch = compare(old, new)
    assert all(change.old != change.new for change in patch.changes)
    for who in patch.characters:
        before = {move.input for move in _who(old, who.name).moves}
        after = {move.input for move in _who(new, who.name).moves}
        gone = [move.input for move in who.removed] + [one.old.input for one in who.renamed]
        come = [move.input for move in who.added] + [one.new.input for one in who.renamed]
        assert sorted(gone) == sorted(before - after)
        assert sorted(come) == sorted(after - before)
        assert {one.input for one in who.moves} <= before & after
        assert all(change.old != change.new for one in who.moves for change in one.changes)
        assert who != CharacterPatch(who.name)


def _who(game: Game, name: str) -> Character:
    return next(who for who in game.characters if who.name == name)


@pytest.mark.parametrize("name", [field.name for field in fields(Game) if field.name != "characters"])
def test_no_field_of_a_game_is_forgotten(name: str) -> None:
    old, other = usual(), dict[str, Any]({name: object()})
    new = replace(old, **other)
    (change,) = compare(old, new).changes
    assert change == Change(name, getattr(old, name), getattr(new, name))


@pytest.mark.parametrize("name", [field.name for field in fields(Move) if field.name != "input"])
def test_no_field_of_a_move_is_forgotten(name: str) -> None:
    old = usual()
    moves = solo(old).moves
    other = dict[str, Any]({name: object()})
    new = _with_moves(old, (moves[0], replace(moves[1], **other), *moves[2:]))
    ((told,),) = (who.moves for who in compare(old, new).characters)
    assert told.input == moves[1].input
    assert [change.field for change in told.changes] == [name]


# Order


def test_moves_in_another_order_are_a_change_of_order_alone() -> None:
    old = usual()
    patch = compare(old, _with_moves(old, solo(old).moves[::-1]))
    inputs = tuple(move.input for move in reversed(solo(old).moves))
    assert patch == Patch(characters=(CharacterPatch("Solo", order=inputs),))


def test_a_move_added_last_and_one_taken_out_need_no_order() -> None:
    old = usual()
    fresh = replace(solo(old).moves[0], input="2LP", name="fresh", startup_frames=9)
    patch = compare(old, _with_moves(old, (*solo(old).moves[1:], fresh)))
    (who,) = patch.characters
    assert (who.added, who.removed, who.order) == ((fresh,), solo(old).moves[:1], None)


def test_characters_come_and_go_and_change_places() -> None:
    old = demo("kitewind")
    first, second, third, fourth = old.characters
    newcomer = Character("Newcomer", moves=first.moves)
    patch = compare(old, replace(old, characters=(newcomer, third, second, fourth)))
    assert patch.added == (newcomer,)
    assert patch.removed == (first,)
    assert patch.order == ("Newcomer", third.name, second.name, fourth.name)
    assert patch.characters == ()


# Renamed moves


def _with_moves(game: Game, moves: tuple[Move, ...]) -> Game:
    return replace(game, characters=(replace(solo(game), moves=moves),))


def _renamed(*old: Move, new: tuple[Move, ...]) -> list[tuple[str, str]]:
    game = usual()
    (who,) = compare(_with_moves(game, old), _with_moves(game, new)).characters
    return [(one.old.input, one.new.input) for one in who.renamed]


def _three() -> tuple[Move, Move, Move]:
    game = game_of(
        row("5LP", 4, 3, 7, 5, 2, name="pinch"),
        row("5MP", 6, 3, 12, 3, 0, name="swing", aliases="far swing"),
        row("236LP", 8, 3, 20, -4, -8, name="toss", kind="special"),
    )
    one, two, three = solo(game).moves
    return one, two, three


def test_a_move_of_the_same_name_is_the_same_under_another_input_whatever_its_numbers() -> None:
    pinch, swing, toss = _three()
    moved = replace(swing, input="4MP", startup_frames=9)
    assert _renamed(pinch, swing, toss, new=(pinch, moved, toss)) == [("5MP", "4MP")]


def test_a_move_that_keeps_its_old_input_as_an_alias_is_the_same() -> None:
    pinch, swing, toss = _three()
    moved = replace(swing, input="4MP", name="sweep", startup_frames=9, aliases=("5MP",))
    assert _renamed(pinch, swing, toss, new=(pinch, moved, toss)) == [("5MP", "4MP")]


def test_a_move_with_just_the_same_numbers_is_the_same_under_another_name_and_input() -> None:
    pinch, swing, toss = _three()
    moved = replace(swing, input="4MP", name="sweep", aliases=())
    assert _renamed(pinch, swing, toss, new=(pinch, moved, toss)) == [("5MP", "4MP")]
    other = replace(moved, recovery_frames=13)
    assert _renamed(pinch, swing, toss, new=(pinch, other, toss)) == []


def test_what_could_be_two_moves_is_not_guessed() -> None:
    pinch, swing, toss = _three()
    twins = tuple(replace(swing, input=written, name=written) for written in ("4MP", "3MP"))
    twins = tuple(replace(twin, aliases=()) for twin in twins)
    assert _renamed(pinch, swing, toss, new=(pinch, *twins, toss)) == []


def test_the_name_counts_for_more_than_the_numbers() -> None:
    pinch, swing, toss = _three()
    by_name = replace(swing, input="4MP", startup_frames=9, aliases=())
    by_numbers = replace(swing, input="3MP", name="else", aliases=())
    assert _renamed(pinch, swing, toss, new=(pinch, by_numbers, by_name, toss)) == [("5MP", "4MP")]


def test_the_same_name_in_three_strengths_is_told_apart_by_strength() -> None:
    light, medium, heavy = (
        replace(_three()[2], input=f"236{button}P", strength=strength)
        for button, strength in zip("LMH", ("light", "medium", "heavy"), strict=True)
    )
    moved = tuple(replace(move, input="41236" + move.input[3:]) for move in (heavy, light, medium))
    found = _renamed(light, medium, heavy, new=moved)
    assert found == [("236LP", "41236LP"), ("236MP", "41236MP"), ("236HP", "41236HP")]


def test_a_renamed_move_keeps_its_place() -> None:
    pinch, swing, toss = _three()
    game = usual()
    moved = replace(swing, input="4MP")
    patch = compare(_with_moves(game, (pinch, swing, toss)), _with_moves(game, (pinch, moved, toss)))
    assert patch.of("Solo").order is None
    assert patch.of("nobody") == CharacterPatch("nobody")


@pytest.mark.parametrize("name", GAMES)
def test_every_move_of_a_demo_game_is_followed_when_all_inputs_change(name: str) -> None:
    old = demo(name)
    people = tuple(
        replace(who, moves=tuple(replace(move, input=f"{n}Z") for n, move in enumerate(who.moves, start=1)))
        for who in old.characters
    )
    patch = compare(old, replace(old, characters=people))
    for who, before in zip(patch.characters, old.characters, strict=True):
        assert [one.old.input for one in who.renamed] == [move.input for move in before.moves]
        assert (who.added, who.removed, who.order) == ((), (), None)
