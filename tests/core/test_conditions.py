"""What must hold, timing apart, for a second move to touch: each refusal and note with all its facts."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from builders import RULES, game_of, move, row, solo

from core.cancels import cancel
from core.conditions import notes, refusal
from core.model import Contact, ContactKind, Game
from core.verdict import Answer, Code, Facts, Missing, Reason, Verdict

GAME = game_of(
    row("5LP", 4, 3, 8, "+4", "+1"),
    row("5MP", 6, 3, 12, "+5", "-1", on_air_hit="launch 30", juggle_add=2),
    row("5HP", 9, 4, 18, "+2", "-3", reach=1.2346, pushback_on_hit=0.5, pushback_on_block=0.1),
    row("5HK", 6, 3, 20, "+1", "-3", juggle_limit=1),
    row("2HK", 9, 3, 24, "KD 30", "-12"),
    row("2MK", 9, 3, 24, "+1", "-1", hit_level="unblockable"),
    row("2LK", 5, 3, 9, "+1", "0", tags="hits-downed", reach=1.2346),
    row("2HP", 8, 4, 20, "launch 40", "-10", juggle_start=2),
    row("236LP", 14, 1, 30, "+1", "-6", kind="special", projectile="0.5", hitstop="0/10", reach=1.0),
    {"input": "LP+LK", "name": "Grab", "kind": "throw", "startup": 5, "active": 2, "recovery": 20},
    {"input": "66", "name": "Dash", "kind": "movement", "total": 18},
    juggle={"limit": 3, "downed_hits": 1},
    motion=RULES["motion"] + [{"name": "dash", "forms": ["66"]}],
    distance_unit="tiles",
)
BLOCK, WHIFF = Contact(ContactKind.BLOCK), Contact(ContactKind.WHIFF)


def ask(first: str, second: str, contact: Contact | None = None, game: Game = GAME) -> Verdict | None:
    return refusal(game, move(game, first), move(game, second), contact or Contact())


def said(first: str, second: str, contact: Contact | None = None) -> tuple[Reason, ...]:
    return notes(GAME, move(GAME, first), move(GAME, second), contact or Contact())


@pytest.mark.parametrize(
    ("first", "second", "contact", "code", "facts"),
    [
        ("5LP", "66", Contact(), Code.DOES_NOT_HIT, {"move": "66"}),
        ("66", "5LP", Contact(), Code.DOES_NOT_HIT, {"move": "66"}),
        ("5LP", "5MP", WHIFF, Code.NOTHING_TOUCHED, {"move": "5LP"}),
        ("5HP", "5LP", replace(WHIFF, distance=9.0), Code.NOTHING_TOUCHED, {"move": "5HP"}),
        ("LP+LK", "5LP", BLOCK, Code.CANNOT_BE_BLOCKED, {"move": "LP+LK"}),
        ("2MK", "5LP", BLOCK, Code.CANNOT_BE_BLOCKED, {"move": "2MK"}),
        ("5LP", "LP+LK", Contact(), Code.THROW_MISSES_STUN, {"move": "LP+LK"}),
        ("2HK", "5LP", Contact(), Code.KNOCKED_DOWN, {"move": "2HK", "second": "5LP"}),
        ("2HP", "5HK", Contact(), Code.JUGGLE_LIMIT, {"move": "5HK", "count": 2, "limit": 1}),
        ("5MP", "5LP", Contact(juggle_count=2), Code.JUGGLE_LIMIT, {"move": "5LP", "count": 4, "limit": 3}),
        (
            "5HP",
            "5LP",
            Contact(distance=1.3),
            Code.FIRST_OUT_OF_REACH,
            {"move": "5HP", "distance": 1.3, "reach": 1.2346},
        ),
        # 0.7347 and 0.5 of pushback
        (
            "5HP",
            "2LK",
            Contact(distance=0.7347),
            Code.OUT_OF_REACH,
            {"move": "2LK", "distance": 1.235, "reach": 1.2346},
        ),
    ],
)
def test_a_move_that_cannot_touch_is_refused_with_the_facts(
    first: str, second: str, contact: Contact, code: Code, facts: dict[str, Any]
) -> None:
    assert ask(first, second, contact) == Verdict(Answer.NO, (Reason(code, Facts(**facts)),))


def test_what_is_not_there_is_no_hindrance() -> None:
    assert ask("5LP", "5MP") is None
    assert ask("2MK", "5MP") is None
    assert ask("5HP", "236LP", Contact(distance=1.2346)) is None
    assert ask("5MP", "5LP", Contact(juggle_count=1)) is None  # 1 + 2 is the limit, 3
    assert ask("2HK", "2LK") is None
    assert ask("5HP", "2LK", Contact(distance=0.7346)) is None  # 0.7346 + 0.5 is the reach
    assert ask("5HP", "2LK", Contact(ContactKind.BLOCK, distance=1.1)) is None
    assert ask("236LP", "236LP", Contact(distance=9.0)) is None


def test_a_blocked_move_knocks_nobody_down() -> None:
    assert ask("2HK", "5LP", BLOCK) is None
    assert ask("2HP", "5HK", BLOCK) is None


def test_somebody_on_the_ground_is_hit_as_often_as_the_game_says() -> None:
    assert GAME.juggle is not None
    never = replace(GAME, juggle=replace(GAME.juggle, downed_hits=0))
    reason = Reason(Code.DOWNED_LIMIT, Facts(move="2LK", limit=0))
    assert ask("2HK", "2LK", game=never) == Verdict(Answer.NO, (reason,))
    without_rules = replace(GAME, juggle=None)
    assert ask("2HK", "2LK", game=without_rules) == Missing("", ("juggle",)).verdict


@pytest.mark.parametrize(
    ("first", "second", "contact", "missing"),
    [
        ("5LP", "2LK", Contact(distance=0.5), Missing("5LP", ("pushback_on_hit",))),
        ("5HP", "5LP", Contact(distance=0.5), Missing("5LP", ("reach",))),
        ("236LP", "2LK", Contact(distance=0.5), Missing("236LP", ("pushback_on_hit",))),
        (
            "236LP",
            "2LK",
            Contact(ContactKind.BLOCK, distance=0.5),
            Missing("236LP", ("pushback_on_block",)),
        ),
        ("LP+LK", "5LP", Contact(), Missing("LP+LK", ("on_hit",))),
        ("2HK", "2LK", Contact(juggle_count=0), Missing("2HK", ("on_air_hit",))),
    ],
)
def test_a_number_that_decides_and_is_missing_is_named(
    first: str, second: str, contact: Contact, missing: Missing
) -> None:
    assert ask(first, second, contact) == missing.verdict


def test_a_yes_adds_the_juggle_count_and_how_far_the_second_move_reaches() -> None:
    reaches = Reason(Code.IN_REACH_UP_TO, Facts(move="2LK", distance=0.735, unit="tiles"))
    assert said("5HP", "2LK") == said("5HP", "2LK", Contact(distance=0.2)) == (reaches,)
    blocked = Reason(Code.IN_REACH_UP_TO, Facts(move="2LK", distance=1.135, unit="tiles"))
    assert said("5HP", "2LK", BLOCK) == (blocked,)
    assert said("2HP", "5LP") == (Reason(Code.JUGGLES, Facts(move="5LP", count=2, limit=3)),)
    assert said("2HP", "5HK") == (Reason(Code.JUGGLES, Facts(move="5HK", count=2, limit=1)),)
    ball = replace(move(GAME, "236LP"), pushback_on_hit=0.5)
    assert notes(GAME, ball, move(GAME, "2LK"), Contact()) == (reaches,)
    assert said("2HK", "2LK") == (Reason(Code.HITS_DOWNED, Facts(move="2LK", limit=1)),)


@pytest.mark.parametrize(
    ("first", "second", "contact"),
    [
        ("5LP", "5MP", Contact()),
        ("5LP", "2LK", Contact()),
        ("2HP", "5LP", BLOCK),
        ("2HK", "2LK", BLOCK),
        ("5HP", "236LP", Contact()),
        ("5HP", "5LP", Contact()),
    ],
)
def test_where_there_is_nothing_to_add_nothing_is(first: str, second: str, contact: Contact) -> None:
    assert said(first, second, contact) == ()


@pytest.mark.parametrize(
    ("on_hit", "rules"),
    [("KD 30", {}), ("launch 40", {}), ("KD 30", {"juggle": {"limit": 3}})],
)
def test_an_earlier_hit_leaves_the_defender_standing_whatever_the_last_one_does(
    on_hit: str, rules: dict[str, Any]
) -> None:
    # the first hit's 20 frames of stun and startup 14; only the last hit knocks down or launches
    cancels = {
        "name": "cancel",
        "from": {"kinds": ["normal"]},
        "into": {"kinds": ["special"]},
        "contact": ["hit"],
    }
    game = game_of(
        row("5HP", 9, "2(6)3", 18, on_hit, "-4", hitstun="20; ?", cancellable_hits="1"),
        row("236LP", 14, 3, 20, "+1", "-6", kind="special"),
        cancel=[cancels],
        **rules,
    )
    combos = cancel(game, solo(game), move(game, "5HP"), move(game, "236LP"), Contact()).combos
    assert combos.answer is Answer.YES
    assert [reason.code for reason in combos.reasons] == [Code.STUN_LASTS]
    assert refusal(game, move(game, "5HP"), move(game, "236LP"), Contact(), hit=2) is not None
