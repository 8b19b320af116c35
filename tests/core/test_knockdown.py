"""Meaty timing after a knockdown, and safe jumps. Numbers worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builders import game_of, move, row, solo

from core.knockdown import knockdown_lead, meaty, safe_jump
from core.model import Character, Contact, Effect, Jump, Move, Outcome, Range
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict

GAME = game_of(
    row("2HK", 9, 3, 24, "KD 10", "-12"),
    row("5HK", 9, 3, 24, "KD 40", "-12"),
    row("5LP", 4, 3, 8, "+4", "+1"),
    row("5HP", 9, "2(6)3", 18, "+2", "-4"),
    row("5MK", 14, 3, 8, "+4", "+1"),
    row("j.HP", 7, 5, 6, "2..9", "0..6"),
    character={"jump": {"before_frames": 4, "air_frames": 38, "landing_frames": 3}},
)


def ask(first: str, second: str, delay: int | None = None) -> Verdict:
    return meaty(GAME, move(GAME, first), move(GAME, second), Contact(), delay)


def test_the_frame_that_touches_is_the_lead_less_delay_and_startup_and_two() -> None:
    # K = 10: 5LP begun 7 frames late is active on its frame 4, on the frame the defender gets up
    assert ask("2HK", "5LP", 7).evidence["active_frame"] == 1
    assert ask("2HK", "5LP", 5).evidence["active_frame"] == 3
    assert ask("2HK", "5LP", 5).answer is Answer.YES


@pytest.mark.parametrize(
    ("delay", "code"), [(8, Code.MEATY_TOO_LATE), (7, Code.MEATY), (5, Code.MEATY), (4, Code.MEATY_OVER)]
)
def test_too_late_gets_up_first_and_too_early_is_over(delay: int, code: Code) -> None:
    assert ask("2HK", "5LP", delay).reasons[0].code is code


def test_without_a_delay_the_delays_that_work_are_given() -> None:
    evidence = ask("2HK", "5LP").evidence
    assert (evidence["first_delay_frames"], evidence["last_delay_frames"]) == (5, 7)


def test_a_move_too_slow_for_the_knockdown_is_never_meaty() -> None:
    assert ask("2HK", "5MK").reasons[0].code is Code.MEATY_TOO_LATE


def test_nothing_touches_in_the_gap_between_two_spans() -> None:
    # spans: active frames 1-2 and 9-11; K = 10, startup 9: k = 3 - d
    assert ask("2HK", "5HP", 0).reasons[0].code is Code.MEATY_OVER
    assert ask("2HK", "5HP", 1).answer is Answer.YES
    evidence = ask("2HK", "5HP").evidence
    assert (evidence["first_delay_frames"], evidence["last_delay_frames"]) == (1, 2)


def test_only_a_knockdown_has_a_meaty() -> None:
    assert ask("5LP", "5LP").reasons[0].code is Code.NO_KNOCKDOWN
    assert ask("j.HP", "5LP").reasons[0].code is Code.NO_KNOCKDOWN


def jump(lead: str, reversal: int) -> Verdict:
    return safe_jump(GAME, solo(GAME), move(GAME, lead), move(GAME, "j.HP"), reversal, Contact())


def test_a_safe_jump_touches_the_defender_getting_up_and_lands_before_the_reversal_touches() -> None:
    # The jump takes 4 + 38 + 3 = 45 frames. Lead 40, reversal 8: it must be over 47 frames after the
    # attacker is free, so d <= 2; in the air on the frame they get up, so 40 - d < 42.
    verdict = jump("5HK", 8)
    assert verdict.answer is Answer.YES
    assert (verdict.evidence["first_delay_frames"], verdict.evidence["last_delay_frames"]) == (0, 2)


def test_a_reversal_faster_than_the_landing_cannot_be_jumped_safely() -> None:
    assert jump("5HK", 6).answer is Answer.YES
    assert jump("5HK", 5).reasons[0].code is Code.JUMP_TOO_LONG
    assert jump("2HK", 8).reasons[0].code is Code.JUMP_TOO_LONG


def test_a_safe_jump_is_done_with_an_air_attack_and_needs_the_jump_s_numbers() -> None:
    ground = safe_jump(GAME, solo(GAME), move(GAME, "5HK"), move(GAME, "5LP"), 8, Contact())
    assert ground.reasons[0].code is Code.NOT_AIRBORNE
    unknown = replace(solo(GAME), jump=None)
    verdict = safe_jump(GAME, unknown, move(GAME, "5HK"), move(GAME, "j.HP"), 8, Contact())
    assert (verdict.answer, verdict.reasons[0].facts["field"]) == (Answer.UNKNOWN, "jump of Solo")


def test_a_longer_fall_to_the_ground_makes_it_unsafe() -> None:
    heavy = replace(solo(GAME), jump=Jump(4, 38, 9))
    assert safe_jump(GAME, heavy, move(GAME, "5HK"), move(GAME, "j.HP"), 8, Contact()).answer is Answer.NO


NUMBERS = Facts(lead_frames=10, startup_frames=4)
PAIR = Facts(first="2HK", second="5LP", **NUMBERS)


def test_a_meaty_tells_all_its_numbers() -> None:
    delays = Facts(first_delay_frames=5, last_delay_frames=7)
    assert ask("2HK", "5LP") == Verdict(
        Answer.YES, (Reason(Code.MEATY, PAIR.plus(**delays)),), NUMBERS.plus(**delays)
    )
    slow = Facts(lead_frames=10, startup_frames=14)
    facts = Facts(first="2HK", second="5MK", **slow)
    assert ask("2HK", "5MK") == Verdict(Answer.NO, (Reason(Code.MEATY_TOO_LATE, facts),), slow)


@pytest.mark.parametrize(
    ("delay", "answer", "code", "active_frame"),
    [
        (8, Answer.NO, Code.MEATY_TOO_LATE, 0),
        (7, Answer.YES, Code.MEATY, 1),
        (4, Answer.NO, Code.MEATY_OVER, 4),
    ],
)
def test_a_meaty_at_one_delay_tells_all_its_numbers(
    delay: int, answer: Answer, code: Code, active_frame: int
) -> None:
    evidence = NUMBERS.plus(first_delay_frames=5, last_delay_frames=7, active_frame=active_frame)
    facts = PAIR.plus(delay_frames=delay, active_frame=active_frame)
    assert ask("2HK", "5LP", delay) == Verdict(answer, (Reason(code, facts),), evidence)


def test_a_move_that_is_just_fast_enough_is_meaty_at_once_and_never_later() -> None:
    # K = 10: active on the eleventh frame, the one on which they get up
    just, late = (replace(move(GAME, "5LP"), startup_frames=frames) for frames in (11, 12))
    evidence = meaty(GAME, move(GAME, "2HK"), just, Contact()).evidence
    assert (evidence["first_delay_frames"], evidence["last_delay_frames"]) == (0, 0)
    assert meaty(GAME, move(GAME, "2HK"), late, Contact()).answer is Answer.NO


def test_the_lead_is_that_of_the_hit_that_knocks_down() -> None:
    game = game_of(
        row("2HK", 9, 3, 24, "KD 10", -12, on_counter_hit="KD 20"),
        row("5HK", 9, 3, 24, "+2", -12, on_counter_hit="KD 20"),
        row("2MK", 9, 3, 24, "KD 10", -12),
        row("5LP", 4, 3, 8, 4, 1),
        hit_state=[{"name": "counter hit", "bonus_frames": 2}],
    )

    def lead(first: str, contact: Contact) -> object:
        return knockdown_lead(game, move(game, first), contact)

    counter = Contact(state="counter hit")
    assert [lead(first, counter) for first in ("2HK", "5HK", "2MK")] == [20, 20, 10]
    assert [lead("2HK", contact) for contact in (Contact(), Contact(active_frame=3))] == [10, 12]
    stands = Verdict(Answer.NO, (Reason(Code.NO_KNOCKDOWN, Facts(move="5HK")),))
    assert lead("5HK", Contact()) == stands


def test_of_a_lead_by_height_the_lowest_is_sure() -> None:
    first = replace(move(GAME, "2HK"), on_hit=Outcome(Effect.KNOCKDOWN, Range(10, 14)))
    assert knockdown_lead(GAME, first, Contact()) == 10


@pytest.mark.parametrize(
    ("first", "second", "missing"),
    [
        ({"on_hit": None}, {}, Missing("2HK", ("on_hit",))),
        ({"on_hit": Outcome(Effect.KNOCKDOWN)}, {}, Missing("2HK", ("on_hit",))),
        ({}, {"startup_frames": None}, Missing("j.HP", ("startup",))),
        ({}, {"hits": ()}, Missing("j.HP", ("active",))),
    ],
)
def test_a_number_that_is_missing_is_named(
    first: dict[str, object], second: dict[str, object], missing: Missing
) -> None:
    pair = replace(move(GAME, "2HK"), **first), replace(move(GAME, "j.HP"), **second)  # type: ignore[arg-type]
    assert meaty(GAME, *pair, Contact()) == missing.verdict
    assert safe_jump(GAME, solo(GAME), *pair, 8, Contact()) == missing.verdict


def jump_after(lead: int, reversal: int, second: Move | None = None, who: Character | None = None) -> Verdict:
    first = replace(move(GAME, "5HK"), on_hit=Outcome(Effect.KNOCKDOWN, Range(lead, lead)))
    return safe_jump(GAME, who or solo(GAME), first, second or move(GAME, "j.HP"), reversal, Contact())


def delays(verdict: Verdict) -> tuple[object, object] | None:
    found = verdict.evidence
    return (found["first_delay_frames"], found["last_delay_frames"]) if len(found) > 2 else None


def test_a_safe_jump_tells_all_its_numbers() -> None:
    facts = Facts(first="5HK", second="j.HP", lead_frames=40, jump_frames=45)
    evidence = Facts(lead_frames=40, jump_frames=45)
    found = Facts(first_delay_frames=0, last_delay_frames=2)
    safe = Reason(Code.SAFE_JUMP, facts.plus(reversal_startup_frames=8, **found))
    assert jump("5HK", 8) == Verdict(Answer.YES, (safe,), evidence.plus(**found))
    unsafe = Reason(Code.JUMP_TOO_LONG, facts.plus(reversal_startup_frames=5))
    assert jump("5HK", 5) == Verdict(Answer.NO, (unsafe,), evidence)


@pytest.mark.parametrize(
    ("lead", "expected"),
    # The attack is pressed in the air, from the jump's frame 5 on, and so active from its frame 11 on;
    # they get up on frame lead + 1 - d of the jump.
    [(9, None), (10, (0, 0)), (12, (0, 2))],
)
def test_an_air_attack_must_be_out_before_they_get_up(lead: int, expected: tuple[int, int] | None) -> None:
    assert delays(jump_after(lead, 40)) == expected


@pytest.mark.parametrize(
    ("lead", "expected"),
    # In the air up to the jump's frame 4 + 38 = 42; free after 45, before the reversal's frame lead + 8.
    [(41, (0, 3)), (42, (1, 4)), (44, (3, 6))],
)
def test_a_jump_that_lands_before_they_get_up_must_begin_later(lead: int, expected: tuple[int, int]) -> None:
    assert delays(jump_after(lead, 8)) == expected


def test_an_attack_of_few_active_frames_is_pressed_later_in_the_jump() -> None:
    short = replace(move(GAME, "j.HP"), hits=(replace(move(GAME, "j.HP").hits[0], active_frames=1),))
    assert delays(jump_after(44, 8, short)) == (3, 6)
    # a jump of 4 + 4 frames in the air: pressed on frame 5, an attack of startup 7 never comes out
    hop = replace(solo(GAME), jump=Jump(4, 4, 3))
    assert delays(jump_after(7, 20, short, hop)) is None
    quick = replace(short, startup_frames=4)
    assert delays(jump_after(7, 20, quick, hop)) == (0, 0)


def test_what_is_no_safe_jump_at_all_says_why() -> None:
    hp, lp = move(GAME, "j.HP"), move(GAME, "5LP")
    ground = safe_jump(GAME, solo(GAME), move(GAME, "5HK"), lp, 8, Contact())
    assert ground == Verdict(Answer.NO, (Reason(Code.NOT_AIRBORNE, Facts(move="5LP")),))
    stands = safe_jump(GAME, solo(GAME), lp, hp, 8, Contact())
    assert stands == Verdict(Answer.NO, (Reason(Code.NO_KNOCKDOWN, Facts(move="5LP")),))
