"""What the rules say of one move begun out of another: which allow it, and why the others forbid."""

from __future__ import annotations

from typing import Any

import pytest
from builders import game_of, move, row, solo

from core.model import Contact, ContactKind, Game, Means
from core.permission import Permission, permission
from core.verdict import Code, Facts, Reason

TAG = {"tags": "special-cancellable; quick"}
MOVES = [
    row("5LP", 4, 3, 8, "+4", "+1", **TAG),
    row("5MP", 6, 3, 12, "+5", "-1", **TAG),
    row("5HP", 9, "2(6)3", 18, "+2", "-4", cancellable_hits="1", **TAG),
    row("LP+MP", 8, 3, 18, "+2", "-4"),
    row("236LP", 14, 3, 20, "+1", "-6", kind="special"),
    row("j.HP", 7, 5, 6, "2..9", "0..6"),
]
ANY: dict[str, Any] = {"name": "any", "from": {}, "into": {}, "contact": ["hit", "block"]}
SPECIAL = ANY | {"name": "special cancel", "into": {"kinds": ["special"]}}
WHIFF = Contact(ContactKind.WHIFF)


def ask(
    first: str, second: str, *rules: dict[str, Any], contact: Contact | None = None, hit: int = 1
) -> Permission:
    return of(game_of(*MOVES, cancel=list(rules)), first, second, contact, hit)


def of(game: Game, first: str, second: str, contact: Contact | None = None, hit: int = 1) -> Permission:
    return permission(game, solo(game), move(game, first), move(game, second), contact or Contact(), hit)


@pytest.mark.parametrize(
    ("wanted", "missed"),
    [
        ({"moves": ["5LP", "236LP"]}, "moves: 236LP, 5LP"),
        ({"kinds": ["super", "special"]}, "kinds: special, super"),
        ({"strengths": ["light", "heavy"]}, "strengths: heavy, light"),
        ({"levels": [1]}, "levels: 1"),
        ({"stances": ["crouching"]}, "stances: crouching"),
        ({"tags": ["slow"]}, "tags: slow"),
        ({"without_tags": ["special-cancellable", "quick"]}, "without_tags: quick, special-cancellable"),
    ],
)
def test_a_move_that_a_rule_does_not_speak_of_is_told_what_it_lacks(
    wanted: dict[str, Any], missed: str
) -> None:
    slow = row("5HK", 9, 3, 18, 2, -4, tags="slow")
    game = game_of(*MOVES, slow, cancel=[SPECIAL | {"from": wanted}])
    facts = Facts(rule="special cancel", first="5MP", second="236LP", missed=missed)
    assert of(game, "5MP", "236LP").refusals == (Reason(Code.SOURCE_NOT_IN_RULE, facts),)


@pytest.mark.parametrize(
    "wanted",
    [
        {"moves": ["5MP"]},
        {"kinds": ["normal", "special"]},
        {"strengths": ["medium"]},
        {"stances": ["standing"]},
        {"tags": ["quick", "slow"]},
        {"without_tags": ["slow"]},
    ],
)
def test_a_move_that_a_rule_speaks_of_may_be_cancelled(wanted: dict[str, Any]) -> None:
    slow = row("5HK", 9, 3, 18, 2, -4, tags="slow")
    game = game_of(*MOVES, slow, cancel=[SPECIAL | {"from": wanted}])
    assert [rule.name for rule in of(game, "5MP", "236LP").rules] == ["special cancel"]


