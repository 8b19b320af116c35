"""Cancels to the frame: the windows, what hits and rules they are of, and every number told."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from builders import game_of, move, row, solo

from core.cancels import CancelAnswer, CancelWindow, cancel, press_clock, windows
from core.model import Contact, ContactKind, Game, Hit, Move
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict

SPECIAL: dict[str, Any] = {
    "name": "special cancel",
    "from": {"kinds": ["normal"], "tags": ["special-cancellable"]},
    "into": {"kinds": ["special"]},
    "contact": ["hit", "block"],
}
TAG = {"tags": "special-cancellable"}
MOVES = [
    row("5LP", 4, 3, 8, "+4", "+1", **TAG),
    row("5MP", 6, 3, 12, "+5", "-1", **TAG),
    row("5HK", 10, "2(6)3", 18, "+2", "-4", **TAG),
    row("236LP", 14, 3, 20, "+1", "-6", kind="special", cost="glow 50"),
]
GAUGE = [{"name": "glow", "maximum": 100, "bar": 50}]
GAME = game_of(*MOVES, cancel=[SPECIAL], gauge=GAUGE)
BLOCK, WHIFF = Contact(ContactKind.BLOCK), Contact(ContactKind.WHIFF)
PAIR: dict[str, Any] = {"first": "5MP", "second": "236LP"}
AFTER_BALL = SPECIAL | {"name": "after a ball", "from": {"kinds": ["special"]}}
TWICE = row("236LP", 14, "1(4)1", 30, 1, -6, kind="special", projectile="0.5", cancellable_hits="1; 2")
HIT_SLOW = row("236HP", 31, 3, 22, "+2", "-5", kind="special")


def ask(first: str, second: str, contact: Contact | None = None, game: Game = GAME) -> CancelAnswer:
    return cancel(game, solo(game), move(game, first), move(game, second), contact or Contact())


def test_a_cancel_tells_all_its_numbers() -> None:
    rule: dict[str, Any] = {"rule": "special cancel", "means": "cancel"}
    numbers: dict[str, Any] = {"stun_frames": 19, "startup_frames": 14}
    answer = ask("5MP", "236LP")
    assert answer.legal == Verdict(
        Answer.YES,
        (
            Reason(Code.RULE_ALLOWS, Facts(**rule, **PAIR, contact="hit")),
            Reason(Code.COSTS_GAUGE, Facts(move="236LP", gauge="glow", amount=50)),
        ),
        Facts(
            first_start_after_hitstop_frames=1,
            last_start_after_hitstop_frames=3,
            first_press_from_contact_frames=-4,
            last_press_from_contact_frames=10 + 1 + 2,
        ),
    )
    facts = Facts(**PAIR, **numbers, start_frame=1, contact="hit", spare_frames=5)
    starts = Facts(
        **numbers, last_combo_start_after_hitstop_frames=3, last_combo_press_from_contact_frames=13
    )
    assert answer.combos == Verdict(Answer.YES, (Reason(Code.STUN_LASTS, facts),), starts)


def test_a_cancel_that_comes_too_late_tells_all_its_numbers() -> None:
    numbers: dict[str, Any] = {"stun_frames": 13, "startup_frames": 14}
    facts = Facts(**PAIR, **numbers, start_frame=1, contact="block", short_frames=1)
    combos = ask("5MP", "236LP", BLOCK).combos
    assert combos == Verdict(Answer.NO, (Reason(Code.STUN_ENDS, facts),), Facts(**numbers))


def test_a_move_that_starts_on_the_last_frame_of_stun_combos() -> None:
    just = ask("5LP", "236LP").combos  # 14 frames of stun, startup 14
    assert (just.answer, just.reasons[0].facts["spare_frames"]) == (Answer.YES, 0)
    assert just.evidence["last_combo_start_after_hitstop_frames"] == 1


def test_of_several_hits_one_that_combos_is_spoken_of_before_one_that_does_not() -> None:
    both: dict[str, Any] = {"cancellable_hits": "1; 2", **TAG}
    special = row("236LP", 14, 3, 20, "+1", "-6", kind="special")
    for hitstun, combos in (("20; ?", Answer.YES), ("?; ?", Answer.UNKNOWN), ("9; ?", Answer.NO)):
        # the last hit's stun is -10 + 2 + 18 = 10, and startup 14
        first = row("5HP", 9, "2(6)3", 18, "-10", "-4", hitstun=hitstun, **both)
        answer = ask("5HP", "236LP", game=game_of(first, special, cancel=[SPECIAL]))
        assert (answer.legal.answer, answer.combos.answer) == (Answer.YES, combos)
        assert answer.legal.evidence["from_hit"] == (2 if combos is Answer.NO else 1)
    lasts = row("5HP", 9, "2(6)3", 18, "+2", "-4", hitstun="20; ?", **both)
    assert ask("5HP", "236LP", game=game_of(lasts, special, cancel=[SPECIAL])).legal.evidence["from_hit"] == 2


def test_where_no_hit_allows_it_the_last_one_s_reason_is_given() -> None:
    never = row("5HP", 9, "2(6)3", 18, "+2", "-4", cancellable_hits="none", **TAG)
    game = game_of(never, row("236LP", 14, 3, 20, "+1", "-6", kind="special"), cancel=[SPECIAL])
    assert ask("5HP", "236LP", game=game).legal.reasons[0].facts["hit"] == 2


def test_of_several_rules_one_that_combos_is_spoken_of() -> None:
    late = SPECIAL | {"name": "late", "first_frame": 10, "last_frame": 12}
    over = SPECIAL | {"name": "over", "first_frame": 20, "last_frame": 22}
    game = game_of(*MOVES, cancel=[over, late, SPECIAL], gauge=GAUGE)
    # 19 frames of stun against 14 + 9; of 20 frames, 14 are left at contact
    assert ask("5MP", "236LP", game=game).legal.reasons[0].facts["rule"] == "special cancel"
    without = ask("5MP", "236LP", game=game_of(*MOVES, cancel=[over, late], gauge=GAUGE))
    assert (without.legal.answer, without.combos.answer) == (Answer.YES, Answer.NO)
    assert without.combos.reasons[0].facts["short_frames"] == 14 + 9 - 19
    refused = ask("5MP", "236LP", game=game_of(*MOVES, cancel=[over], gauge=GAUGE))
    facts = Facts(rule="over", means="cancel", **PAIR)
    assert refused.legal == refused.combos == Verdict(Answer.NO, (Reason(Code.MOVE_OVER, facts),))
    pair = (move(game, "5MP"), move(game, "236LP"), Contact())
    assert [window.rule.name for window in windows(game, solo(game), *pair)] == ["late", "special cancel"]


def test_a_rule_s_own_first_frame_shifts_the_game_s_window() -> None:
    game = game_of(*MOVES, cancel=[SPECIAL | {"first_frame": 3}], gauge=GAUGE)
    legal = ask("5MP", "236LP", game=game).legal
    assert legal.evidence["first_start_after_hitstop_frames"] == 3
    assert legal.evidence["last_start_after_hitstop_frames"] == 3 + 2
    combos = ask("5MP", "236LP", game=game).combos.reasons[0].facts
    assert (combos["start_frame"], combos["spare_frames"]) == (3, 19 - 14 - 2)


def test_a_window_of_one_frame_is_one_and_a_move_that_is_over_has_none() -> None:
    special = row("236LP", 13, 3, 20, "+1", "-6", kind="special")
    one = game_of(row("5LP", 4, 1, 1, "+4", "+1", **TAG), special, cancel=[SPECIAL])
    assert ask("5LP", "236LP", game=one).legal.evidence["last_start_after_hitstop_frames"] == 1
    for buffers in ({}, {"cancel_window_frames": 2}):
        over = game_of(row("5LP", 4, 1, 0, "+4", "+1", **TAG), special, cancel=[SPECIAL], buffers=buffers)
        assert ask("5LP", "236LP", game=over).legal.reasons[0].code is Code.MOVE_OVER


def test_the_press_waits_for_the_attacker_s_own_hitstop() -> None:
    first = row("5LP", 4, 3, 8, "+4", "+1", hitstop="5/12", **TAG)
    special = row("236LP", 13, 3, 20, "+1", "-6", kind="special")
    game = game_of(first, special, cancel=[SPECIAL])
    assert ask("5LP", "236LP", game=game).legal.evidence["last_press_from_contact_frames"] == 5 + 1 + 2


def test_without_a_cancel_buffer_no_press_is_told_and_without_hitstop_only_the_first_one() -> None:
    game = game_of(*MOVES, cancel=[SPECIAL], gauge=GAUGE, buffers={"cancel_window_frames": 2})
    assert set(ask("5MP", "236LP", game=game).legal.evidence) == {
        "first_start_after_hitstop_frames",
        "last_start_after_hitstop_frames",
    }
    (rule,) = game.rules
    pair = (move(game, "5MP"), move(game, "236LP"), Contact())
    assert windows(game, solo(game), *pair) == (CancelWindow(rule, 1, 0, 2, None, 13),)
    free = game_of(*MOVES, cancel=[SPECIAL], gauge=GAUGE, hitstop={})
    (window,) = windows(free, solo(free), move(free, "5MP"), move(free, "236LP"), Contact())
    assert window == CancelWindow(rule, 1, 0, 2, -4, None)
    assert press_clock(move(free, "5MP"), Contact(), window) is None


def test_a_hit_s_window_ends_where_the_next_one_comes_whether_hitstop_is_known_or_not() -> None:
    for more in ({}, {"hitstop": {}}):
        game = game_of(*MOVES, cancel=[SPECIAL | {"last_frame": 30}], gauge=GAUGE, **more)
        two_hits = replace(move(game, "5HK"), hits=tuple(_open(hit) for hit in move(game, "5HK").hits))
        found = windows(game, solo(game), two_hits, move(game, "236LP"), Contact())
        assert [window.last_delay_frames for window in found] == [7, 19]


def _open(hit: Hit) -> Hit:
    return replace(hit, cancellable=True)


def test_on_whiff_the_window_counts_from_the_first_active_frame_through_all_hits() -> None:
    rule = SPECIAL | {"contact": ["whiff"], "first_frame": 1, "last_frame": 40}
    game = game_of(*MOVES, cancel=[rule], gauge=GAUGE)
    legal = ask("5HK", "236LP", WHIFF, game).legal
    # 38 frames in all, the first active one is 10: 28 are left
    assert legal.evidence["last_start_after_hitstop_frames"] == 28
    assert legal.evidence["last_press_from_contact_frames"] == 28
    assert legal.evidence["from_hit"] == 1
    late = replace(WHIFF, first_hit=2, active_frame=2, distance=3.0)
    assert ask("5HK", "236LP", late, game).legal == legal


def test_a_projectile_holds_the_defender_while_its_owner_goes_on() -> None:
    ball = row("236LP", 14, 1, 30, "+1", "-6", kind="special", projectile="0.5", hitstop="0/10")
    game = game_of(ball, HIT_SLOW, row("236MP", 32, 3, 22, 2, -5, kind="special"), cancel=[AFTER_BALL])
    # 10 frames of hitstop that are the defender's alone, and 1 + 30 - 10 of stun
    held, gone = ask("236LP", "236HP", game=game).combos, ask("236LP", "236MP", game=game).combos
    assert (held.answer, held.evidence["stun_frames"]) == (Answer.YES, 10 + 21)
    assert (gone.answer, gone.evidence["stun_frames"]) == (Answer.NO, 31)


@pytest.mark.parametrize(
    ("hitstop", "from_first", "from_second"),
    # stuns of 25 and 1 + 30 less the difference. The second hit comes the defender's hitstop and 5 frames
    # after the first: 15 + 10 + 11 = 36, and 21 from itself; or 15 + 10 + 19 less 4, and 10 + 19 less 4.
    [("0/10", 36, 21), ("4/10", 40, 25)],
)
def test_a_projectile_s_later_hit_goes_on_holding(hitstop: str, from_first: int, from_second: int) -> None:
    game = game_of(TWICE | {"hitstop": hitstop, "hitstun": "25; ?"}, HIT_SLOW, cancel=[AFTER_BALL])
    ball, second = move(game, "236LP"), move(game, "236HP")
    first_only = replace(ball, hits=(ball.hits[0], replace(ball.hits[1], cancellable=False)))
    both_land = cancel(game, solo(game), first_only, second, Contact()).combos
    assert both_land.evidence["stun_frames"] == from_first
    alone = cancel(game, solo(game), ball, second, Contact(first_hit=2)).combos
    assert alone.evidence["stun_frames"] == from_second


def test_each_number_a_cancel_lacks_is_named() -> None:
    game = game_of(
        TWICE, HIT_SLOW, row("5LP", 4, 3, 8, 4, 1, **TAG), cancel=[AFTER_BALL, SPECIAL], hitstop={}
    )
    ball, jab, second = move(game, "236LP"), move(game, "5LP"), move(game, "236HP")

    def combos(first: Move, into: Move = second, contact: Contact | None = None) -> Verdict:
        return cancel(game, solo(game), first, into, contact or Contact()).combos

    one_hit = replace(ball, hits=ball.hits[:1])
    assert combos(ball) == combos(one_hit) == Missing("236LP", ("hitstop",)).verdict
    stunning = replace(one_hit, hits=(replace(ball.hits[0], blockstun_frames=20),))
    assert combos(stunning, contact=BLOCK) == Missing("236LP", ("hitstop",)).verdict
    assert combos(one_hit, contact=BLOCK) == Missing("236LP", ("blockstun of hit 1",)).verdict
    assert combos(jab, replace(second, startup_frames=None)) == Missing("236HP", ("startup",)).verdict
    for changed, field in (
        (replace(jab, recovery_frames=None), "recovery"),
        (replace(jab, startup_frames=None), "startup"),
        (replace(jab, hits=()), "active"),
    ):
        unknown = Missing("5LP", (field,)).verdict
        assert cancel(game, solo(game), changed, second, Contact()) == CancelAnswer(unknown, unknown)
        assert windows(game, solo(game), changed, second, Contact()) == ()


def test_how_far_a_cancel_still_reaches_is_said() -> None:
    game = game_of(
        row("5LP", 4, 3, 8, 4, 1, reach=1.0, pushback_on_hit=0.25, **TAG),
        row("236LP", 13, 3, 20, 1, -6, kind="special", reach=1.5),
        cancel=[SPECIAL],
    )
    reaches = Reason(Code.IN_REACH_UP_TO, Facts(move="236LP", distance=1.25, unit="units"))
    assert ask("5LP", "236LP", game=game).combos.reasons[1] == reaches


def test_a_hit_that_is_known_to_be_cancellable_is_spoken_of_before_one_that_is_not_known() -> None:
    first = row("5HP", 9, "2(6)3", 18, "-10", "-4", **TAG)  # the last hit's stun is 10, and startup 14
    game = game_of(first, row("236LP", 14, 3, 20, "+1", "-6", kind="special"), cancel=[SPECIAL])
    unsure = replace(move(game, "5HP"), hits=tuple(_open(hit) for hit in move(game, "5HP").hits))
    unsure = replace(unsure, hits=(replace(unsure.hits[0], cancellable=None), unsure.hits[1]))
    answer = cancel(game, solo(game), unsure, move(game, "236LP"), Contact())
    assert (answer.legal.answer, answer.combos.answer) == (Answer.YES, Answer.NO)


def test_a_rule_without_a_last_frame_has_the_game_s_window() -> None:
    rule = replace(GAME.rules[0], first_frame=3, last_frame=None)
    (window,) = windows(
        replace(GAME, rules=(rule,)), solo(GAME), move(GAME, "5MP"), move(GAME, "236LP"), Contact()
    )
    assert (window.first_delay_frames, window.last_delay_frames) == (2, 2 + 2)


def test_each_hit_has_its_own_hitstop_and_its_own_end() -> None:
    # spans on 10, 13 and 18; hitstops of 4, 6 and 8
    three = row("5HK", 10, "1(2)2(3)3", 18, 2, -4, hitstop="4; 6; 8", cancellable_hits="1; 2; 3", **TAG)
    special = row("236LP", 14, 3, 20, "+1", "-6", kind="special")
    game = game_of(three, special, cancel=[SPECIAL | {"last_frame": 30}])
    found = windows(game, solo(game), move(game, "5HK"), move(game, "236LP"), Contact())
    assert [window.last_delay_frames for window in found] == [3 - 1, 5 - 1, 20 - 1]
    assert [window.last_press_frames for window in found] == [4 + 1 + 2, 6 + 1 + 4, 8 + 1 + 19]


def test_a_move_that_knocks_down_may_be_cancelled_and_does_not_combo() -> None:
    game = game_of(
        row("2HK", 9, 3, 24, "KD 30", -12, **TAG),
        row("236LP", 14, 3, 20, "+1", "-6", kind="special"),
        cancel=[SPECIAL],
    )
    answer = ask("2HK", "236LP", game=game)
    down = Reason(Code.KNOCKED_DOWN, Facts(move="2HK", second="236LP"))
    assert (answer.legal.answer, answer.combos) == (Answer.YES, Verdict(Answer.NO, (down,)))


def test_a_projectile_s_hits_may_freeze_for_different_times() -> None:
    # hits on 14 and 19; blockstun of the last 20. From the first: 5 + 6 of the first hit's freeze, 9 and 20,
    # less the 2 for which the owner is frozen too. From the second: 9 and 20, less 3.
    ball = row("236LP", 14, "1(4)1", 30, "", "", kind="special", projectile="0.5", blockstun="?; 20")
    game = game_of(ball | {"hitstop": "2/6; 3/9", "cancellable_hits": "1; 2"}, HIT_SLOW, cancel=[AFTER_BALL])
    first, second = move(game, "236LP"), move(game, "236HP")
    first_only = replace(first, hits=(first.hits[0], replace(first.hits[1], cancellable=False)))
    both = cancel(game, solo(game), first_only, second, BLOCK).combos
    assert both.evidence["stun_frames"] == 5 + 6 + 9 + 20 - 2
    alone = cancel(game, solo(game), first, second, replace(BLOCK, first_hit=2)).combos
    assert alone.evidence["stun_frames"] == 9 + 20 - 3


@pytest.mark.parametrize("hitstop", ["2/6; ?; 3/9", "2/6; 3/9; ?", "?; ?; 3/9"])
def test_a_hitstop_that_is_missing_of_any_hit_of_a_projectile_is_named(hitstop: str) -> None:
    ball = row("236LP", 14, "1(4)1(4)1", 30, "", "", kind="special", projectile="0.5", blockstun="?; ?; 20")
    game = game_of(ball | {"hitstop": hitstop, "cancellable_hits": "1"}, HIT_SLOW, cancel=[AFTER_BALL])
    answer = cancel(game, solo(game), move(game, "236LP"), move(game, "236HP"), BLOCK)
    assert answer.combos == Missing("236LP", ("hitstop",)).verdict
