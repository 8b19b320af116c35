"""The loader of game files: what of a sound file reaches the game, and what follows from an input."""

from __future__ import annotations

import pytest
from loading import INLINE, TEXTS, loaded, move_of, problems_of, rules_of

from core.gamefile import load
from core.model import Button, ContactKind, HitLevel, Means, MoveKind, Order, Stance


def test_tables_beside_the_file_and_moves_inside_it_give_the_same_game() -> None:
    assert loaded(TEXTS) == loaded(INLINE)


def test_everything_at_the_top_of_the_file_reaches_the_game() -> None:
    game = loaded(TEXTS)
    assert (game.name, game.version, game.fps, game.distance_unit) == ("Tinwhistle", "0.3", 60, "paces")
    assert (game.link_buffer_frames, game.cancel_buffer_frames, game.cancel_window_frames) == (3, 6, 2)
    assert (game.keeps_newest_press, game.directions_used_up) == (False, True)
    assert game.hitstun_decay_frames == (0, 1, 2)
    assert game.buttons[0] == Button("LA", "arm", "light")
    assert [(state.name, state.aliases, state.bonus_frames) for state in game.hit_states] == [
        ("counter hit", ("counter", "CH"), 2)
    ]
    assert game.scaling is not None
    assert game.scaling.floors_percent == ((MoveKind.SUPER, 40),)
    assert [(motion.forms, motion.charge_frames) for motion in game.motions] == [
        (("236", "26"), None),
        (("46",), 40),
    ]
    assert game.juggle is not None
    assert (game.juggle.limit, game.juggle.downed_hits) == (3, 1)
    assert game.characters[0].jump is not None
    assert game.characters[0].jump.total_frames == 45


def test_rules_keep_their_limits_and_name_moves_by_their_inputs() -> None:
    cancel, chain = loaded(TEXTS).rules
    assert (cancel.means, cancel.first_frame, cancel.last_frame) == (Means.CANCEL, 1, None)
    assert cancel.contact == {ContactKind.HIT, ContactKind.BLOCK}
    assert (chain.means, chain.first_frame, chain.last_frame) == (Means.CHAIN, 2, 6)
    assert (chain.order, chain.per_route, chain.not_after) == (Order.NOT_FALLING, 2, {Means.CANCEL})
    assert chain.into.moves == {"5LA", "5HA"}, "the file calls the first one jab"
    assert [rule.name for rule in loaded(TEXTS).characters[0].rules] == ["own cancel"]


def test_a_cancel_without_a_last_frame_leaves_it_to_the_game_s_cancel_window() -> None:
    rule = {"name": "c", "from": {}, "into": {}, "contact": ["hit"]}
    game = load(rules_of(cancel=[rule], buffers={"cancel_window_frames": 4}), {})
    assert (game.rules[0].last_frame, game.cancel_window_frames) == (None, 4)
    own = load(rules_of(cancel=[{**rule, "last_frame": 9}]), {})
    assert (own.rules[0].last_frame, own.cancel_window_frames) == (9, None)


def test_a_rule_has_a_jump_in_it_where_the_file_says_so() -> None:
    rule = {"name": "c", "from": {}, "into": {}, "contact": ["hit"]}
    assert [load(rules_of(cancel=[{**rule, **more}]), {}).rules[0].jump for more in ({}, {"jump": True})] == [
        False,
        True,
    ]


@pytest.mark.parametrize(
    ("written", "stance", "strength"),
    [
        ("5A", Stance.STANDING, "light"),
        ("2A", Stance.CROUCHING, "light"),
        ("3A", Stance.CROUCHING, "light"),
        ("6A", Stance.STANDING, "light"),
        ("j.2A", Stance.AIRBORNE, "light"),
        ("22A", Stance.STANDING, "light"),
        ("A+B", Stance.STANDING, None),
        ("B", Stance.STANDING, None),
    ],
)
def test_stance_and_strength_follow_from_the_input(
    written: str, stance: Stance, strength: str | None
) -> None:
    motions = {"motion": [{"name": "twice", "forms": ["22"]}]} if written == "22A" else {}
    move = move_of(game=motions, input=written)
    assert (move.stance, move.strength) == (stance, strength)