def test_the_rule_that_is_nearest_to_allowing_it_gives_the_first_reason() -> None:
    rules = [
        ANY | {"name": "source", "from": {"kinds": ["special"]}},
        ANY | {"name": "contact", "contact": ["block"]},
        ANY | {"name": "order", "order": "rising"},
        ANY | {"name": "after", "not_after": ["chain"]},
        ANY | {"name": "uses", "per_route": 1},
    ]
    contact = Contact(came_by=Means.CHAIN, rules_used=("uses",))
    pair = {"first": "5MP", "second": "5LP"}
    assert ask("5MP", "5LP", *rules, contact=contact) == Permission(
        (),
        (
            Reason(Code.USED_UP, Facts(rule="uses", **pair, uses=1)),
            Reason(Code.NOT_AFTER, Facts(rule="after", **pair, means="chain")),
            Reason(Code.ORDER_FORBIDS, Facts(rule="order", **pair, order="rising")),
            Reason(Code.CONTACT_NOT_IN_RULE, Facts(rule="contact", **pair, contact="hit", allowed="block")),
            Reason(Code.SOURCE_NOT_IN_RULE, Facts(rule="source", **pair, missed="kinds: special")),
        ),
    )


def test_a_move_that_may_not_follow_itself_is_nearer_than_one_refused_for_its_contact() -> None:
    rules = [
        ANY | {"name": "contact", "contact": ["block"]},
        ANY | {"name": "same", "same_move": False},
        ANY | {"name": "after", "not_after": ["chain"]},
    ]
    found = ask("5MP", "5MP", *rules, contact=Contact(came_by=Means.CHAIN))
    assert [reason.facts["rule"] for reason in found.refusals] == ["after", "same", "contact"]
    assert ask("5MP", "5LP", rules[1]).rules
    assert not ask("5MP", "5MP", rules[1]).rules


def test_a_rule_may_be_used_as_often_as_it_says_and_other_rules_uses_do_not_count() -> None:
    twice = ANY | {"per_route": 2}
    used = ("any", "other", "other")
    assert ask("5MP", "5LP", twice, contact=Contact(rules_used=used)).rules
    assert not ask("5MP", "5LP", twice, contact=Contact(rules_used=(*used, "any"))).rules


def test_a_character_s_own_rules_come_before_the_game_s() -> None:
    own = {"name": "Solo", "move": MOVES, "cancel": [SPECIAL | {"name": "own"}]}
    game = game_of(character=own, cancel=[SPECIAL])
    assert [rule.name for rule in of(game, "5MP", "236LP").rules] == ["own", "special cancel"]


def test_where_no_rule_leads_into_a_move_the_reason_says_what_it_is() -> None:
    reason = Reason(Code.NO_RULE_INTO, Facts(move="5LP", kind="normal"))
    assert ask("236LP", "5LP", SPECIAL) == Permission((), (reason,))


@pytest.mark.parametrize(
    ("first", "second", "code"), [("5MP", "j.HP", Code.NEEDS_AIR), ("j.HP", "5MP", Code.NEEDS_GROUND)]
)
def test_a_move_is_begun_where_the_first_one_is(first: str, second: str, code: Code) -> None:
    reason = Reason(code, Facts(first=first, second=second))
    assert ask(first, second, ANY) == Permission((), (reason,))
    assert ask("j.HP", "j.HP", ANY).rules


@pytest.mark.parametrize(("first", "second"), [("5LP", "LP+MP"), ("LP+MP", "5HP")])
def test_a_move_without_one_strength_is_in_no_order(first: str, second: str) -> None:
    for order in ("rising", "not falling"):
        assert [reason.code for reason in ask(first, second, ANY | {"order": order}).refusals] == [
            Code.ORDER_FORBIDS
        ]
    assert ask(first, second, ANY).rules


def test_a_hit_that_is_not_cancellable_is_refused_and_on_whiff_no_hit_is_asked() -> None:
    always = ANY | {"contact": ["hit", "whiff"]}
    reason = Reason(Code.HIT_NOT_CANCELLABLE, Facts(move="5HP", hit=2))
    assert ask("5HP", "5LP", always, hit=2) == Permission((), (reason,))
    assert ask("5HP", "5LP", always, hit=1).rules
    assert ask("5HP", "5LP", always, contact=WHIFF, hit=2).rules
