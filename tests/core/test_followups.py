"""What follows a move, by which means, and the time there is to see the hit. Numbers worked by hand."""

from __future__ import annotations

from typing import Any

import pytest
from builders import RULES, game_of, move, row, solo

from core.followups import confirm_time, follow_up, follow_ups
from core.model import Contact, ContactKind, Game, Means
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict

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


PAIR: dict[str, Any] = {"first": "5MP", "second": "236LP"}


def test_a_combo_by_cancel_gives_both_answers_reasons_and_numbers() -> None:
    found = follow_up(GAME, solo(GAME), move(GAME, "5MP"), move(GAME, "236LP"), Contact())
    assert found.verdict.reasons == (*found.cancel.legal.reasons, *found.cancel.combos.reasons)
    assert [reason.code for reason in found.verdict.reasons] == [Code.RULE_ALLOWS, Code.STUN_LASTS]
    assert dict(found.verdict.evidence) == dict(found.cancel.legal.evidence) | dict(
        found.cancel.combos.evidence
    )
    assert {"last_press_from_contact_frames", "last_combo_press_from_contact_frames"} <= set(
        found.verdict.evidence
    )


def test_a_combo_by_link_gives_the_link_s_answer_and_a_failure_the_link_s_numbers() -> None:
    linked = follow_up(GAME, solo(GAME), move(GAME, "5MP"), move(GAME, "5LP"), Contact())
    assert linked.verdict == linked.link
    failed = follow_up(GAME, solo(GAME), move(GAME, "5MP"), move(GAME, "236HP"), Contact())
    assert failed.verdict.evidence == failed.link.evidence


def test_a_cancel_that_is_not_known_leaves_the_answer_open() -> None:
    whole: dict[str, Any] = {"tags": "special-cancellable"}
    special = row("236LP", 14, 3, 20, "+1", "-6", kind="special")
    for first, codes in (
        # the stun of the hit that is cancelled
        (
            row("5HP", 9, "2(6)3", 18, "+2", "-4", cancellable_hits="1", **whole),
            [Code.RULE_ALLOWS, Code.NUMBER_MISSING],
        ),
        # the recovery: no window
        (row("5HP", 9, 3, 18, "+2", "-4", **whole) | {"recovery": ""}, [Code.NUMBER_MISSING]),
    ):
        game = game_of(first, special, cancel=[SPECIAL])
        found = follow_up(game, solo(game), move(game, "5HP"), move(game, "236LP"), Contact())
        assert (found.link.answer, found.verdict.answer, found.means) == (Answer.NO, Answer.UNKNOWN, None)
        said = [reason.code for reason in found.verdict.reasons]
        assert (said[0], said[-len(codes) :]) == (Code.LINK_TOO_LATE, codes)


def test_a_reason_that_both_ways_have_is_given_once() -> None:
    game = game_of(
        row("5MP", 6, 3, 12, "+5", "-1"),
        {"input": "66", "name": "Dash", "kind": "movement", "total": 18},
        motion=RULES["motion"] + [{"name": "dash", "forms": ["66"]}],
    )
    dash = follow_up(game, solo(game), move(game, "66"), move(game, "5MP"), Contact()).verdict
    assert dash == Verdict(Answer.NO, (Reason(Code.DOES_NOT_HIT, Facts(move="66")),))
    found = follow_ups(game, solo(game), move(game, "5MP"), Contact())
    assert [one.move.input for one in found] == ["5MP"]


def test_the_time_to_confirm_tells_all_its_numbers() -> None:
    def told(second: str, means: str, frames: int, ms: float) -> Verdict:
        evidence = Facts(confirm_frames=frames, confirm_ms=ms)
        combo = follow_up(GAME, solo(GAME), move(GAME, "5MP"), move(GAME, second), Contact()).verdict
        time = Reason(Code.TIME_TO_CONFIRM, evidence.plus(first="5MP", second=second, means=means))
        return Verdict(Answer.YES, (time, *combo.reasons), evidence)

    for second, expected in (("236LP", ("cancel", 13, 216.7)), ("5LP", ("link", 26, 433.3))):
        found = confirm_time(GAME, solo(GAME), move(GAME, "5MP"), move(GAME, second), Contact())
        assert found == told(second, *expected)


@pytest.mark.parametrize(
    ("second", "changes", "missing"),
    [
        ("5LP", {"startup": ""}, Missing("5MP", ("startup",))),
        ("5LP", {"recovery": ""}, Missing("5MP", ("recovery",))),
        ("5LP", {"buffers": {}}, Missing("", ("link_frames of [buffers]",))),
        ("5LP", {"hitstop": {}}, Missing("5MP", ("hitstop",))),
        ("236LP", {"hitstop": {}}, Missing("5MP", ("hitstop",))),
        ("236LP", {"active": "1(1)2", "hitstop": {}}, Missing("5MP", ("hitstop",))),
        ("236LP", {"active": "1(1)2", "hitstop": "?; 10"}, Missing("5MP", ("hitstop",))),
        ("236LP", {"buffers": {}}, Missing("", ("cancel_window_frames of [buffers]",))),
        # this rule has a last frame of its own: the cancel window is not what is missing
        ("236MP", {"buffers": {}, "hitstop": {}}, Missing("5MP", ("hitstop",))),
    ],
)
def test_the_number_that_the_time_to_confirm_lacks_is_named(
    second: str, changes: dict[str, Any], missing: Missing
) -> None:
    rules = {part: value for part, value in changes.items() if isinstance(value, dict)}
    cells = {part: value for part, value in changes.items() if part not in rules}
    game = game_of(
        row("5MP", 6, 3, 12, "+5", "-1", tags="special-cancellable") | cells,
        row("5LP", 4, 3, 8, "+4", "+1"),
        row("236LP", 13, 3, 20, "+1", "-6", kind="special"),
        row("236MP", 13, 3, 20, "+1", "-6", kind="special", strength="medium"),
        cancel=[
            SPECIAL | {"into": {"moves": ["236LP"]}},
            SPECIAL | {"name": "other", "into": {"moves": ["236MP"]}, "last_frame": 3},
        ],
        **rules,
    )
    verdict = confirm_time(game, solo(game), move(game, "5MP"), move(game, second), Contact())
    assert verdict == missing.verdict
