"""What follows a move, by which means, and the time there is to see the hit. Numbers worked by hand."""

from __future__ import annotations

from typing import Any

import pytest
from builders import game_of, move, row, solo

from core.followups import confirm_time, follow_up, follow_ups
from core.model import Contact, ContactKind, Game, Means
from core.verdict import Answer, Code

SPECIAL: dict[str, Any] = {
    "name": "special cancel",
    "from": {"tags": ["special-cancellable"]},
    "into": {"kinds": ["special"]},
    "contact": ["hit", "block"],
}
GAME = game_of(
    row("5LP", 4, 3, 8, "+4", "+1"),
    row("5MP", 6, 3, 12, "+5", "-1", tags="special-cancellable"),
    row("5HP", 9, "2(6)3", 18, "+2", "-4", hitstun="20; ?", tags="special-cancellable"),
    row("5HK", 9, 3, 18, "", "-4"),
    row("236LP", 13, 3, 20, "+1", "-6", kind="special"),
    row("236HP", 25, 3, 20, "+1", "-6", kind="special"),
    cancel=[SPECIAL],
)


def means(first: str, second: str, game: Game = GAME) -> tuple[Answer, Means | None]:
    found = follow_up(game, solo(game), move(game, first), move(game, second), Contact())
    return found.verdict.answer, found.means


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ("5MP", "5LP", (Answer.YES, Means.LINK)),
        ("5MP", "236LP", (Answer.YES, Means.CANCEL)),
        ("5MP", "236HP", (Answer.NO, None)),
        ("5LP", "236LP", (Answer.NO, None)),
        ("5HK", "5LP", (Answer.UNKNOWN, None)),
    ],
)
def test_one_move_combos_into_another_by_the_means_that_works(
    first: str, second: str, expected: tuple[Answer, Means | None]
) -> None:
    assert means(first, second) == expected


def test_where_nothing_works_both_reasons_are_given() -> None:
    verdict = follow_up(GAME, solo(GAME), move(GAME, "5MP"), move(GAME, "236HP"), Contact()).verdict
    assert [reason.code for reason in verdict.reasons] == [
        Code.LINK_TOO_LATE,
        Code.RULE_ALLOWS,
        Code.STUN_ENDS,
    ]


def test_every_move_that_can_hit_is_judged() -> None:
    found = follow_ups(GAME, solo(GAME), move(GAME, "5MP"), Contact())
    assert [one.move.input for one in found] == ["5LP", "5MP", "5HP", "5HK", "236LP", "236HP"]
    assert [one.move.input for one in found if one.means is not None] == ["5LP", "236LP"]


def confirm(first: str, second: str) -> Any:
    return confirm_time(GAME, solo(GAME), move(GAME, first), move(GAME, second), Contact()).evidence


def test_the_time_to_confirm_a_cancel_runs_from_contact_through_hitstop_to_the_last_press() -> None:
    assert confirm("5MP", "236LP")["confirm_frames"] == 10 + 1 + 2
    assert confirm("5MP", "236LP")["confirm_ms"] == pytest.approx(216.7)


def test_of_two_hits_the_time_runs_from_the_first() -> None:
    # spans start on 9 and 17; the first freezes both for 12; the second may be cancelled
    assert confirm("5HP", "236LP")["confirm_frames"] == (17 + 12 - 9) + 12 + 1 + 2


def test_the_time_to_confirm_a_link_runs_to_its_last_accepted_press() -> None:
    # free on 20 + 10 + 1 = 31, contact on 6, last press one frame after free
    assert confirm("5MP", "5LP")["confirm_frames"] == 31 + 1 - 6


def test_what_does_not_combo_cannot_be_confirmed() -> None:
    verdict = confirm_time(GAME, solo(GAME), move(GAME, "5LP"), move(GAME, "5HP"), Contact())
    assert verdict.answer is Answer.NO
    assert (
        confirm_time(
            GAME, solo(GAME), move(GAME, "5MP"), move(GAME, "5LP"), Contact(ContactKind.WHIFF)
        ).answer
        is Answer.NO
    )


def test_a_missing_buffer_is_named() -> None:
    game = game_of(row("5MP", 6, 3, 12, "+5", "-1"), row("5LP", 4, 3, 8, "+4", "+1"), buffers={})
    verdict = confirm_time(game, solo(game), move(game, "5MP"), move(game, "5LP"), Contact())
    assert (verdict.answer, verdict.reasons[0].facts["field"]) == (Answer.UNKNOWN, "link_frames of [buffers]")
