"""Gaps, punishes and what is safe. Numbers worked by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from builders import BUTTONS, RULES, game_of, move, row, solo

from core.blocks import Gap, damage, fastest_startup, gaps, punish, safe
from core.gamefile import load
from core.model import Contact, ContactKind, Game, Jump, Means, Projectile
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict

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


def test_a_gap_is_counted_from_the_first_start_unless_a_delay_is_given() -> None:
    first, second = move(GAME, "5MP"), move(GAME, "236LP")
    assert gaps(GAME, solo(GAME), first, second, BLOCK) == gaps(GAME, solo(GAME), first, second, BLOCK, 0)


def test_a_gap_tells_all_its_numbers() -> None:
    def verdict(second: str, gap: int, *codes: Code, fastest: int | None = None) -> Verdict:
        facts = Facts(first="5MP", second=second, gap_frames=gap)
        reasons = [Reason(code, facts) for code in codes]
        if fastest is not None:
            reasons.append(Reason(Code.FRAME_TRAP, facts.plus(fastest_startup_frames=fastest)))
        answer = Answer.NO if Code.NO_GAP in codes else Answer.YES
        return Verdict(answer, tuple(reasons), Facts(gap_frames=gap))

    assert ask("5MP", "236LP")[Means.CANCEL].verdict == verdict("236LP", 0, Code.NO_GAP)
    assert ask("5MP", "236LP", 1)[Means.CANCEL].verdict == verdict("236LP", 1, Code.GAP, fastest=4)
    assert ask("5MP", "5LP")[Means.LINK].verdict == verdict("5LP", 5, Code.GAP)


def test_a_gap_as_long_as_the_fastest_startup_is_still_a_trap_since_that_only_trades() -> None:
    assert ask("5LP", "5LP", 1)[Means.LINK].verdict.has(Code.FRAME_TRAP)  # 4 + 1 - 1 = 4
    assert not ask("5LP", "5LP", 2)[Means.LINK].verdict.has(Code.FRAME_TRAP)


def test_without_an_attack_from_the_ground_there_is_no_trap_to_tell_of() -> None:
    game = game_of(row("j.HP", 7, 5, 6, 2, 1), {"input": "5LP", "name": "Jab", "active": 3})
    assert fastest_startup(game) is None
    known = game_of(
        {"input": "5LP", "name": "Jab", "active": 3}, row("5MP", 6, 3, 12, 5, -1), row("j.HP", 3, 5, 6, 2, 1)
    )
    assert fastest_startup(known) == 6
    jumped = replace(solo(game), jump=Jump(4, 38, 3))
    (gap,) = gaps(game, jumped, move(known, "5MP"), move(game, "j.HP"), BLOCK)
    assert [reason.code for reason in gap.verdict.reasons] == [Code.GAP]


def test_the_gap_after_an_air_attack_tells_both_ends_later_by_the_delay() -> None:
    facts = Facts(first="j.HP", second="5LP", contact="block")
    assert ask("j.HP", "5LP", 3)[Means.LINK].verdict == Verdict(
        Answer.UNKNOWN,
        (Reason(Code.DEPENDS_ON_HEIGHT, facts),),
        Facts(gap_low_frames=4 + 3 - 6, gap_high_frames=4 + 3 + 6),
    )


def test_a_second_move_that_cannot_touch_leaves_no_gap_but_a_reason() -> None:
    game = game_of(
        row("5MP", 6, 3, 12, 5, -1, tags="special-cancellable", pushback_on_block=0.5),
        row("236LP", 13, 3, 20, 1, -6, kind="special", reach=0.4),
        row("j.HP", 7, 5, 6, 2, 1),
        row("j.LP", 5, 5, 6, 2, 1),
        cancel=[SPECIAL],
        character={"jump": {"before_frames": 4, "air_frames": 38, "landing_frames": 3}},
    )
    short = Facts(move="236LP", distance=0.5, reach=0.4)
    refused = Verdict(Answer.NO, (Reason(Code.OUT_OF_REACH, short),))
    assert [gap.verdict for gap in ask("5MP", "236LP", game=game).values()] == [refused, refused]
    # the second air attack would need a jump of its own, or a jump that leaves time for two
    in_air = Reason(Code.AIR_TO_AIR_LINK, Facts(first="j.HP", second="j.LP"))
    assert ask("j.HP", "j.LP", game=game)[Means.LINK].verdict == Verdict(Answer.UNKNOWN, (in_air,))
    assert ask("5MP", "j.HP", game=game)[Means.LINK].verdict.evidence["gap_frames"] == 4 + 7 + 1


def test_a_missing_startup_is_named_for_each_way() -> None:
    second = {"input": "236LP", "name": "Wave", "kind": "special", "active": 3}
    game = game_of(row("5MP", 6, 3, 12, 5, -1, tags="special-cancellable"), second, cancel=[SPECIAL])
    missing = Missing("236LP", ("startup",)).verdict
    assert [gap.verdict for gap in ask("5MP", "236LP", game=game).values()] == [missing, missing]


def test_a_cancel_of_unknown_end_may_be_delayed_by_any_number() -> None:
    game = game_of(
        row("5MP", 6, 3, 12, 5, -1, tags="special-cancellable"),
        row("236LP", 13, 3, 20, 1, -6, kind="special"),
        cancel=[SPECIAL],
        buffers={},
    )
    assert ask("5MP", "236LP", 5, game)[Means.CANCEL].verdict.evidence["gap_frames"] == 5


def test_a_punish_tells_all_its_numbers() -> None:
    def facts(theirs: str, advantage: int) -> Facts:
        return Facts(move=theirs, character="Solo", advantage_frames=advantage)

    def told(theirs: str, game: Game = GAME) -> Verdict:
        return punish(game, move(game, theirs), solo(game), BLOCK).verdict

    free = Facts(advantage_on_block_frames=-6, free_frames=6)
    assert told("5HP") == Verdict(Answer.YES, (Reason(Code.PUNISHES, facts("5HP", -6).plus(moves=2)),), free)
    plus = Facts(advantage_on_block_frames=1, free_frames=0)
    assert told("5LP") == Verdict(Answer.NO, (Reason(Code.NOT_PUNISHABLE, facts("5LP", 1)),), plus)
    minus = Facts(advantage_on_block_frames=-1, free_frames=1)
    slow = facts("5MP", -1).plus(fastest_startup_frames=4)
    assert told("5MP") == Verdict(Answer.NO, (Reason(Code.TOO_SLOW_TO_PUNISH, slow),), minus)
    even = game_of(row("5LP", 4, 3, 8, "+4", 0))
    assert told("5LP", even).reasons[0].code is Code.NOT_PUNISHABLE
    short = game_of(
        row("5LP", 4, 3, 8, 4, 1, reach=1.0), row("5HP", 9, 4, 18, 2, -4, pushback_on_block=1.2346)
    )
    out = facts("5HP", -4).plus(distance=1.235, unit="units")
    four = Facts(advantage_on_block_frames=-4, free_frames=4)
    assert told("5HP", short) == Verdict(Answer.NO, (Reason(Code.PUNISH_OUT_OF_REACH, out),), four)


def test_only_attacks_from_the_ground_punish() -> None:
    game = game_of(
        row("5MP", 6, 3, 12, 5, -5),
        row("j.LP", 3, 5, 6, 2, 1),
        {"input": "66", "name": "Dash", "kind": "movement", "total": 2},
        motion=RULES["motion"] + [{"name": "dash", "forms": ["66"]}],
    )
    answer = punish(game, move(game, "5MP"), solo(game), BLOCK)
    assert answer.verdict.reasons[0].code is Code.TOO_SLOW_TO_PUNISH
    dash_only = replace(solo(game), moves=(move(game, "66"),))
    verdict = punish(game, move(game, "5MP"), dash_only, BLOCK).verdict
    assert verdict == Missing("", ("startup",)).verdict


@pytest.mark.parametrize(("on_block", "free"), [("-9..-5", 5), ("-9..0", 0)])
def test_an_air_attack_is_punished_as_if_it_had_touched_at_its_best(on_block: str, free: int) -> None:
    game = game_of(row("j.HP", 7, 5, 6, 2, on_block), row("5LP", 4, 3, 8, 4, 1), row("5MP", 6, 3, 12, 5, -1))
    answer = punish(game, move(game, "j.HP"), solo(game), BLOCK)
    assert answer.verdict.evidence == Facts(advantage_on_block_frames=-free, free_frames=free)
    assert answer.verdict.reasons[0].code is (Code.PUNISHES if free else Code.NOT_PUNISHABLE)
    assert answer.verdict.reasons[0].facts["advantage_frames"] == -free
    assert [option.spare_frames for option in answer.moves] == ([1] if free else [])
    judged = safe(game, move(game, "j.HP"), BLOCK)
    assert judged.evidence["advantage_on_block_frames"] == -free
    assert judged.evidence.get("fastest_punish_frames") == (4 if free else None)
    assert judged.reasons[0].facts["advantage_frames"] == -free


def test_a_move_punishes_up_to_its_reach_and_a_projectile_has_none() -> None:
    game = game_of(
        row("5LP", 4, 3, 8, 4, 1, reach=0.5),
        row("5MP", 6, 3, 12, 5, -6, pushback_on_block=0.5),
        row("236LP", 5, 1, 30, 1, -6, kind="special", projectile="0.5", hitstop="0/10"),
    )
    found = punish(game, move(game, "5MP"), solo(game), BLOCK).moves
    assert {option.move.input: option.reaches for option in found} == {
        "5LP": True,
        "236LP": True,
        "5MP": None,
    }


def test_a_projectile_punishes_in_time_only_if_it_flies_there_in_time() -> None:
    game = game_of(
        row("5MP", 7, 3, 12, 5, -6, reach=3.0, pushback_on_block=0.5),
        row("236LP", 5, 1, 30, 1, -6, kind="special", projectile="0.5", hitstop="0/10"),
    )

    def spare(distance: float | None) -> list[int]:
        contact = Contact(ContactKind.BLOCK, distance=distance)
        return [one.spare_frames for one in punish(game, move(game, "5MP"), solo(game), contact).moves]

    assert [spare(distance) for distance in (None, 0.5, 1.0)] == [[1], [0], []]
    unknown = replace(move(game, "236LP"), projectile=Projectile())
    other = replace(solo(game), moves=(unknown,))
    verdict = punish(game, move(game, "5MP"), other, Contact(ContactKind.BLOCK, distance=1.0)).verdict
    assert verdict == Missing("236LP", ("projectile speed",)).verdict


def test_a_punish_sure_to_reach_comes_first_then_the_damage_then_the_slower_one() -> None:
    game = game_of(
        row("5HP", 9, 4, 18, 2, -8, pushback_on_block=0.5),
        row("2LP", 4, 3, 8, 4, 1, damage=900),
        row("5LP", 4, 3, 8, 4, 1, damage=300, reach=2.0),
        row("5MP", 6, 3, 12, 5, -1, damage=300, reach=2.0),
        row("2MP", 6, 3, 12, 5, -1, reach=2.0),
        row("5HK", 8, 3, 12, 5, -1, damage=600, reach=2.0),
    )
    found = punish(game, move(game, "5HP"), solo(game), BLOCK).moves
    assert [(one.move.input, one.damage) for one in found] == [
        ("5HK", 600),
        ("5MP", 300),
        ("5LP", 300),
        ("2MP", None),
        ("2LP", 900),
    ]


@pytest.mark.parametrize(("given", "whole"), [("300; 500", 800), ("300; ?", None), (None, None)])
def test_a_move_s_damage_is_that_of_all_its_hits(given: str | None, whole: int | None) -> None:
    game = game_of(row("5HP", 9, "2(6)3", 18, 2, -8, damage=given))
    assert damage(move(game, "5HP")) == whole


def test_a_move_without_hits_has_no_known_damage() -> None:
    game = game_of({"input": "5LP", "name": "Jab", "startup": 4})
    assert damage(move(game, "5LP")) is None


def test_what_is_safe_tells_all_its_numbers() -> None:
    facts, evidence = Facts(move="2HK", advantage_frames=-3), Facts(advantage_on_block_frames=-3)
    assert safe(GAME, move(GAME, "2HK"), BLOCK) == Verdict(Answer.YES, (Reason(Code.SAFE, facts),), evidence)


def test_of_all_punishes_the_fastest_makes_a_move_unsafe_and_of_two_the_first_in_the_file() -> None:
    strong = {"name": "Strong", "move": [row("5HP", 6, 4, 18, 2, -7, damage=900), row("5LP", 5, 3, 8, 2, 0)]}
    quick = {"name": "Quick", "move": [row("5LP", 4, 3, 8, 2, 0), row("2LP", 4, 3, 8, 2, 0)]}
    also = {"name": "Also", "move": [row("5LP", 4, 3, 8, 2, 0)]}
    game = load(RULES | {"character": [strong, quick, also]}, {})
    theirs = game.characters[0].moves[0]
    facts = Facts(move="5HP", advantage_frames=-7, punish="5LP", startup_frames=4, character="Quick")
    evidence = Facts(advantage_on_block_frames=-7, fastest_punish_frames=4)
    assert safe(game, theirs, BLOCK) == Verdict(Answer.NO, (Reason(Code.UNSAFE, facts),), evidence)


def test_a_startup_the_file_leaves_out_leaves_open_what_only_it_could_punish() -> None:
    unknown = {"input": "5LP", "name": "Jab", "active": 3, "recovery": 8}
    game = game_of(row("5HP", 9, 4, 18, 2, -4), unknown)
    missing = Missing("5LP", ("startup",)).verdict
    assert safe(game, move(game, "5HP"), BLOCK) == missing
    assert punish(game, move(game, "5HP"), solo(game), BLOCK).verdict == missing
    short = game_of(
        row("5HP", 9, 4, 18, 2, -4, pushback_on_block=2.0), row("2LP", 4, 3, 8, 2, 0, reach=1.0), unknown
    )
    assert punish(short, move(short, "5HP"), solo(short), BLOCK).verdict == missing
    punished = game_of(row("5HP", 9, 4, 18, 2, -4), unknown, row("2LP", 4, 3, 8, 2, 0))
    assert safe(punished, move(punished, "5HP"), BLOCK).answer is Answer.NO
    no_advantage = Missing("5HK", ("on_block",)).verdict
    assert punish(GAME, move(GAME, "5HK"), solo(GAME), BLOCK).verdict == no_advantage
