"""Jump cancels: a rule with a jump in it leads from a move on the ground into one in the air."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from agreement import in_time
from builders import game_of, move, row, solo

from core.blocks import gaps
from core.cancels import cancel
from core.model import Contact, ContactKind, Game, Means
from core.notation import format_route, parse_route
from core.routes import Query, RouteCheck, check, find
from core.stepper import Press, run
from core.timing import Window
from core.verdict import Answer, Code

HIT, BLOCK = Contact(), Contact(ContactKind.BLOCK)
JUMP = {"jump": {"before_frames": 4, "air_frames": 38, "landing_frames": 3}}
LEAP = {
    "name": "leap",
    "from": {"moves": ["5HP"]},
    "into": {"kinds": ["normal"]},
    "contact": ["hit", "block"],
    "jump": True,
}
AIR_CHAIN = {
    "name": "air chain",
    "from": {"stances": ["airborne"]},
    "into": {"stances": ["airborne"]},
    "contact": ["hit"],
    "order": "rising",
    "first_frame": 1,
    "last_frame": 6,
}


def leaping(character: dict[str, Any] | None = None, **rules: Any) -> Game:
    """5HP touches on its 8th frame, has 12 frames of hitstop and leaves -8 + 2 + 25 = 19 of hitstun, -12 + 27
    = 15 of blockstun. j.LP starts in 5, and there are 4 frames before leaving the ground."""
    return game_of(
        row("5HP", 8, 3, 25, -8, -12, damage=80),
        row("5LP", 4, 3, 7, 5, 2, damage=30),
        row("j.LP", 5, 4, 6, "2..6", "0..4", damage=40, hitstun="16"),
        row("j.MP", 9, 4, 6, "2..6", "0..4", damage=50, hitstun="20"),
        row("j.HP", 16, 4, 6, "2..6", "0..4", damage=60, hitstun="20"),
        character=JUMP if character is None else character,
        **{"cancel": [LEAP], "chain": [AIR_CHAIN], **rules},
    )


def judged(game: Game, text: str) -> RouteCheck:
    return check(game, solo(game), parse_route(text, game, solo(game)))


def codes(found: RouteCheck) -> set[Code]:
    return {reason.code for reason in found.verdict.reasons}


def test_the_frames_before_leaving_the_ground_count_as_startup() -> None:
    game = leaping()
    answer = cancel(game, solo(game), move(game, "5HP"), move(game, "j.LP"), HIT)
    assert (answer.legal.answer, answer.combos.answer) == (Answer.YES, Answer.YES)
    assert (answer.combos.evidence["startup_frames"], answer.combos.evidence["stun_frames"]) == (9, 19)
    assert Code.JUMP_FIRST in {reason.code for reason in answer.combos.reasons}
    # 16 + 4 = 20 of 19
    answer = cancel(game, solo(game), move(game, "5HP"), move(game, "j.HP"), HIT)
    assert (answer.legal.answer, answer.combos.answer) == (Answer.YES, Answer.NO)
    assert answer.combos.reasons[0].facts["short_frames"] == 1


def test_without_such_a_rule_a_move_in_the_air_needs_a_jump_of_its_own() -> None:
    plain = {key: value for key, value in LEAP.items() if key != "jump"}
    for rules in ([], [plain]):
        found = judged(leaping(cancel=rules), "5HP xx j.LP")
        assert (found.failing, codes(found)) == (1, {Code.NEEDS_AIR})
    # and such a rule leads into nothing on the ground, and starts from nothing it does not name
    assert codes(judged(leaping(), "5HP xx 5LP")) == {Code.NO_RULE_INTO}
    assert codes(judged(leaping(), "5LP xx j.LP")) == {Code.SOURCE_NOT_IN_RULE}
    assert codes(judged(leaping(), "j.LP xx 5LP")) == {Code.NEEDS_GROUND}


def test_without_the_characters_jump_it_is_not_known() -> None:
    found = judged(leaping({}), "5HP xx j.LP")
    assert found.verdict.answer is Answer.UNKNOWN
    assert found.verdict.reasons[0].facts["field"] == "jump of Solo"


def test_a_route_goes_on_from_the_start_of_the_jump() -> None:
    found = judged(leaping(), "5HP > j.LP > j.MP")
    assert format_route(found.route) == "5HP xx j.LP ~ j.MP"
    # touches on gap 7; pressed from 4 before, begun on gap 8 + 12 or one of the two after it
    assert found.steps[1].window == Window(3, 22, 20)
    # j.LP touches 4 + 5 frames from there and has 8 of hitstop; 16 of hitstun less 9 leave more than the 5
    # frames that the chain lasts
    assert found.steps[2].window == Window(8 - 4, 17 + 5, 17)
    assert [step.frame for step in found.steps] == [0, 20, 37]
    assert found.steps[1].contact_frames == 8


@pytest.mark.parametrize("startup", ["j.LP", "j.MP"])
def test_the_stepper_has_the_same_last_frame(startup: str) -> None:
    buffers = {"link_frames": 3, "cancel_frames": 4, "cancel_window_frames": 20}
    game = leaping(buffers=buffers)
    first, second = move(game, "5HP"), move(game, startup)
    window = judged(game, f"5HP xx {startup}").steps[1].window
    assert isinstance(window, Window)
    # the stepper knows no jump: the move with its frames before it
    assert second.startup_frames is not None
    later = replace(second, startup_frames=second.startup_frames + 4)
    for gap, combos in ((window.start_gap, True), (window.last_gap, True), (window.last_gap + 1, False)):
        assert gap is not None
        second_of = run(game, first, [Press(1 + gap, later, lambda _: game.rules)], HIT).second
        assert second_of is not None
        assert (second_of.means, in_time(second_of)) == (Means.CANCEL, combos)


def test_on_block_the_jump_is_part_of_the_gap() -> None:
    game = leaping()
    found = gaps(game, solo(game), move(game, "5HP"), move(game, "j.MP"), BLOCK)
    by = {gap.means: gap.verdict.evidence["gap_frames"] for gap in found if gap.means is Means.CANCEL}
    assert by == {Means.CANCEL: 9 + 4 - 15}
    found = gaps(game, solo(game), move(game, "5HP"), move(game, "j.HP"), BLOCK)
    assert found[0].verdict.evidence["gap_frames"] == 16 + 4 - 15


def test_the_search_finds_routes_that_leap() -> None:
    game = leaping()
    found = find(game, solo(game), Query(most_moves=3))
    # 9 + 4 = 13 of 19 frames, then 16 of 20
    assert format_route(found.routes[0].route) == "5HP xx j.MP ~ j.HP"
    assert check(game, solo(game), found.routes[0].route).damage == found.routes[0].damage == 190
