"""Cancels and chains: what the rules allow, when it may be pressed, and whether it combos."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from builders import game_of, move, row, solo

from core.cancels import CancelAnswer, cancel, press_clock, windows
from core.model import Contact, ContactKind, Game, Means
from core.verdict import Answer, Code

SPECIAL: dict[str, Any] = {
    "name": "special cancel",
    "from": {"kinds": ["normal"], "tags": ["special-cancellable"]},
    "into": {"kinds": ["special"]},
    "contact": ["hit", "block"],
}
CHAIN: dict[str, Any] = {
    "name": "rising chain",
    "from": {"kinds": ["normal"]},
    "into": {"kinds": ["normal"]},
    "contact": ["hit", "block"],
    "order": "rising",
    "first_frame": 3,
    "last_frame": 8,
}
TAG = {"tags": "special-cancellable"}
MOVES = [
    row("5LP", 4, 3, 8, "+4", "+1", **TAG),
    row("5MP", 6, 3, 12, "+5", "-1", **TAG),
    row("5HP", 9, "2(6)3", 18, "+2", "-4", hitstun="20; ?", blockstun="16; ?", cancellable_hits="1", **TAG),
    row("5HK", 10, "2(6)3", 18, "+2", "-4", **TAG),
    row("236LP", 14, 3, 20, "+1", "-6", kind="special", cost="glow 50"),
    row("236HP", 25, 3, 22, "+2", "-5", kind="special"),
    row("236MP", 16, 3, 22, "+2", "-5", kind="special", cancelled_startup=13),
    row("j.HP", 7, 5, 6, "2..9", "0..6", hitstun="20"),
]
GAUGE = [{"name": "glow", "maximum": 100, "bar": 50}]
GAME = game_of(*MOVES, cancel=[SPECIAL], chain=[CHAIN], gauge=GAUGE)
BLOCK, WHIFF = Contact(ContactKind.BLOCK), Contact(ContactKind.WHIFF)


def ask(first: str, second: str, contact: Contact | None = None, game: Game = GAME) -> CancelAnswer:
    return cancel(game, solo(game), move(game, first), move(game, second), contact or Contact())


def test_legal_and_combos_are_two_answers() -> None:
    quick, slow = ask("5MP", "236LP"), ask("5MP", "236HP")
    assert (quick.legal.answer, quick.combos.answer) == (Answer.YES, Answer.YES)
    assert (slow.legal.answer, slow.combos.answer) == (Answer.YES, Answer.NO)
    # 5MP leaves 5 + 2 + 12 = 19 frames of hitstun
    assert quick.combos.reasons[0].facts["spare_frames"] == 19 - 14
    assert slow.combos.reasons[0].facts["short_frames"] == 25 - 19


def test_a_cancel_is_pressed_from_the_buffer_before_contact_through_hitstop_to_the_window_s_end() -> None:
    evidence = ask("5MP", "236LP").legal.evidence
    assert evidence["first_press_from_contact_frames"] == -4
    assert evidence["last_press_from_contact_frames"] == 10 + 1 + 2
    assert evidence["last_start_after_hitstop_frames"] == 3


def test_the_last_press_that_combos_may_be_earlier_than_the_last_that_is_legal() -> None:
    game = game_of(
        row("5LP", 4, 3, 8, "+4", "+1", **TAG),
        row("236LP", 13, 3, 20, "+1", "-6", kind="special"),
        cancel=[SPECIAL],
    )
    answer = ask("5LP", "236LP", game=game)  # 14 frames of hitstun, startup 13: d up to 1 of 2
    assert answer.legal.evidence["last_press_from_contact_frames"] == 8 + 1 + 2
    assert answer.combos.evidence["last_combo_press_from_contact_frames"] == 8 + 1 + 1


def test_the_window_is_cut_where_the_first_move_is_over() -> None:
    game = game_of(
        row("5LP", 4, 1, 2, "+4", "+1", **TAG),
        row("236LP", 13, 3, 20, "+1", "-6", kind="special"),
        cancel=[SPECIAL],
    )
    assert ask("5LP", "236LP", game=game).legal.evidence["last_start_after_hitstop_frames"] == 2
    over = game_of(
        row("5LP", 4, 1, 0, "+4", "+1", **TAG),
        row("236LP", 13, 3, 20, "+1", "-6", kind="special"),
        cancel=[SPECIAL],
    )
    refused = ask("5LP", "236LP", game=over).legal
    assert (refused.answer, refused.reasons[0].code) == (Answer.NO, Code.MOVE_OVER)


def test_a_chain_begins_between_the_frames_the_file_gives() -> None:
    answer = ask("5LP", "5MP")
    assert answer.window is not None
    assert answer.window.rule.means is Means.CHAIN
    assert answer.legal.evidence["first_start_after_hitstop_frames"] == 3
    assert answer.legal.evidence["last_start_after_hitstop_frames"] == 8
    # third frame after hitstop: d = 2; 2 + 6 frames against 14 of hitstun
    assert answer.combos.reasons[0].facts["spare_frames"] == 14 - 6 - 2


@pytest.mark.parametrize(
    ("first", "second", "code"),
    [
        ("5MP", "5LP", Code.ORDER_FORBIDS),
        ("5MP", "5MP", Code.ORDER_FORBIDS),
        ("236LP", "5MP", Code.SOURCE_NOT_IN_RULE),
        ("236LP", "236HP", Code.SOURCE_NOT_IN_RULE),
        ("5MP", "j.HP", Code.NEEDS_AIR),
        ("j.HP", "236LP", Code.NEEDS_GROUND),
    ],
)
def test_a_refusal_names_the_first_rule_that_forbids(first: str, second: str, code: Code) -> None:
    answer = ask(first, second)
    assert (answer.legal.answer, answer.legal.reasons[0].code) == (Answer.NO, code)
    assert answer.window is None


def test_a_refusal_tells_what_the_rule_wants() -> None:
    facts = ask("236LP", "236HP").legal.reasons[0].facts
    assert facts["missed"] == "kinds: normal"
    untagged = replace(move(GAME, "5MP"), tags=frozenset())
    answer = cancel(GAME, solo(GAME), untagged, move(GAME, "236LP"), Contact())
    assert answer.legal.reasons[0].facts["missed"] == "tags: special-cancellable"


def test_where_no_rule_leads_into_a_move_that_is_said() -> None:
    game = game_of(*MOVES, cancel=[SPECIAL], gauge=GAUGE)
    assert ask("5LP", "5MP", game=game).legal.reasons[0].code is Code.NO_RULE_INTO


def test_contact_decides() -> None:
    assert ask("5MP", "236LP", BLOCK).legal.answer is Answer.YES
    refused = ask("5MP", "236LP", WHIFF).legal.reasons[0]
    assert (refused.code, refused.facts["allowed"]) == (Code.CONTACT_NOT_IN_RULE, "hit, block")


def test_a_game_may_allow_a_cancel_on_whiff_and_then_nothing_combos() -> None:
    rule = {**SPECIAL, "contact": ["whiff"], "first_frame": 1, "last_frame": 4}
    game = game_of(
        row("5LP", 4, 3, 8, 4, 1, **TAG), row("236LP", 13, 3, 20, 1, -6, kind="special"), cancel=[rule]
    )
    answer = ask("5LP", "236LP", WHIFF, game)
    assert answer.legal.answer is Answer.YES
    # no hitstop: the frames count from the first active one, 4; the last start is frame 8
    assert answer.legal.evidence["last_press_from_contact_frames"] == 4
    assert answer.combos.reasons[0].code is Code.NOTHING_TOUCHED
    assert ask("5LP", "236LP", game=game).legal.answer is Answer.NO


def test_of_several_hits_each_has_its_own_permission() -> None:
    answer = ask("5HP", "236LP")
    assert answer.legal.evidence["from_hit"] == 1
    assert answer.combos.evidence["stun_frames"] == 20
    only_the_second_lands = ask("5HP", "236LP", Contact(first_hit=2)).legal
    assert only_the_second_lands.reasons[0].code is Code.HIT_NOT_CANCELLABLE


def test_the_last_hit_is_cancelled_unless_the_file_says_otherwise() -> None:
    assert ask("5HK", "236LP").legal.evidence["from_hit"] == 2
    first_unknown = windows(GAME, solo(GAME), move(GAME, "5HK"), move(GAME, "236LP"), Contact())
    assert [window.hit for window in first_unknown] == [2]


def test_a_missing_stun_of_an_earlier_hit_is_unknown_and_named() -> None:
    move_without = row("5HP", 9, "2(6)3", 18, "+2", "-4", cancellable_hits="1", **TAG)
    game = game_of(move_without, row("236LP", 13, 3, 20, 1, -6, kind="special"), cancel=[SPECIAL])
    answer = ask("5HP", "236LP", game=game)
    assert answer.legal.answer is Answer.YES
    assert answer.combos.answer is Answer.UNKNOWN
    assert answer.combos.reasons[0].facts["field"] == "hitstun of hit 1"


def test_a_permission_the_file_leaves_out_is_unknown() -> None:
    two_hits = row("5HP", 9, "2(6)3", 18, "+2", "-4", cancellable_hits="none", **TAG)
    game = game_of(two_hits, row("236LP", 13, 3, 20, 1, -6, kind="special"), cancel=[SPECIAL])
    assert ask("5HP", "236LP", game=game).legal.answer is Answer.NO
    first_only = cancel(
        GAME,
        solo(GAME),
        replace(
            move(GAME, "5HK"),
            hits=(*move(GAME, "5HK").hits[:1], replace(move(GAME, "5HK").hits[1], cancellable=False)),
        ),
        move(GAME, "236LP"),
        Contact(),
    )
    assert first_only.legal.answer is Answer.UNKNOWN
    assert first_only.legal.reasons[0].facts["field"] == "cancellable_hits (hit 1)"


def test_a_cancelled_special_uses_the_startup_it_has_then() -> None:
    assert ask("5LP", "236MP").combos.answer is Answer.YES  # 13 within 14; by itself it takes 16


def test_a_gauge_cost_is_said() -> None:
    reason = ask("5MP", "236LP").legal.reasons[1]
    assert (reason.code, reason.facts["amount"]) == (Code.COSTS_GAUGE, 50)


@pytest.mark.parametrize(
    ("limit", "contact", "code"),
    [
        ({"not_after": ["chain"]}, Contact(came_by=Means.CHAIN), Code.NOT_AFTER),
        ({"per_route": 1}, Contact(rules_used=("special cancel",)), Code.USED_UP),
        ({"contact": ["block"]}, Contact(), Code.CONTACT_NOT_IN_RULE),
    ],
)
def test_a_rule_s_limit_forbids_and_without_it_nothing_does(
    limit: dict[str, Any], contact: Contact, code: Code
) -> None:
    limited = game_of(*MOVES, cancel=[{**SPECIAL, **limit}], gauge=GAUGE)
    assert ask("5MP", "236LP", contact, limited).legal.reasons[0].code is code
    free = game_of(*MOVES, cancel=[SPECIAL], gauge=GAUGE)
    assert ask("5MP", "236LP", contact, free).legal.answer is Answer.YES


def test_a_chain_may_exclude_the_move_itself_or_require_rising_strength() -> None:
    base = {**CHAIN, "order": "not falling"}
    again = game_of(*MOVES, chain=[base], gauge=GAUGE)
    assert ask("5LP", "5LP", game=again).legal.answer is Answer.YES
    assert ask("5MP", "5LP", game=again).legal.reasons[0].code is Code.ORDER_FORBIDS
    never = game_of(*MOVES, chain=[{**base, "same_move": False}], gauge=GAUGE)
    assert ask("5LP", "5LP", game=never).legal.reasons[0].code is Code.SAME_MOVE


def test_on_block_combos_means_a_true_blockstring() -> None:
    true, gap = ask("5MP", "236LP", BLOCK), ask("5MP", "236HP", BLOCK)
    # blockstun -1 + 2 + 12 = 13, one short of startup 14
    assert true.combos.reasons[0].facts["short_frames"] == 1
    assert gap.combos.answer is Answer.NO
    assert ask("5LP", "5MP", BLOCK).combos.answer is Answer.YES  # 11 frames against 6 + 2


def test_a_character_may_have_a_rule_of_its_own() -> None:
    own = {
        "name": "Solo",
        "move": MOVES,
        "cancel": [{**SPECIAL, "name": "own", "from": {"moves": ["236LP"]}}],
    }
    game = game_of(character=own, cancel=[SPECIAL], gauge=GAUGE)
    assert ask("236LP", "236HP", game=game).legal.reasons[0].facts["rule"] == "own"


def test_without_hitstop_the_cancel_is_still_answered() -> None:
    game = game_of(*MOVES, cancel=[SPECIAL], gauge=GAUGE, hitstop={})
    answer = ask("5MP", "236LP", game=game)
    assert (answer.legal.answer, answer.combos.answer) == (Answer.YES, Answer.YES)
    assert "last_press_from_contact_frames" not in answer.legal.evidence


def test_without_a_cancel_window_the_first_start_is_known_and_the_last_is_not() -> None:
    game = game_of(*MOVES, cancel=[SPECIAL], gauge=GAUGE, buffers={"link_frames": 3})
    evidence = ask("5MP", "236LP", game=game).legal.evidence
    assert evidence["first_start_after_hitstop_frames"] == 1
    assert "last_start_after_hitstop_frames" not in evidence


def test_the_first_hit_s_window_ends_where_the_second_hit_comes() -> None:
    wide = {**SPECIAL, "last_frame": 30}
    game = game_of(*MOVES, cancel=[wide], gauge=GAUGE)
    two_hits = replace(
        move(game, "5HK"), hits=tuple(replace(hit, cancellable=True) for hit in move(game, "5HK").hits)
    )
    first, last = windows(game, solo(game), two_hits, move(game, "236LP"), Contact())
    # spans start on 10 and 18: the eighth frame after the first contact is the second hit itself
    assert first.last_delay_frames == 7
    assert last.last_delay_frames == 20 - 1
    assert press_clock(two_hits, Contact(), first) == 10 + 12 + 8


def test_a_first_move_that_does_not_reach_cannot_be_cancelled_on_hit() -> None:
    game = game_of(
        row("5LP", 4, 3, 8, 4, 1, reach=1.0, **TAG),
        row("236LP", 13, 3, 20, 1, -6, kind="special"),
        cancel=[SPECIAL],
    )
    assert ask("5LP", "236LP", Contact(distance=0.9), game).legal.answer is Answer.YES
    far = ask("5LP", "236LP", Contact(distance=1.1), game).legal
    assert (far.answer, far.reasons[0].code) == (Answer.NO, Code.FIRST_OUT_OF_REACH)
