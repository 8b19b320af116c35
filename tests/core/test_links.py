"""Links: the window, the accepted presses, and why one comes too late. Numbers worked by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from builders import RULES, game_of, move, row, solo

from core.links import link
from core.model import Contact, ContactKind, Game, HitState, Jump
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict

STATES = [{"name": "counter hit", "bonus_frames": 2}]
JUMP = {"jump": {"before_frames": 4, "air_frames": 38, "landing_frames": 3}}
GAME = game_of(
    row("5LP", 4, 3, 8, "+4", "+1"),
    row("5MP", 6, 3, 12, "+5", "-1"),
    row("2MP", 5, 4, 13, "+5", "+2"),
    row("5HP", 9, 4, 18, "+2", "-3"),
    row("j.HP", 7, 5, 6, "2..9", "0..6", hitstun="20"),
    row("2HK", 9, 3, 24, "KD 30", "-12"),
    row("2HP", 8, 4, 20, "launch 40", "-10", juggle_start=1),
    row("5HK", 7, 3, 20, "+1", "-3", juggle_limit=0),
    row("2LK", 5, 3, 9, "+1", "0", tags="hits-downed"),
    {"input": "LP+LK", "name": "Grab", "kind": "throw", "startup": 5, "active": 2, "recovery": 20},
    {"input": "66", "name": "Dash", "kind": "movement", "total": 18},
    character=JUMP,
    hit_state=STATES,
    juggle={"limit": 2, "downed_hits": 1},
    motion=RULES["motion"] + [{"name": "dash", "forms": ["66"]}],
)


def ask(first: str, second: str, contact: Contact | None = None, game: Game = GAME) -> Verdict:
    return link(game, solo(game), move(game, first), move(game, second), contact or Contact())


@pytest.mark.parametrize(
    ("first", "second", "window"),
    [("5MP", "5LP", 2), ("5MP", "2MP", 1), ("5MP", "5MP", 0), ("5HP", "5LP", -1)],
)
def test_the_window_is_advantage_less_startup_and_one(first: str, second: str, window: int) -> None:
    verdict = ask(first, second)
    assert verdict.evidence["window_frames"] == window
    assert verdict.answer is (Answer.YES if window > 0 else Answer.NO)


def test_the_buffer_opens_earlier_and_closes_no_later() -> None:
    evidence = ask("5MP", "5LP").evidence
    assert (evidence["first_press_frames"], evidence["last_press_frames"]) == (-3, 1)
    assert evidence["accepted_presses_frames"] == 2 + 3


def test_where_there_is_no_link_no_press_is_accepted_whatever_the_buffer() -> None:
    assert "accepted_presses_frames" not in ask("5MP", "5MP").evidence


def test_a_link_that_comes_too_late_says_by_how_much_and_what_would_make_it() -> None:
    verdict = ask("5MP", "5MP")
    assert verdict.reasons[0].code is Code.LINK_TOO_LATE
    assert verdict.reasons[0].facts["short_frames"] == 1
    state = next(reason for reason in verdict.reasons if reason.code is Code.WOULD_LINK_IN_STATE)
    assert (state.facts["state"], state.facts["window_frames"]) == ("counter hit", 2)
    meaty = next(reason for reason in verdict.reasons if reason.code is Code.WOULD_LINK_MEATY)
    assert meaty.facts["active_frame"] == 2
    assert ask("5MP", "5MP", Contact(active_frame=2)).answer is Answer.YES
    assert ask("5MP", "5MP", Contact(state="counter hit")).answer is Answer.YES


def test_no_promise_is_made_that_would_not_hold() -> None:
    too_far = ask("5HP", "5HP")  # 7 frames short: four active frames and a counter hit do not bridge it
    assert not too_far.has(Code.WOULD_LINK_MEATY)
    assert not too_far.has(Code.WOULD_LINK_IN_STATE)


def test_on_block_a_link_is_a_true_blockstring_or_none() -> None:
    block = Contact(ContactKind.BLOCK)
    assert ask("2MP", "5LP", block).reasons[0].code is Code.LINK_TOO_LATE
    game = game_of(row("2MP", 5, 4, 13, "+5", "+4"), row("5LP", 4, 3, 8, "+4", "+1"))
    assert ask("2MP", "5LP", block, game).reasons[0].code is Code.TRUE_STRING


def test_nothing_links_on_whiff() -> None:
    assert ask("5MP", "5LP", Contact(ContactKind.WHIFF)).reasons[0].code is Code.NOTHING_TOUCHED


def test_a_throw_misses_somebody_in_hitstun_and_a_dash_hits_nobody() -> None:
    assert ask("5MP", "LP+LK").reasons[0].code is Code.THROW_MISSES_STUN
    assert ask("5MP", "66").reasons[0].code is Code.DOES_NOT_HIT
    assert ask("66", "5MP").reasons[0].code is Code.DOES_NOT_HIT


def test_a_jump_attack_after_a_ground_move_needs_the_jump_first() -> None:
    verdict = ask("2HP", "j.HP")  # 17 frames in the air are left; 4 to jump and 7 to hit
    assert verdict.evidence["startup_frames"] == 11
    assert verdict.has(Code.JUMP_FIRST)
    unknown = ask("2HP", "j.HP", game=replace(GAME, characters=(replace(solo(GAME), jump=None),)))
    assert unknown.answer is Answer.UNKNOWN
    assert unknown.reasons[0].code is Code.NUMBER_MISSING


def test_after_an_air_attack_the_answer_depends_on_height() -> None:
    always = ask("j.HP", "5LP", Contact(kind=ContactKind.HIT))
    assert always.answer is Answer.UNKNOWN
    assert (always.evidence["window_low_frames"], always.evidence["window_high_frames"]) == (-1, 6)
    assert ask("j.HP", "5HP", Contact(ContactKind.BLOCK)).answer is Answer.NO


def test_one_air_attack_is_not_linked_after_another() -> None:
    assert ask("j.HP", "j.HP").reasons[0].code is Code.AIR_TO_AIR_LINK


def test_only_a_move_that_hits_downed_opponents_touches_one_and_only_while_down() -> None:
    assert ask("2HK", "5LP").reasons[0].code is Code.KNOCKED_DOWN
    verdict = ask("2HK", "2LK")
    assert (verdict.answer, verdict.evidence["window_frames"]) == (Answer.YES, 30 - 5 + 1)
    assert verdict.has(Code.HITS_DOWNED)
    no_more = replace(GAME, juggle=replace(GAME.juggle, downed_hits=0)) if GAME.juggle else GAME
    assert ask("2HK", "2LK", game=no_more).reasons[0].code is Code.DOWNED_LIMIT


def test_a_launched_opponent_is_hit_up_to_the_juggle_limit() -> None:
    verdict = ask("2HP", "5LP")  # launched with count 1, limit 2; 17 frames left in the air
    assert (verdict.answer, verdict.evidence["window_frames"]) == (Answer.YES, 17 - 4 + 1)
    assert verdict.has(Code.JUGGLES)
    over = ask("2HP", "5HK")
    assert (over.answer, over.reasons[0].code) == (Answer.NO, Code.JUGGLE_LIMIT)
    without_rules = ask("2HP", "5LP", game=replace(GAME, juggle=None))
    assert (without_rules.answer, without_rules.reasons[0].code) == (Answer.UNKNOWN, Code.NUMBER_MISSING)


def test_the_count_goes_on_for_somebody_already_in_the_air() -> None:
    game = game_of(
        row("5MP", 6, 3, 12, "+5", "-1", on_air_hit="launch 30", juggle_add=2),
        row("5LP", 4, 3, 8, "+4", "+1"),
        juggle={"limit": 3},
    )
    assert ask("5MP", "5LP", Contact(juggle_count=1), game).answer is Answer.YES
    assert ask("5MP", "5LP", Contact(juggle_count=2), game).reasons[0].code is Code.JUGGLE_LIMIT
    assert ask("5LP", "5MP", Contact(juggle_count=1), game).answer is Answer.UNKNOWN


def test_the_second_move_must_still_reach_after_the_pushback() -> None:
    game = game_of(
        row("5MP", 6, 3, 12, "+5", "-1", reach=1.5, pushback_on_hit=0.6),
        row("5LP", 4, 3, 8, "+4", "+1", reach=1.4, pushback_on_hit=0.4),
    )
    near = ask("5MP", "5LP", Contact(distance=0.8), game)
    assert near.answer is Answer.YES
    assert next(r for r in near.reasons if r.code is Code.IN_REACH_UP_TO).facts["distance"] == pytest.approx(
        0.8
    )
    assert ask("5MP", "5LP", Contact(distance=0.9), game).reasons[0].code is Code.OUT_OF_REACH
    assert ask("5MP", "5LP", Contact(distance=1.6), game).reasons[0].code is Code.FIRST_OUT_OF_REACH
    unknown = ask("5MP", "5LP", Contact(distance=0.9))
    assert (unknown.answer, unknown.reasons[0].facts["field"]) == (Answer.UNKNOWN, "reach")


def test_a_press_that_would_chain_is_no_press_of_the_link() -> None:
    chain = {
        "name": "light chain",
        "from": {"strengths": ["light"]},
        "into": {"strengths": ["light"]},
        "contact": ["hit"],
        "first_frame": 2,
        "last_frame": 9,
    }
    game = game_of(row("5LP", 4, 3, 8, "+5", "+1"), chain=[chain])
    verdict = ask("5LP", "5LP", game=game)
    # contact on 4; 10 frames left; the chain is pressed until 4 + 8 + 9 = 21; free on 14 + 8 + 1 = 23
    assert verdict.evidence["first_press_frames"] == -1
    assert verdict.evidence["accepted_presses_frames"] == 3
    assert verdict.has(Code.EARLY_PRESS_CANCELS)


def test_an_unknown_buffer_leaves_the_link_answered_and_the_presses_open() -> None:
    game = game_of(row("5MP", 6, 3, 12, "+5", "-1"), row("5LP", 4, 3, 8, "+4", "+1"), buffers={})
    verdict = ask("5MP", "5LP", game=game)
    assert (verdict.answer, verdict.evidence["window_frames"]) == (Answer.YES, 2)
    assert verdict.reasons[-1].facts["field"] == "link_frames of [buffers]"
    assert "first_press_frames" not in verdict.evidence


def test_hitstun_decay_makes_a_link_tighter_later_in_the_route() -> None:
    game = game_of(
        row("5MP", 6, 3, 12, "+5", "-1"), row("5LP", 4, 3, 8, "+4", "+1"), hitstun_decay_frames=[0, 0, 2]
    )
    assert ask("5MP", "5LP", Contact(hits_before=1), game).evidence["window_frames"] == 2
    assert ask("5MP", "5LP", Contact(hits_before=2), game).answer is Answer.NO


def test_a_number_that_is_missing_is_named() -> None:
    game = game_of(
        {"input": "5LP", "name": "Jab", "active": 2, "recovery": 8, "on_hit": 3}, row("5MP", 6, 3, 12, "", 0)
    )
    assert ask("5LP", "5LP", game=game).reasons[0].facts["field"] == "startup"
    assert ask("5MP", "5LP", game=game).reasons[0].facts["field"] == "on_hit"


STRONG = (HitState("counter hit", bonus_frames=9),)
LINKED: dict[str, Any] = {"first": "5MP", "contact": "hit", "advantage_frames": 5}
CHAIN: dict[str, Any] = {
    "name": "chain",
    "from": {"moves": ["5LP"]},
    "into": {"moves": ["2LP"]},
    "contact": ["hit"],
    "first_frame": 1,
    "last_frame": 9,
}
LIGHTS = [row("5LP", 4, 3, 8, "+6", "+1"), row("2LP", 5, 2, 5, "+5", "+1")]


def test_a_link_tells_all_its_numbers() -> None:
    facts = Facts(**LINKED, second="5LP", startup_frames=4, window_frames=2)
    evidence = Facts(advantage_frames=5, startup_frames=4, window_frames=2)
    presses = Facts(first_press_frames=-3, last_press_frames=1, accepted_presses_frames=5)
    assert ask("5MP", "5LP") == Verdict(
        Answer.YES, (Reason(Code.LINK_IN_TIME, facts),), evidence.plus(**presses)
    )
    unknown = Reason(Code.NUMBER_MISSING, Facts(move="", field="link_frames of [buffers]"))
    no_buffer = ask("5MP", "5LP", game=replace(GAME, link_buffer_frames=None))
    assert no_buffer == Verdict(Answer.YES, (Reason(Code.LINK_IN_TIME, facts), unknown), evidence)


def test_a_link_that_comes_too_late_tells_all_its_numbers() -> None:
    pair = Facts(first="5MP", second="5HK")
    late = Facts(**LINKED, second="5HK", startup_frames=7, window_frames=-1, short_frames=2)
    assert ask("5MP", "5HK") == Verdict(
        Answer.NO,
        (
            Reason(Code.LINK_TOO_LATE, late),
            Reason(Code.WOULD_LINK_IN_STATE, pair.plus(state="counter hit", window_frames=1)),
            Reason(Code.WOULD_LINK_MEATY, pair.plus(active_frame=3, active_frames=3)),
        ),
        Facts(advantage_frames=5, startup_frames=7, window_frames=-1),
    )


def test_the_meaty_frame_that_would_link_is_counted_over_all_hits() -> None:
    game = game_of(row("5HP", 9, "2(6)3", 18, "+2", "-4"), row("5LP", 4, 3, 8, "+4", "+1"))
    # two frames short, and the last three active frames are the ninth to eleventh
    meaty = ask("5HP", "5LP", game=game).reasons[-1]
    assert meaty == Reason(
        Code.WOULD_LINK_MEATY, Facts(first="5HP", second="5LP", active_frame=11, active_frames=11)
    )
    assert ask("5HP", "5LP", Contact(first_hit=2, active_frame=3), game).answer is Answer.YES


@pytest.mark.parametrize(
    ("first", "second", "contact"),
    [
        ("5MP", "2HP", Contact()),  # three short, and the last of three active frames adds two
        ("5MP", "2HP", Contact(active_frame=2)),
        ("5LP", "5LP", Contact(ContactKind.BLOCK)),  # three short
        ("5MP", "5LP", Contact(ContactKind.BLOCK)),
        ("j.MP", "5LP", Contact()),
        ("236LP", "5LP", Contact()),
        ("LP+MP", "5LP", Contact()),
    ],
)
def test_nothing_is_promised_that_the_contact_or_the_move_cannot_do(
    first: str, second: str, contact: Contact
) -> None:
    game = game_of(
        row("5LP", 4, 3, 8, "+4", "+1"),
        row("5MP", 6, 3, 12, "+5", "+2"),
        row("2HP", 8, 4, 20, "launch 40", "-10"),
        row("j.MP", 7, 5, 6, "+3", "0", hitstun="15"),
        row("236LP", 14, 4, 30, "+3", "-6", kind="special", projectile="0.5", hitstop="0/10"),
        {"input": "LP+MP", "name": "Press", "startup": 6, "on_hit": 2},
        hit_state=[{"name": "counter hit", "bonus_frames": 0}],
    )
    assert [reason.code for reason in ask(first, second, contact, game).reasons] == [Code.LINK_TOO_LATE]


def test_a_blocked_or_meaty_contact_is_not_told_of_a_hit_state_that_would_link() -> None:
    for contact in (Contact(ContactKind.BLOCK), Contact(active_frame=2)):
        verdict = ask("5MP", "2HP", contact, replace(GAME, hit_states=STRONG))
        assert [reason.code for reason in verdict.reasons] == [Code.LINK_TOO_LATE]


def test_a_link_after_an_air_attack_tells_its_numbers_at_both_heights() -> None:
    pair: dict[str, Any] = {"first": "j.HP", "second": "5LP", "contact": "hit", "startup_frames": 4}
    low = {"advantage_frames": 2, "window_frames": -1}
    high = {"advantage_high_frames": 9, "window_high_frames": 6}
    assert ask("j.HP", "5LP") == Verdict(
        Answer.UNKNOWN,
        (Reason(Code.DEPENDS_ON_HEIGHT, Facts(**pair, **low, **high)),),
        Facts(advantage_low_frames=2, startup_frames=4, window_low_frames=-1, **high),
    )
    # at best 6, and startup 9; at worst 0
    late = ask("j.HP", "5HP", Contact(ContactKind.BLOCK))
    facts = Facts(first="j.HP", second="5HP", contact="block", startup_frames=9)
    assert late.reasons == (
        Reason(Code.LINK_TOO_LATE, facts.plus(advantage_frames=6, window_frames=-8, short_frames=3)),
    )


def test_an_air_attack_links_for_sure_when_it_does_at_the_lowest_advantage() -> None:
    game = game_of(row("j.HP", 7, 5, 6, "4..9", "0..6"), row("5LP", 4, 3, 8, "+4", "+1"))
    verdict = ask("j.HP", "5LP", game=game)
    assert verdict.answer is Answer.YES
    assert (verdict.evidence["window_low_frames"], verdict.evidence["window_high_frames"]) == (1, 6)
    assert (verdict.evidence["last_press_frames"], verdict.evidence["accepted_presses_frames"]) == (0, 4)
    lower = game_of(row("j.HP", 7, 5, 6, "3..9", "0..6"), row("5LP", 4, 3, 8, "+4", "+1"))
    assert ask("j.HP", "5LP", game=lower).answer is Answer.UNKNOWN


def test_a_jump_first_is_said_with_the_startup_it_makes_whatever_the_answer() -> None:
    jump = Reason(Code.JUMP_FIRST, Facts(move="j.HP", startup_frames=4 + 7))
    assert [reason.code for reason in ask("2HP", "j.HP").reasons] == [
        Code.LINK_IN_TIME,
        Code.JUMP_FIRST,
        Code.JUGGLES,
    ]
    assert ask("2HP", "j.HP").reasons[1] == jump
    late = ask("5MP", "j.HP")
    assert (late.reasons[0].facts["short_frames"], late.reasons[1]) == (11 - 5, jump)
    by_height = replace(move(GAME, "5MP"), on_hit=move(GAME, "j.HP").on_hit)  # 2..9, and 7 + 1 to jump
    quick_jump = replace(solo(GAME), jump=Jump(1, 38, 3))
    unsure = link(GAME, quick_jump, by_height, move(GAME, "j.HP"), Contact())
    assert [reason.code for reason in unsure.reasons] == [Code.DEPENDS_ON_HEIGHT, Code.JUMP_FIRST]


def test_what_a_link_costs_is_said() -> None:
    costly = row("236LP", 4, 3, 20, 1, -6, kind="special", cost="glow 50")
    game = game_of(row("5MP", 6, 3, 12, 5, -1), costly, gauge=[{"name": "glow", "maximum": 100}])
    costs = Reason(Code.COSTS_GAUGE, Facts(move="236LP", gauge="glow", amount=50))
    assert ask("5MP", "236LP", game=game).reasons[1:] == (costs,)


def test_whether_two_air_attacks_link_is_not_known() -> None:
    reason = Reason(Code.AIR_TO_AIR_LINK, Facts(first="j.HP", second="j.LP"))
    game = game_of(row("j.HP", 7, 5, 6, 9, 6), row("j.LP", 5, 5, 6, 9, 6), character=JUMP)
    assert ask("j.HP", "j.LP", game=game) == Verdict(Answer.UNKNOWN, (reason,))


# 5LP touches on 4, freezes both for 8, and its player is free on 14 + 8 + 1 = 23
@pytest.mark.parametrize(
    ("last_frames", "opens"),
    [((7,), None), ((8,), -3 + 1), ((9,), -1), ((30,), 0), ((9, 2), -1), ((2, 9), -1)],
)
def test_a_press_that_would_chain_opens_the_link_later(
    last_frames: tuple[int, ...], opens: int | None
) -> None:
    chains = [CHAIN | {"name": f"to {last}", "last_frame": last} for last in last_frames]
    verdict = ask("5LP", "2LP", game=game_of(*LIGHTS, chain=chains))
    link_facts = Facts(first="5LP", second="2LP", contact="hit", startup_frames=5, advantage_frames=6)
    facts = link_facts.plus(window_frames=2)
    early = () if opens is None else (Reason(Code.EARLY_PRESS_CANCELS, facts.plus(first_press_frames=opens)),)
    assert verdict.reasons == (Reason(Code.LINK_IN_TIME, facts), *early)
    first = -3 if opens is None else opens
    assert verdict.evidence["first_press_frames"] == first
    assert verdict.evidence["accepted_presses_frames"] == 1 - first + 1


def test_a_cancel_without_a_known_end_does_not_hide_a_chain_s() -> None:
    cancel = {part: CHAIN[part] for part in ("name", "from", "into", "contact")}
    game = game_of(*LIGHTS, cancel=[cancel], chain=[CHAIN | {"name": "light"}], buffers={"link_frames": 3})
    assert ask("5LP", "2LP", game=game).evidence["first_press_frames"] == -1
    alone = game_of(*LIGHTS, cancel=[cancel], buffers={"link_frames": 3})
    assert ask("5LP", "2LP", game=alone).evidence["first_press_frames"] == -3


def test_without_hitstop_a_link_is_answered_all_the_same() -> None:
    game = game_of(*LIGHTS, chain=[CHAIN], hitstop={})
    assert ask("5LP", "2LP", game=game).answer is Answer.YES
    part = row("5LP", 4, "1(2)1", 8, "+5", "+1", hitstop="8; ?", cancellable_hits="1; 2")
    assert ask("5LP", "2LP", game=game_of(part, LIGHTS[1], chain=[CHAIN])).answer is Answer.YES


def test_each_number_a_link_lacks_is_named() -> None:
    block = Contact(ContactKind.BLOCK)
    game = game_of(
        row("5MP", 6, 3, 12, "+5", ""),
        {"input": "j.HP", "name": "Fall", "active": 2, "recovery": 8, "on_hit": 3},
        row("2MP", 6, 3, 12, "launch 40", "0"),
        character=JUMP,
        juggle={"limit": 3},
    )
    assert ask("5MP", "5MP", block, game) == Missing("5MP", ("on_block",)).verdict
    assert ask("2MP", "j.HP", game=game) == Missing("j.HP", ("startup",)).verdict
    no_jump = replace(GAME, characters=(replace(solo(GAME), jump=None),))
    assert ask("2HP", "j.HP", game=no_jump) == Missing("", ("jump of Solo",)).verdict
