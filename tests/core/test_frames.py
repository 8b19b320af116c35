"""When a move touches and is over, its stun and its advantage: numbers worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builders import game_of, move, row, solo

from core.frames import (
    advantage,
    contact_clock,
    contact_frame,
    contact_on,
    frames_left,
    free_clock,
    outcome,
    span_start,
    startup,
    stun,
)
from core.model import Contact, ContactKind, Effect, Outcome, Projectile, Range
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


# A projectile that hits twice: active on 14 and on 14 + 1 + 4 = 19, 13 + 6 + 30 = 49 frames in all. Each
# hit stops the defender alone, for 10 frames. The second hit's stun is 1 + 30 - 20 = 11.
TWICE = row("236HP", 14, "1(4)1", 30, 1, -6, kind="special", projectile="0.5", hitstun="25; ?")
BALLS = game_of(
    row("236LP", 14, 1, 30, 1, -6, kind="special", projectile="0.5", hitstop="0/10"),
    TWICE | {"hitstop": "0/10"},
    row("236MP", 14, 1, 30, "launch 40", -6, kind="special", projectile="0.5", hitstop="0/10"),
)
NO_HITSTOP = game_of(
    row("5HP", 9, "2(6)3", 18, 2, -4, hitstun="20; ?"),
    row("236LP", 14, 1, 30, 1, -6, kind="special", projectile="0.5"),
    TWICE,
    row("236MP", 14, 1, 30, "launch 40", -6, kind="special", projectile="0.5"),
    hitstop={},
)
SECOND_ALONE = Contact(first_hit=2)


def test_a_meaty_contact_leaves_fewer_frames_and_moves_no_later_hit() -> None:
    assert frames_left(move(GAME, "5MP"), replace(HIT, active_frame=3), 1) == 20 - (6 + 2)
    late = replace(HIT, active_frame=2)
    assert [contact_frame(move(GAME, "5HP"), late, hit) for hit in (1, 2)] == [9 + 1, 17]


def test_a_later_hit_of_a_projectile_waits_while_the_defender_is_frozen_and_its_owner_does_not() -> None:
    ball = move(BALLS, "236HP")
    assert [contact_clock(ball, HIT, hit) for hit in (1, 2)] == [14, 19 + 10]
    assert [frames_left(ball, HIT, hit) for hit in (1, 2)] == [49 - 14, 49 - 19 - 10]
    assert (contact_clock(ball, SECOND_ALONE, 2), frames_left(ball, SECOND_ALONE, 2)) == (19, 49 - 19)
    assert free_clock(ball, HIT) == 49 + 1


def test_only_hitstop_that_happened_delays_the_next_hit() -> None:
    two_hits = move(GAME, "5HP")
    assert contact_clock(two_hits, BLOCK, 2) == 17 + 12
    assert contact_clock(two_hits, Contact(ContactKind.WHIFF), 2) == 17
    assert contact_clock(two_hits, SECOND_ALONE, 2) == 17
    uneven = game_of(row("5HP", 9, "2(6)3", 18, 2, -4, hitstop="8/12"))
    assert contact_clock(move(uneven, "5HP"), HIT, 2) == 17 + 8
    assert frames_left(move(uneven, "5HP"), HIT, 2) == 37 - 17


def test_a_projectile_whose_first_hit_misses_leaves_less_by_that_hit_s_hitstop() -> None:
    # touches on 19, freezes for 10, stuns for 11: over on 40, and its owner on 49
    assert stun(BALLS, move(BALLS, "236HP"), HIT, 2) == 11
    not_filled_in = tuple(replace(hit, hitstun_frames=None) for hit in move(BALLS, "236HP").hits)
    assert stun(BALLS, replace(move(BALLS, "236HP"), hits=not_filled_in), HIT, 2) == 1 + 30 - 20
    assert advantage(BALLS, move(BALLS, "236HP"), SECOND_ALONE) == Range(40 - 49, 40 - 49)
    assert advantage(BALLS, move(BALLS, "236HP"), HIT) == Range(1, 1)
    # four frames of flight and all of that four frames later
    far = replace(SECOND_ALONE, distance=2.0)
    assert advantage(BALLS, move(BALLS, "236HP"), far) == Range(-9 + 4, -9 + 4)


def test_the_air_time_is_counted_from_contact_and_after_hitstop() -> None:
    # contact on 14 of 44: 30 to go, 40 in the air and 10 frozen alone
    assert advantage(BALLS, move(BALLS, "236MP"), HIT) == Range(20, 20)
    assert advantage(BALLS, move(BALLS, "236MP"), Contact(distance=2.0)) == Range(24, 24)
    assert advantage(GAME, move(GAME, "2HP"), replace(HIT, active_frame=3)) == Range(17 + 2, 17 + 2)
    uneven = game_of(row("2HP", 8, 4, 20, "launch 40", -10, hitstop="8/12"))
    assert advantage(uneven, move(uneven, "2HP"), HIT) == Range(17 + 4, 17 + 4)


def test_a_knockdown_has_a_lead_and_no_stun() -> None:
    assert advantage(GAME, move(GAME, "2HK"), HIT) == Range(30, 30)
    assert stun(GAME, move(GAME, "2HK"), HIT, 1) == 0


def test_decay_and_the_hit_state_change_an_earlier_hit_s_stun_too() -> None:
    assert stun(GAME, move(GAME, "5HP"), replace(HIT, hits_before=1), 1) == 20 - 1
    assert stun(GAME, move(GAME, "5HP"), Contact(state="counter hit", hits_before=1), 1) == 20 + 2 - 1
    assert stun(GAME, move(GAME, "5HP"), replace(HIT, hits_before=1), 2) == 22 - 3


def test_what_the_file_says_of_a_state_or_of_a_hit_in_the_air_has_no_bonus_on_top() -> None:
    game = game_of(
        row("5MP", 6, 3, 12, 5, -1, on_counter_hit="+9", on_air_hit="+8"),
        row("5LP", 4, 3, 8, 4, 1),
        hit_state=[{"name": "counter hit", "bonus_frames": 2}],
    )
    assert advantage(game, move(game, "5MP"), Contact(state="counter hit")) == Range(9, 9)
    assert stun(game, move(game, "5MP"), Contact(state="counter hit"), 1) == 9 + 2 + 12
    assert advantage(game, move(game, "5MP"), Contact(juggle_count=0)) == Range(8, 8)
    assert advantage(game, move(game, "5MP"), Contact(state="counter hit", juggle_count=0)) == Range(8, 8)
    assert outcome(game, move(game, "5LP"), Contact(juggle_count=0)) == Missing("5LP", ("on_air_hit",))


def test_an_air_attack_s_stun_is_the_file_s_and_a_hit_state_adds_to_it() -> None:
    assert stun(GAME, move(GAME, "j.HP"), Contact(state="counter hit"), 1) == 20 + 2
    # without a plain advantage to compare: 4 and the 17 - 7 frames that are left
    in_state_only = replace(
        move(GAME, "j.HP"), on_hit=None, outcomes=(("counter hit", Outcome(Effect.STAND, Range(4, 4))),)
    )
    assert stun(GAME, in_state_only, Contact(state="counter hit"), 1) == 4 + 10
    launches = replace(in_state_only, on_hit=Outcome(Effect.LAUNCH, air_frames=40))
    assert stun(GAME, launches, Contact(state="counter hit"), 1) == 4 + 10
    by_height = replace(move(GAME, "j.HP"), hits=(replace(move(GAME, "j.HP").hits[0], hitstun_frames=None),))
    assert stun(GAME, by_height, HIT, 1) == Missing("j.HP", ("hitstun of hit 1",))
    late = replace(in_state_only, startup_frames=None)
    assert stun(GAME, late, Contact(state="counter hit"), 1) == Missing("j.HP", ("startup",))
    no_recovery = replace(in_state_only, recovery_frames=None)
    unknown = stun(GAME, no_recovery, Contact(state="counter hit"), 1)
    assert unknown == Missing("j.HP", ("hitstun of hit 1",))


def test_without_hitstop_what_hangs_on_it_is_missing_and_the_rest_is_answered() -> None:
    two_hits, ball = move(NO_HITSTOP, "5HP"), move(NO_HITSTOP, "236LP")
    hitstop = Missing("5HP", ("hitstop",))
    assert contact_clock(two_hits, HIT, 2) == free_clock(two_hits, HIT) == hitstop
    assert stun(NO_HITSTOP, two_hits, HIT, 2) == 2 + 2 + 18
    assert advantage(NO_HITSTOP, ball, Contact(distance=2.0)) == Range(1 + 4, 1 + 4)
    assert stun(NO_HITSTOP, ball, HIT, 1) == Missing("236LP", ("hitstop",))
    assert stun(NO_HITSTOP, ball, BLOCK, 1) == Missing("236LP", ("blockstun of hit 1",))
    twice, launch = move(NO_HITSTOP, "236HP"), move(NO_HITSTOP, "236MP")
    assert frames_left(twice, HIT, 2) == Missing("236HP", ("hitstop",))
    assert advantage(NO_HITSTOP, twice, SECOND_ALONE) == Missing("236HP", ("hitstop",))
    assert advantage(NO_HITSTOP, launch, HIT) == Missing("236MP", ("hitstop",))
    second_known = replace(twice, hits=(twice.hits[0], move(BALLS, "236HP").hits[1]))
    assert advantage(NO_HITSTOP, second_known, SECOND_ALONE) == Missing("236HP", ("hitstop",))


def test_a_projectile_of_unknown_speed_is_answered_at_point_blank_only() -> None:
    ball = replace(move(BALLS, "236LP"), projectile=Projectile())
    unknown = Missing("236LP", ("projectile speed",))
    far = Contact(distance=2.0)
    assert startup(ball) == 14
    assert startup(ball, 2.0) == contact_frame(ball, far, 1) == advantage(BALLS, ball, far) == unknown
    assert frames_left(ball, far, 1) == contact_clock(ball, far, 1) == unknown


def test_every_number_that_is_missing_is_named() -> None:
    jab, launch = move(GAME, "5MP"), move(GAME, "2HP")
    bare = replace(jab, startup_frames=None, hits=())
    assert span_start(bare, 1) == contact_frame(bare, HIT, 1) == Missing("5MP", ("startup", "active"))
    assert free_clock(replace(bare, recovery_frames=None), HIT) == Missing(
        "5MP", ("startup", "active", "recovery")
    )
    late = replace(jab, startup_frames=None)
    assert contact_clock(late, HIT, 1) == frames_left(late, HIT, 1) == Missing("5MP", ("startup",))
    assert frames_left(replace(jab, recovery_frames=None), HIT, 1) == Missing("5MP", ("recovery",))
    assert stun(GAME, jab, HIT, 0) == stun(GAME, jab, HIT, 2) == Missing("5MP", ("active",))
    assert stun(GAME, replace(jab, on_hit=None), HIT, 1) == Missing("5MP", ("on_hit",))
    no_number = replace(jab, on_hit=Outcome(Effect.STAND))
    assert outcome(GAME, no_number, HIT) == Missing("5MP", ("on_hit",))
    no_air_time = replace(launch, on_hit=Outcome(Effect.LAUNCH))
    assert outcome(GAME, no_air_time, HIT) == Missing("2HP", ("air time of on_hit",))
    assert advantage(GAME, replace(launch, recovery_frames=None), HIT) == Missing("2HP", ("recovery",))
    assert advantage(GAME, replace(launch, startup_frames=None), HIT) == Missing("2HP", ("startup",))


@pytest.mark.parametrize("states", [[], [{"name": "dizzy"}]])
def test_a_hit_state_without_a_bonus_in_the_file_is_missing(states: list[dict[str, str]]) -> None:
    game = game_of(row("5HP", 9, "2(6)3", 18, 2, -4, hitstun="20; ?"), hit_state=states)
    missing, dizzy = Missing("", ("bonus_frames of dizzy",)), Contact(state="dizzy")
    assert advantage(game, move(game, "5HP"), dizzy) == missing
    assert [stun(game, move(game, "5HP"), dizzy, hit) for hit in (1, 2)] == [missing, missing]
