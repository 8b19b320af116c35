"""When a move touches and is over, its stun and its advantage: numbers worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builders import game_of, move, row, solo

from core.frames import (
    advantage,
    contact_clock,
    contact_on,
    frames_left,
    free_clock,
    outcome,
    span_start,
    startup,
    stun,
)
from core.model import Contact, ContactKind, Effect, Range
from core.verdict import Missing

GAME = game_of(
    row("5MP", 6, 3, 12, "+5", "-1"),
    row("5HP", 9, "2(6)3", 18, "+2", "-4", hitstun="20; ?", blockstun="16; ?"),
    row("2HK", 9, 3, 24, "KD 30", "-12"),
    row("2HP", 8, 4, 20, "launch 40", "-10"),
    row("j.HP", 7, 5, 6, "2..9", "0..6", hitstun="20"),
    row("236LP", 14, 1, 30, "+1", "-6", kind="special", projectile="0.5", hitstop="0/10"),
    row("5HK", 10, 3, 20, "+1", "-3", on_counter_hit="launch 35"),
    hit_state=[
        {"name": "counter hit", "bonus_frames": 2},
        {"name": "off balance", "bonus_frames": 3, "applies_to": "last"},
        {"name": "stunned", "bonus_frames": 4, "applies_to": "every"},
    ],
    hitstun_decay_frames=[0, 1, 3],
)
HIT, BLOCK = Contact(), Contact(ContactKind.BLOCK)


def test_total_is_startup_less_one_and_active_and_recovery() -> None:
    assert move(GAME, "5MP").total_frames == 6 - 1 + 3 + 12
    assert move(GAME, "5HP").active_frames == 2 + 6 + 3
    assert move(GAME, "5HP").total_frames == 9 - 1 + 11 + 18


def test_hitstun_is_the_advantage_and_what_the_attacker_still_has_to_do() -> None:
    # contact on frame 6 of 20: 14 frames of 5MP are left, and +5 on top
    assert stun(GAME, move(GAME, "5MP"), HIT, 1) == 5 + (3 - 1) + 12
    assert stun(GAME, move(GAME, "5MP"), BLOCK, 1) == -1 + 2 + 12
    # of several hits, the last one's stun goes with the advantage; the first one's is the file's
    assert stun(GAME, move(GAME, "5HP"), HIT, 1) == 20
    assert stun(GAME, move(GAME, "5HP"), HIT, 2) == 2 + (3 - 1) + 18 - 1  # decay of the second hit


def test_a_later_frame_of_contact_adds_to_the_advantage_and_not_to_the_stun() -> None:
    for late in (1, 2, 3):
        meaty = replace(HIT, active_frame=late)
        assert advantage(GAME, move(GAME, "5MP"), meaty) == Range(5 + late - 1, 5 + late - 1)
        assert stun(GAME, move(GAME, "5MP"), meaty, 1) == 19


def test_the_meaty_bonus_belongs_to_the_last_span_alone() -> None:
    late_in_the_first = Contact(ContactKind.BLOCK, active_frame=2)
    assert advantage(GAME, move(GAME, "5HP"), late_in_the_first) == Range(-4, -4)
    late_in_the_last = Contact(ContactKind.BLOCK, first_hit=2, active_frame=3)
    assert advantage(GAME, move(GAME, "5HP"), late_in_the_last) == Range(-2, -2)


def test_active_frames_count_the_gap_and_nothing_touches_in_it() -> None:
    two_hits = move(GAME, "5HP")
    assert [contact_on(two_hits, k) for k in (1, 2, 3, 8, 9, 11, 12)] == [
        (1, 1),
        (1, 2),
        None,
        None,
        (2, 1),
        (2, 3),
        None,
    ]
    assert span_start(two_hits, 2) == 9 + 2 + 6


def test_the_attacker_is_free_after_the_whole_move_and_the_hitstop_of_each_hit_that_landed() -> None:
    assert free_clock(move(GAME, "5MP"), HIT) == 20 + 10 + 1
    assert free_clock(move(GAME, "5HP"), HIT) == 37 + 12 + 12 + 1
    assert free_clock(move(GAME, "5HP"), Contact(first_hit=2)) == 37 + 12 + 1
    assert free_clock(move(GAME, "5MP"), Contact(ContactKind.WHIFF)) == 21
    # the second span starts on frame 17, and the first has frozen both for 12
    assert contact_clock(move(GAME, "5HP"), HIT, 2) == 17 + 12


@pytest.mark.parametrize(
    ("state", "first", "last"),
    [("counter hit", 22, 21), ("off balance", 20, 24), ("stunned", 24, 25)],
)
def test_a_hit_state_adds_its_frames_to_the_hit_that_the_file_says(state: str, first: int, last: int) -> None:
    contact = Contact(state=state)
    assert stun(GAME, move(GAME, "5HP"), contact, 1) == first
    assert stun(GAME, move(GAME, "5HP"), contact, 2) == last


def test_when_the_first_hit_whiffs_the_next_one_has_the_counter_hit() -> None:
    contact = Contact(state="counter hit", first_hit=2)
    assert stun(GAME, move(GAME, "5HP"), contact, 2) == 22 + 2
    assert advantage(GAME, move(GAME, "5HP"), contact) == Range(4, 4)


def test_a_hit_state_changes_nothing_on_block() -> None:
    assert advantage(GAME, move(GAME, "5MP"), Contact(ContactKind.BLOCK, state="counter hit")) == Range(
        -1, -1
    )


def test_what_the_file_says_of_a_move_in_a_state_replaces_the_bonus() -> None:
    result = outcome(GAME, move(GAME, "5HK"), Contact(state="counter hit"))
    assert not isinstance(result, Missing)
    assert (result.effect, result.air_frames) == (Effect.LAUNCH, 35)
    plain = outcome(GAME, move(GAME, "5HK"), HIT)
    assert not isinstance(plain, Missing)
    assert plain.effect is Effect.STAND


def test_hitstun_decays_by_the_number_of_the_hit_in_the_route_and_blockstun_does_not() -> None:
    jab = move(GAME, "5MP")
    assert [stun(GAME, jab, replace(HIT, hits_before=n), 1) for n in range(5)] == [19, 18, 16, 16, 16]
    assert [advantage(GAME, jab, replace(HIT, hits_before=n)) for n in (0, 1, 2)] == [
        Range(5, 5),
        Range(4, 4),
        Range(2, 2),
    ]
    assert stun(GAME, jab, replace(BLOCK, hits_before=2), 1) == 13


def test_a_launch_leaves_as_many_frames_as_the_air_time_outlasts_the_move() -> None:
    # contact on frame 8 of 31: 23 frames to go, 40 in the air
    assert advantage(GAME, move(GAME, "2HP"), HIT) == Range(17, 17)
    assert stun(GAME, move(GAME, "2HP"), HIT, 1) == 40


def test_an_air_attack_has_a_range_by_height() -> None:
    assert advantage(GAME, move(GAME, "j.HP"), HIT) == Range(2, 9)
    assert stun(GAME, move(GAME, "j.HP"), HIT, 1) == 20


def test_a_projectile_travels_and_stops_only_the_defender() -> None:
    ball = move(GAME, "236LP")
    assert startup(ball, distance=3.2) == 14 + 7  # 3.2 / 0.5 is 6.4: the seventh frame reaches
    assert startup(ball) == 14
    assert advantage(GAME, ball, Contact(ContactKind.BLOCK, distance=2.0)) == Range(-6 + 4, -6 + 4)
    assert free_clock(ball, HIT) == 14 - 1 + 1 + 30 + 0 + 1
    # as seen in play -6: it leaves 30 frames after contact, and 10 of the defender's are hitstop
    assert stun(GAME, ball, BLOCK, 1) == -6 + 30 - 10
    assert frames_left(ball, Contact(distance=16.0), 1) == 30 - 32


def test_a_number_the_file_leaves_out_is_named_and_never_guessed() -> None:
    game = game_of({"input": "5LP", "name": "Jab", "startup": 4}, row("5MP", 6, 3, 12, "+5", ""))
    assert free_clock(move(game, "5LP"), HIT) == Missing("5LP", ("active", "recovery"))
    assert advantage(game, move(game, "5LP"), HIT) == Missing("5LP", ("on_hit",))
    assert advantage(game, move(game, "5MP"), BLOCK) == Missing("5MP", ("on_block",))
    assert startup(replace(move(game, "5MP"), startup_frames=None)) == Missing("5MP", ("startup",))
    assert solo(game).name == "Solo"


def test_a_cancelled_special_may_start_faster_than_by_itself() -> None:
    game = game_of(row("236LP", 14, 3, 20, 1, -6, kind="special", cancelled_startup=11))
    assert startup(move(game, "236LP")) == 14
    assert startup(move(game, "236LP"), cancelled=True) == 11
