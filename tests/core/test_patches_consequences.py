"""What a patch does to links and cancels, beside every pair asked one by one and beside what must follow."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest
from builders import game_of, row
from demo import GAMES, demo
from hypothesis import given
from hypothesis import strategies as st
from judged import usual
from patching import following, patched

from core.cancels import cancel
from core.links import link
from core.model import Character, Contact, ContactKind, Game, JuggleRules, Move, MoveKind
from core.patches import CancelChange, Consequences, LinkChange, LinkEffect, compare
from core.verdict import Answer, Code


def shared(old: Game, new: Game) -> Iterator[tuple[Character, Character, list[tuple[Move, Move]]]]:
    """Each character of both versions and its moves in both."""
    patch = compare(old, new)
    for first in old.characters:
        then = next((who for who in new.characters if who.name == first.name), None)
        if then is not None:
            renamed = {one.old.input: one.new.input for one in patch.of(first.name).renamed}
            by_input = {move.input: move for move in then.moves}
            yield (
                first,
                then,
                [
                    (move, by_input[called])
                    for move in first.moves
                    if (called := renamed.get(move.input, move.input)) in by_input
                ],
            )


def frames(game: Game, who: Character, first: Move, second: Move, state: str | None) -> int | None:
    """W as the answer to the question about these two moves has it."""
    verdict = link(game, who, first, second, Contact(state=state))
    if verdict.answer is Answer.YES:
        window = verdict.evidence.get("window_frames", verdict.evidence.get("window_low_frames"))
        assert isinstance(window, int)
        return window
    return None if verdict.answer is Answer.UNKNOWN and not verdict.has(Code.DEPENDS_ON_HEIGHT) else 0


def links_one_by_one(old: Game, new: Game) -> set[LinkChange]:
    states = [None, *(one.name for one in old.hit_states if new.hit_state(one.name))]
    found: set[LinkChange] = set()
    for was, now, moves in shared(old, new):
        for first, first_new in moves:
            for second, second_new in moves:
                plain = None
                for state in states:
                    before = frames(old, was, first, second, state)
                    after = frames(new, now, first_new, second_new, state)
                    if before is None or after is None or before == after:
                        continue
                    change = LinkChange(now.name, first_new.input, second_new.input, state, before, after)
                    if state is None:
                        plain = change.kind
                    if state is None or change.kind is not plain:
                        found.add(change)
    return found


def cancels_one_by_one(old: Game, new: Game) -> set[CancelChange]:
    found: set[CancelChange] = set()
    known = {Answer.YES: True, Answer.NO: False, Answer.UNKNOWN: None}
    for was, now, moves in shared(old, new):
        for first, first_new in moves:
            for second, second_new in moves:
                for kind in ContactKind:
                    before = cancel(old, was, first, second, Contact(kind))
                    after = cancel(new, now, first_new, second_new, Contact(kind))
                    legal = known[before.legal.answer], known[after.legal.answer]
                    combos = known[before.combos.answer], known[after.combos.answer]
                    still = legal == (True, True)
                    changed = combos if still and kind is ContactKind.HIT else legal
                    if None in changed or changed[0] == changed[1]:
                        continue
                    has = after if changed[1] else before
                    assert has.window is not None
                    found.add(
                        CancelChange(
                            now.name,
                            first_new.input,
                            second_new.input,
                            kind,
                            has.window.rule.name,
                            bool(changed[1]),
                            combos[bool(changed[1])],
                            still,
                        )
                    )
    return found


def assert_as_one_by_one(old: Game, new: Game) -> None:
    told = following(old, new)
    assert len(set(told.links)) == len(told.links)
    assert len(set(told.cancels)) == len(told.cancels)
    assert set(told.links) == links_one_by_one(old, new)
    assert set(told.cancels) == cancels_one_by_one(old, new)


def small_part(game: Game) -> Game:
    """The game's first two characters, with every fourth move."""
    people = tuple(replace(who, moves=who.moves[::4]) for who in game.characters[:2])
    return replace(game, characters=people)


SMALL = (usual(), *(small_part(demo(name)) for name in GAMES))


@given(st.data(), st.sampled_from(SMALL))
def test_small_games_agree_with_every_pair_asked_one_by_one(data: st.DataObject, old: Game) -> None:
    assert_as_one_by_one(old, data.draw(patched(old, most=8)))


