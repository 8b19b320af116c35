"""The trade's rules of thumb, each with what it allows and what it forbids (common practice, no source)."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from core.cancels import cancel
from core.links import link
from core.model import Character, Contact, ContactKind, Game, Move, MoveKind
from core.verdict import Verdict

FACTS = tomllib.loads((Path(__file__).parents[1] / "data" / "trade_facts.toml").read_text("utf-8"))["fact"]
CASES = [(fact["says"], case) for fact in FACTS for case in fact["cases"]]


def character(game: Game, name: str) -> Character:
    return next(character for character in game.characters if character.name == name)


def move(character: Character, text: str) -> Move:
    return next(move for move in character.moves if move.input == text)


def ask(game: Game, case: dict[str, Any]) -> Verdict:
    who = character(game, case["who"])
    first, second = move(who, case["first"]), move(who, case["second"])
    contact = Contact(ContactKind(case["on"]))
    if case["ask"] == "links":
        return link(game, who, first, second, contact)
    answer = cancel(game, who, first, second, contact)
    return answer.legal if case["ask"] == "legal" else answer.combos


@pytest.mark.parametrize(("says", "case"), CASES, ids=[f"{says}: {case}" for says, case in CASES])
def test_a_trade_fact_holds_with_its_reason(trade_game: Game, says: str, case: dict[str, Any]) -> None:
    verdict = ask(trade_game, case)
    assert verdict.answer == case["answer"], says
    assert verdict.reasons[0].code == case["reason"], says


@pytest.mark.parametrize("fact", FACTS, ids=[fact["says"] for fact in FACTS])
def test_every_trade_fact_is_told_from_both_sides(fact: dict[str, Any]) -> None:
    assert {case["answer"] for case in fact["cases"]} == {"yes", "no"}


def test_a_cancel_may_be_pressed_at_once_but_a_link_must_be_timed(trade_game: Game) -> None:
    who = character(trade_game, "First")
    at_contact = 0
    cancels = cancel(trade_game, who, move(who, "5MP"), move(who, "236LP"), Contact()).legal.evidence
    assert int(cancels["first_press_from_contact_frames"]) < at_contact
    assert int(cancels["last_press_from_contact_frames"]) > at_contact
    links = link(trade_game, who, move(who, "5MP"), move(who, "2MP"), Contact()).evidence
    # 5MP touches on frame 6 and its player is free on 21 + 10 + 1 = 32: a press at contact is 26 early.
    assert int(links["first_press_frames"]) > 6 - 32


def test_the_super_is_entered_right_after_the_press_before_it_without_waiting_to_see_it(
    trade_game: Game,
) -> None:
    who = character(trade_game, "First")
    for first in ("236LP", "236PP"):
        evidence = cancel(trade_game, who, move(who, first), move(who, "236236HP"), Contact()).legal.evidence
        assert int(evidence["first_press_from_contact_frames"]) == -5


def test_a_normal_is_any_punch_or_kick(trade_game: Game) -> None:
    who = character(trade_game, "First")
    plain = {one.input for one in who.moves if one.kind is MoveKind.NORMAL}
    assert plain == {"5LP", "2LP", "5MP", "2MP", "5HP", "5HK", "2HK"}


def test_with_a_simple_control_scheme_a_special_is_one_button(trade_game: Game) -> None:
    who = character(trade_game, "First")
    push = move(who, "236LP")
    assert push.under("simple").input == "5SP"
    assert push.under(None).input == "236LP"
    assert move(who, "236HP").under("simple").input == "236HP"
