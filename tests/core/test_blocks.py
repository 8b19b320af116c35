"""Gaps, punishes and what is safe. Numbers worked by hand."""

from __future__ import annotations

from typing import Any

import pytest
from builders import BUTTONS, RULES, game_of, move, row, solo

from core.blocks import Gap, fastest_startup, gaps, punish, safe
from core.gamefile import load
from core.model import Contact, ContactKind, Game, Means
from core.verdict import Answer, Code

SPECIAL: dict[str, Any] = {
    "name": "special cancel",
    "from": {"tags": ["special-cancellable"]},
    "into": {"kinds": ["special"]},
    "contact": ["hit", "block"],
}
GAME = game_of(
    row("5LP", 4, 3, 8, "+4", "+1", reach=1.0),
    row("5MP", 6, 3, 12, "+5", "-1", tags="special-cancellable", pushback_on_block=0.5),
    row("5HP", 9, 4, 18, "+2", "-6", pushback_on_block=0.9),
    row("2HP", 9, 4, 18, "+2", "-6", pushback_on_block=1.2),
    row("5HK", 9, 4, 18, "+2", ""),
    row("2HK", 9, 3, 24, "KD 30", "-3"),
    row("236LP", 13, 3, 20, "+1", "-6", kind="special"),
    row("236MP", 16, 3, 20, "+1", "-6", kind="special"),
    row("236HP", 17, 1, 20, "+1", "-4", kind="special", projectile="0.5", hitstop="0/10"),
    row("j.HP", 7, 5, 6, "2..9", "-6..6", hitstun="20"),
    cancel=[SPECIAL],
)
BLOCK = Contact(ContactKind.BLOCK)


def ask(first: str, second: str, delay: int = 0, game: Game = GAME) -> dict[Means, Gap]:
    found = gaps(game, solo(game), move(game, first), move(game, second), BLOCK, delay)
    return {gap.means: gap for gap in found}


def test_the_gap_after_the_end_is_startup_less_advantage_on_block() -> None:
    gap = ask("5MP", "5LP")[Means.LINK]
    assert gap.verdict.evidence["gap_frames"] == 4 - -1
    assert gap.verdict.reasons[0].code is Code.GAP


def test_a_delay_widens_the_gap_frame_by_frame() -> None:
    assert [ask("5LP", "5LP", d)[Means.LINK].verdict.evidence["gap_frames"] for d in (0, 1, 3)] == [3, 4, 6]


def test_a_cancel_s_gap_counts_from_blockstun() -> None:
    # blockstun -1 + 2 + 12 = 13
    assert ask("5MP", "236LP")[Means.CANCEL].verdict.evidence["gap_frames"] == 0
    assert ask("5MP", "236LP")[Means.CANCEL].verdict.reasons[0].code is Code.NO_GAP
    assert ask("5MP", "236MP")[Means.CANCEL].verdict.evidence["gap_frames"] == 3
    assert ask("5MP", "236LP", 2)[Means.CANCEL].verdict.evidence["gap_frames"] == 2
    assert Means.CANCEL not in ask("5MP", "236LP", 3)  # the window of the cancel is two frames


def test_a_gap_is_a_frame_trap_while_no_attack_of_the_game_fits_in_before_it() -> None:
    assert fastest_startup(GAME) == 4
    trap = ask("5MP", "236MP")[Means.CANCEL].verdict
    assert trap.has(Code.FRAME_TRAP)
    assert not ask("5MP", "5LP")[Means.LINK].verdict.has(Code.FRAME_TRAP)


def test_the_gap_after_an_air_attack_is_a_range() -> None:
    verdict = ask("j.HP", "5LP")[Means.LINK].verdict
    assert verdict.answer is Answer.UNKNOWN
    assert (verdict.evidence["gap_low_frames"], verdict.evidence["gap_high_frames"]) == (-2, 10)


def test_a_missing_advantage_on_block_is_named() -> None:
    verdict = ask("5HK", "5LP")[Means.LINK].verdict
    assert (verdict.answer, verdict.reasons[0].facts["field"]) == (Answer.UNKNOWN, "on_block")


def test_a_blocked_move_is_punished_by_what_starts_in_time() -> None:
    answer = punish(GAME, move(GAME, "5HP"), solo(GAME), BLOCK)
    assert answer.verdict.answer is Answer.YES
    assert {option.move.input: option.spare_frames for option in answer.moves} == {"5LP": 2, "5MP": 0}
    assert answer.verdict.evidence["free_frames"] == 6