def test_a_given_stance_strength_and_hit_level_win_over_derived_ones() -> None:
    move = move_of(input="2B", stance="airborne", strength="light", hit_level="low")
    assert (move.stance, move.strength, move.hit_level) == (Stance.AIRBORNE, "light", HitLevel.LOW)
    assert move_of(kind="throw").hit_level is HitLevel.THROW
    assert move_of().hit_level is HitLevel.HIGH


def test_buttons_together_have_a_strength_only_where_it_is_the_same() -> None:
    light, heavy = {"strength": "light"}, {"strength": "heavy"}
    buttons = {"A": light, "B": heavy, "C": light}
    game = {"strengths": ["light", "heavy"], "buttons": buttons}
    assert move_of(game=game, input="A+B").strength is None
    assert move_of(game=game, input="A+C").strength == "light"


def test_letters_stand_for_as_many_buttons_as_their_group_has() -> None:
    punches = {"buttons": {name: {"group": "punch", "strength": "light"} for name in ("L", "H")}}
    assert move_of(game=punches, input="5PP").strength is None
    for written in ("5PPP", "5K"):
        moves = [{"input": written, "name": "tap"}]
        (problem,) = problems_of(rules_of(moves=moves, **punches))
        assert written in problem.wrong


def test_two_spellings_of_one_input_are_taken_for_the_same() -> None:
    for first, second in (("5A", "a"), ("A+B", "5BA"), ("j.A", "jA"), ("5[A]", "[a]")):
        moves = [{"input": first, "name": "tap"}, {"input": second, "name": "other tap"}]
        (problem,) = problems_of(rules_of(moves=moves))
        assert problem.wrong == f'"{second}" is taken by 1st entry of One ({first})'
    apart = [{"input": "5A", "name": "tap"}, {"input": "5[A]", "name": "held tap"}]
    assert len(load(rules_of(moves=apart), {}).characters[0].moves) == 2


def test_a_button_may_begin_as_an_airborne_input_does() -> None:
    jab = {"buttons": {"J": {"strength": "light"}}}
    for written, stance in (("J", Stance.STANDING), ("2J", Stance.CROUCHING), ("j.J", Stance.AIRBORNE)):
        move = move_of(game=jab, input=written)
        assert (move.stance, move.strength) == (stance, "light")


@pytest.mark.parametrize("written", ["5A", "J", "j.QQ", "236K+LP", "5[X]", "66"])
def test_inputs_are_not_judged_by_buttons_that_cannot_be_read(written: str) -> None:
    moves = [{"input": written, "name": "tap", "kind": "movement" if written == "66" else "normal"}]
    motions = [{"name": "wave", "forms": ["236"]}]
    (problem,) = problems_of(rules_of(moves=moves, motion=motions, buttons=[]))
    assert problem.table == "[buttons]"


# Control schemes


def test_a_scheme_row_holds_the_whole_move_with_its_own_numbers() -> None:
    gust = next(move for move in loaded(TEXTS).characters[0].moves if move.input == "236HA")
    short = gust.under("short")
    assert (short.input, short.name, short.startup_frames) == ("236SB", "gust", 18)
    assert (short.kind, short.strength, short.recovery_frames) == (MoveKind.SPECIAL, "heavy", 30)
    assert short.hits == gust.hits
    assert gust.under("full") is gust
    assert gust.startup_frames == 14


def test_what_follows_from_a_changed_number_follows_anew_under_the_scheme() -> None:
    schemes = {"scheme": [{"name": "short"}]}
    base = {"input": "5A", "name": "tap", "startup": 4, "active": 3, "total": 14, "on_hit": 5, "hitstun": 15}
    change = {"scheme": "short", "same_as": "5A", "startup": 6, "on_hit": 2}
    move = load(rules_of(moves=[base, change], **schemes), {}).characters[0].moves[0]
    short = move.under("short")
    assert (move.total_frames, move.hits[0].hitstun_frames) == (14, 15)
    # the recovery stays 8: 6 - 1 + 3 + 8 = 16, and 2 + (3 - 1) + 8 = 12
    assert (short.total_frames, short.hits[0].hitstun_frames) == (16, 12)
