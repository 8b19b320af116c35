"""Questions in plain words are taken for what they mean, whatever their wording."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from demo import GAMES

from bot.results.ask import (
    Ambiguous,
    Asked,
    Kind,
    NothingBefore,
    NotUnderstood,
    TwoQuestions,
    UnknownName,
)
from bot.services.ask import AskService
from bot.services.asker import Recent
from bot.words.patterns import read_pattern
from bot.words.tokens import tokens

Services = Callable[[str], AskService]

FILE = Path(__file__).parents[1] / "data" / "questions.toml"
CASES: list[dict[str, Any]] = tomllib.loads(FILE.read_text("utf-8"))["question"]
ANSWERED = [case for case in CASES if "kind" in case]
REFUSED = [case for case in CASES if "refused" in case]
REFUSALS = {
    "ambiguous": Ambiguous,
    "unknown-name": UnknownName,
    "not-understood": NotUnderstood,
    "nothing-before": NothingBefore,
    "two-questions": TwoQuestions,
}


def ask(service: Services, case: dict[str, Any], text: str | None = None) -> Any:
    question = case["ask"] if text is None else text
    asking, recent = service(case.get("game", "trade")), None
    if "before" in case:
        before = asking.ask(case["before"], case.get("as"))
        assert isinstance(before, Asked), before
        moves = tuple(move.input for move in before.moves)
        recent = Recent(before.game.name, before.character.name, moves)
    return asking.ask(question, case.get("as"), recent=recent)


def meaning(result: Any) -> Any:
    """What was understood and answered, without the words it was asked in."""
    if not isinstance(result, Asked):
        return type(result)
    inputs = [move.input for move in result.moves]
    return result.kind, result.character.name, inputs, result.contact, result.answer


@pytest.mark.parametrize("case", ANSWERED, ids=lambda case: case["ask"])
def test_a_question_gets_its_kind_moves_contact_and_answer(case: dict[str, Any], service: Services) -> None:
    asked = ask(service, case)
    assert isinstance(asked, Asked), asked
    assert asked.kind == case["kind"]
    assert [move.input for move in asked.moves] == case["moves"]
    assert asked.contact.kind == case.get("on", "hit")
    assert asked.contact.state == case.get("state")
    assert asked.contact.active_frame == case.get("active_frame", 1)
    assert (asked.answer and asked.answer.value) == case.get("answer")
    assert asked.only_choice == case.get("only_choice", False)
    if "character" in case:
        assert asked.character.name == case["character"]


@pytest.mark.parametrize("case", REFUSED, ids=lambda case: case["ask"])
def test_a_question_that_is_not_clear_is_refused_and_never_guessed(
    case: dict[str, Any], service: Services
) -> None:
    assert isinstance(ask(service, case), REFUSALS[case["refused"]])


def test_the_table_has_every_kind_of_question_and_enough_awkward_ones() -> None:
    assert {case["kind"] for case in ANSWERED} == set(Kind)
    assert len(CASES) >= 150
    assert sum(case.get("awkward", False) for case in CASES) >= 50
    assert {case.get("game", "trade") for case in CASES} == {"trade", *GAMES}


@pytest.mark.parametrize("case", ANSWERED, ids=lambda case: case["ask"])
@pytest.mark.parametrize(
    "change",
    [
        str.upper,
        str.title,
        lambda text: f"Hey coach, {text}",
        lambda text: f"{text.rstrip('?')} please?!",
        lambda text: f"  {text.replace(' ', '   ')}  ",
        lambda text: f"Could you tell me, {text}",
        lambda text: text.replace("'", "’"),
    ],
    ids=["upper", "title", "greeting", "please", "blanks", "could you", "apostrophe"],
)
def test_case_politeness_blanks_and_signs_do_not_matter(
    case: dict[str, Any], change: Callable[[str], str], service: Services
) -> None:
    assert meaning(ask(service, case, change(case["ask"]))) == meaning(ask(service, case))


@pytest.mark.parametrize(
    ("one", "another"),
    [
        ("does 5MP link into 2MP", "does standing medium punch link into crouching medium punch"),
        ("does 5MP link into 2MP", "does straight link into body blow"),
        ("does First's 5MP link into 2MP", "does 5MP link into 2MP as First"),
        ("First: does 5MP link into 2MP", "does 5MP link into 2MP, First"),
        ("does 5MP link into 5MP on counter hit", "on CH does 5MP link into 5MP"),
        ("can I cancel 5MP into 236LP on block", "if it's blocked, is 5MP cancellable into qcf LP"),
    ],
)
def test_the_same_meaning_in_other_words_gets_the_same_answer(
    one: str, another: str, service: Services
) -> None:
    ask_trade = service("trade").ask
    assert isinstance(ask_trade(one, "First"), Asked)
    assert meaning(ask_trade(one, "First")) == meaning(ask_trade(another, "First"))


@pytest.mark.parametrize(
    ("one", "another"),
    [
        ("does 5MP link into 2MP", "does 2MP link into 5MP"),
        ("does 5MP link into 2MP", "does 5MP link into 2MP on block"),
        ("does 5MP link into 5MP", "does 5MP link into 5MP on counter hit"),
        ("does 5MP link into 2MP", "is 5MP into 2MP a combo"),
        ("what punishes First's 5HP as Second", "what punishes First's 5HP as First"),
    ],
)
def test_another_meaning_gets_another_answer(one: str, another: str, service: Services) -> None:
    ask_trade = service("trade").ask
    first, second = ask_trade(one, "First"), ask_trade(another, "First")
    assert isinstance(first, Asked)
    assert isinstance(second, Asked)
    assert (meaning(first), first.detail) != (meaning(second), second.detail)


def test_words_know_their_place_in_the_text() -> None:
    text = "Does “cr.MP” → 5HP, link?"
    for token in tokens(text):
        assert text[token.start : token.end].casefold() == token.word


def test_a_pattern_with_a_bracket_missing_is_refused() -> None:
    with pytest.raises(ValueError, match="bracket"):
        read_pattern("[does {a} link", {})