def every_normal_slower(game: Game) -> Game:
    return _moves_changed(game, lambda move: _slower(move) if move.kind is MoveKind.NORMAL else move)


def every_push_farther(game: Game) -> Game:
    return _moves_changed(game, lambda move: replace(move, pushback_on_hit=(move.pushback_on_hit or 0) + 1))


def no_hitstun_left(game: Game) -> Game:
    return replace(game, hitstun_decay_frames=(3, 4))


def better_counter_hits(game: Game) -> Game:
    states = tuple(replace(state, bonus_frames=4) for state in game.hit_states)
    return replace(game, hit_states=states)


def first_rule_on_whiff_too(game: Game) -> Game:
    rule, *rest = game.rules
    return replace(game, rules=(replace(rule, contact=frozenset(ContactKind)), *rest))


def no_rules(game: Game) -> Game:
    return replace(game, rules=())


def lower_juggles(game: Game) -> Game:
    return replace(game, juggle=JuggleRules(0))


def everybody_loses_a_tag(game: Game) -> Game:
    return _moves_changed(game, lambda move: replace(move, tags=frozenset()))


def _moves_changed(game: Game, change: Callable[[Move], Move]) -> Game:
    people = tuple(replace(who, moves=tuple(map(change, who.moves))) for who in game.characters)
    return replace(game, characters=people)


def _slower(move: Move) -> Move:
    return replace(move, startup_frames=None if move.startup_frames is None else move.startup_frames + 1)


@pytest.mark.parametrize("name", GAMES)
@pytest.mark.parametrize(
    "change",
    [
        every_normal_slower,
        every_push_farther,
        no_hitstun_left,
        better_counter_hits,
        first_rule_on_whiff_too,
        no_rules,
        lower_juggles,
        everybody_loses_a_tag,
    ],
)
def test_a_whole_demo_game_agrees_with_every_pair_asked_one_by_one(
    name: str, change: Callable[[Game], Game]
) -> None:
    old = replace(demo(name), characters=demo(name).characters[:2])
    new = change(old)
    told = following(old, new)
    assert told.links or told.cancels
    assert_as_one_by_one(old, new)


@pytest.mark.parametrize("name", GAMES)
def test_a_game_does_nothing_to_itself(name: str) -> None:
    assert following(demo(name), demo(name)) == Consequences()


@given(st.data(), st.sampled_from(SMALL))
def test_the_way_back_loses_what_was_gained_and_loosens_what_was_tighter(
    data: st.DataObject, old: Game
) -> None:
    new = data.draw(patched(old))
    there, back = following(old, new), following(new, old)
    if any(who.renamed for who in compare(old, new).characters):
        return
    turned = {replace(one, old_frames=one.new_frames, new_frames=one.old_frames) for one in back.links}
    assert set(there.links) == turned
    assert {replace(one, gained=not one.gained) for one in back.cancels} == set(there.cancels)


# What must follow


@pytest.mark.parametrize("name", GAMES)
def test_a_startup_one_longer_makes_every_link_into_the_move_one_tighter_or_loses_it(name: str) -> None:
    old = demo(name)
    who = old.characters[0]
    for place, slow in enumerate(who.moves):
        if slow.startup_frames is None or slow.projectile is not None or slow.kind is MoveKind.SUPER:
            continue
        moves = (*who.moves[:place], _slower(slow), *who.moves[place + 1 :])
        new = replace(old, characters=(replace(who, moves=moves), *old.characters[1:]))
        told = following(old, new).links
        into = {one for one in told if one.second == slow.input and one.first != slow.input}
        assert all(one.new_frames == one.old_frames - 1 for one in into if one.state is None)
        assert all(one.kind in (LinkEffect.TIGHTER, LinkEffect.LOST) for one in into)
        linked = {
            first.input
            for first in who.moves
            if first is not slow and frames(old, who, first, slow, None) not in (None, 0)
        }
        assert {one.first for one in into if one.state is None} == linked


def test_a_link_that_is_lost_plainly_and_tighter_on_counter_hit_is_told_twice_and_alike_once() -> None:
    def game(advantage: int) -> Game:
        return game_of(
            row("5LP", 4, 3, 7, advantage, 2),
            row("5MP", 5, 3, 12, 3, 0),
            hit_state=[{"name": "counter hit", "bonus_frames": 2}],
        )

    told = following(game(5), game(4)).links
    assert [(one.first, one.second, one.state, one.old_frames, one.new_frames) for one in told] == [
        ("5LP", "5MP", None, 1, 0),
        ("5LP", "5LP", None, 2, 1),
        ("5LP", "5MP", "counter hit", 3, 2),
    ]
    assert [one.kind for one in told] == [LinkEffect.LOST, LinkEffect.TIGHTER, LinkEffect.TIGHTER]