def test_a_punish_must_reach_and_says_where_that_is_not_known() -> None:
    reaches = {
        option.move.input: option.reaches
        for option in punish(GAME, move(GAME, "5HP"), solo(GAME), BLOCK).moves
    }
    assert reaches == {"5LP": True, "5MP": None}
    pushed = {option.move.input for option in punish(GAME, move(GAME, "2HP"), solo(GAME), BLOCK).moves}
    assert pushed == {"5MP"}
    far = punish(GAME, move(GAME, "5HP"), solo(GAME), Contact(ContactKind.BLOCK, distance=0.2))
    assert {option.move.input for option in far.moves} == {"5MP"}


def test_where_every_move_in_time_is_too_short_the_reason_is_reach() -> None:
    game = game_of(
        row("5LP", 4, 3, 8, "+4", "+1", reach=1.0), row("5HP", 9, 4, 18, "+2", "-4", pushback_on_block=1.5)
    )
    answer = punish(game, move(game, "5HP"), solo(game), BLOCK)
    assert (answer.verdict.answer, answer.verdict.reasons[0].code) == (Answer.NO, Code.PUNISH_OUT_OF_REACH)


@pytest.mark.parametrize(("theirs", "code"), [("5LP", Code.NOT_PUNISHABLE), ("2HK", Code.TOO_SLOW_TO_PUNISH)])
def test_what_cannot_be_punished_says_why(theirs: str, code: Code) -> None:
    answer = punish(GAME, move(GAME, theirs), solo(GAME), BLOCK)
    assert (answer.verdict.answer, answer.verdict.reasons[0].code, answer.moves) == (Answer.NO, code, ())


def test_the_punish_with_most_damage_comes_first() -> None:
    game = game_of(
        row("5LP", 4, 3, 8, 4, 1, damage=300, reach=2.0),
        row("5MP", 6, 3, 12, 5, -1, damage=600, reach=2.0),
        row("5HP", 9, 4, 18, 2, -8, damage=900, pushback_on_block=0.5),
    )
    assert [option.move.input for option in punish(game, move(game, "5HP"), solo(game), BLOCK).moves] == [
        "5MP",
        "5LP",
    ]


def test_a_meaty_block_is_harder_to_punish() -> None:
    late = Contact(ContactKind.BLOCK, active_frame=4)
    assert punish(GAME, move(GAME, "5HP"), solo(GAME), late).verdict.answer is Answer.NO


def test_a_projectile_from_afar_is_harder_to_punish() -> None:
    ball = move(GAME, "236HP")
    assert punish(GAME, ball, solo(GAME), BLOCK).verdict.answer is Answer.YES
    assert (
        punish(GAME, ball, solo(GAME), Contact(ContactKind.BLOCK, distance=2.0)).verdict.answer is Answer.NO
    )


def test_a_move_is_safe_when_nobody_in_the_game_punishes_it() -> None:
    assert safe(GAME, move(GAME, "2HK"), BLOCK).reasons[0].code is Code.SAFE
    unsafe = safe(GAME, move(GAME, "5HP"), BLOCK)
    assert (unsafe.answer, unsafe.evidence["fastest_punish_frames"]) == (Answer.NO, 4)
    assert safe(GAME, move(GAME, "5HK"), BLOCK).answer is Answer.UNKNOWN


def test_the_fastest_attack_of_anybody_counts() -> None:
    quick = {"name": "Quick", "move": [row("5LP", 3, 3, 8, 2, 0)]}
    calm = {"name": "Calm", "move": [row("5HP", 9, 4, 18, 2, -3)]}
    game = load(RULES | {"buttons": BUTTONS, "character": [calm, quick]}, {})
    verdict = safe(game, game.characters[0].moves[0], BLOCK)
    assert (verdict.answer, verdict.reasons[0].facts["character"]) == (Answer.NO, "Quick")


def test_what_cannot_be_blocked_is_neither_safe_nor_punished_nor_the_start_of_a_blockstring() -> None:
    grab = {"input": "LP+LK", "name": "Grab", "kind": "throw", "startup": 5, "active": 2, "recovery": 20}
    game = game_of(row("5LP", 4, 3, 8, "+4", "+1"), grab)
    throw = move(game, "LP+LK")
    (gap,) = gaps(game, solo(game), throw, move(game, "5LP"), BLOCK)
    for verdict in (safe(game, throw, BLOCK), punish(game, throw, solo(game), BLOCK).verdict, gap.verdict):
        assert (verdict.answer, verdict.reasons[0].code) == (Answer.NO, Code.CANNOT_BE_BLOCKED)
