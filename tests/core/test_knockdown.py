"""Meaty timing after a knockdown, and safe jumps. Numbers worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builders import game_of, move, row, solo

from core.knockdown import meaty, safe_jump
from core.model import Contact, Jump
from core.verdict import Answer, Code, Verdict

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