def test_moves_that_are_gone_or_new_have_no_consequences_and_renamed_ones_are_followed() -> None:
    old = usual()
    who = old.characters[0]
    first, second, *rest = who.moves
    fresh = replace(second, input="2MP", name="fresh", startup_frames=4, on_hit=None)
    gone = replace(old, characters=(replace(who, moves=(first, fresh, *rest)),))
    assert following(old, gone) == Consequences()
    moved = replace(second, input="2MP", startup_frames=4)
    told = following(old, replace(old, characters=(replace(who, moves=(first, moved, *rest)),)))
    assert [(one.first, one.second, one.old_frames, one.new_frames) for one in told.links] == [
        ("5LP", "2MP", 1, 2)
    ]


def test_a_buffer_moves_presses_and_neither_links_nor_cancels() -> None:
    old = demo("saltglass")
    new = replace(old, link_buffer_frames=9, cancel_buffer_frames=1, cancel_window_frames=8)
    assert following(old, new) == Consequences()


def test_a_number_that_is_not_known_any_more_is_nothing_lost() -> None:
    old = usual()
    who = old.characters[0]
    moves = (replace(who.moves[0], on_hit=None), *who.moves[1:])
    assert not following(old, replace(old, characters=(replace(who, moves=moves),))).links


def test_consequences_are_plain_values_that_a_worker_can_send() -> None:
    told = following(demo("saltglass"), every_normal_slower(demo("saltglass")))
    assert pickle.loads(pickle.dumps(told)) == told


def _alike(**rules: Any) -> Game:
    """Two light moves and two special ones that differ in little else than their inputs."""
    return game_of(
        row("5LP", 4, 3, 7, 5, 2, tags="special-cancellable"),
        row("2LP", 4, 3, 7, 5, 2, tags="special-cancellable"),
        row("236LP", 8, 3, 20, -4, -8, kind="special"),
        row("236LK", 8, 3, 20, -4, -8, kind="special", hit_level="throw"),
        **rules,
    )


def _chain(**more: Any) -> dict[str, Any]:
    lights = {"strengths": ["light"], "kinds": ["normal"]}
    chain: dict[str, Any] = {"name": "chain", "from": lights, "into": lights, "contact": ["hit"]}
    return {"chain": [chain | {"first_frame": 2, "last_frame": 6} | more]}


def _cancels(old: Game, new: Game) -> set[tuple[str, str, bool, bool | None]]:
    return {(one.first, one.second, one.gained, one.combos) for one in following(old, new).cancels}


def test_a_chain_that_never_goes_into_the_same_move_is_lost_between_the_others_alone() -> None:
    old = _alike(**_chain(same_move=False))
    lost = {("5LP", "2LP", False, True), ("2LP", "5LP", False, True)}
    assert _cancels(old, replace(old, rules=())) == lost
    assert _cancels(old, _alike(**_chain())) == {("5LP", "5LP", True, True), ("2LP", "2LP", True, True)}


def test_a_cancel_into_a_throw_is_lost_as_one_that_never_combined() -> None:
    rule: dict[str, Any] = {"name": "special cancel", "contact": ["hit"]}
    rule |= {"from": {"tags": ["special-cancellable"]}, "into": {"kinds": ["special"]}}
    old = _alike(cancel=[rule])
    lights, specials = ("5LP", "2LP"), (("236LP", True), ("236LK", False))
    expected = {(first, into, False, combos) for first in lights for into, combos in specials}
    assert _cancels(old, replace(old, rules=())) == expected


def test_strengths_in_another_order_change_what_a_rising_chain_allows() -> None:
    normals = {"kinds": ["normal"]}
    old = game_of(
        row("5LP", 4, 3, 7, 5, 2),
        row("5MP", 6, 3, 9, 5, 2),
        **_chain(**{"from": normals, "into": normals, "order": "rising"}),
    )
    new = replace(old, strengths=("heavy", "medium", "light"))
    assert _cancels(old, new) == {("5LP", "5MP", False, True), ("5MP", "5LP", True, True)}
