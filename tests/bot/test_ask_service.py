"""What the ask service does about characters, moves and examples; the answers' numbers by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from bot.results.ask import (
    Ambiguous,
    Asked,
    Gaps,
    Named,
    NoSuchFrame,
    NotUnderstood,
    Punishes,
    UnknownName,
)
from bot.services.ask import AskService
from core.followups import FollowUp
from core.model import Game
from core.verdict import Verdict

Services = Callable[[str], AskService]


def asked(service: AskService, text: str, character: str | None = None) -> Asked:
    result = service.ask(text, character)
    assert isinstance(result, Asked), result
    return result


def test_a_link_has_both_its_numbers(service: Services) -> None:
    # +5, starts in 4: W = 2; with the buffer of 4: 6 presses, -4 to 1.
    detail = asked(service("trade"), "does 5MP link into 5LP", "First").detail
    assert isinstance(detail, FollowUp)
    numbers = detail.link.evidence
    assert numbers["window_frames"] == 2
    assert (numbers["first_press_frames"], numbers["last_press_frames"]) == (-4, 1)


def test_a_gap_grows_with_the_delay(service: Services) -> None:
    # blockstun of 5MP is -1 + 2 + 12 = 13; 236LP starts in 14.
    for text, gap in (("gap between 5MP and 236LP", 1), ("gap between 5MP and 236LP 2 frames late", 3)):
        detail = asked(service("trade"), text, "First").detail
        assert isinstance(detail, Gaps)
        assert detail.ways[0].verdict.evidence["gap_frames"] == gap


def test_a_confirm_is_counted_from_the_touch_to_the_last_press(service: Services) -> None:
    # hitstop 10, then the first three frames: the last press is 13 frames after the touch.
    detail = asked(service("trade"), "how long to confirm 5MP into 236LP", "First").detail
    assert isinstance(detail, Verdict)
    assert detail.evidence["confirm_frames"] == 13


def test_a_punish_without_a_punisher_is_answered_for_everybody(service: Services) -> None:
    detail = asked(service("trade"), "what punishes 2HK").detail
    assert isinstance(detail, Punishes)
    assert [by.character.name for by in detail.by] == ["First", "Second"]


def test_a_punish_is_by_the_asker_where_nobody_else_is_named(service: Services) -> None:
    detail = asked(service("trade"), "what punishes Second's 236LP", "First").detail
    assert isinstance(detail, Punishes)
    assert [by.character.name for by in detail.by] == ["First"]
    # -8: everything of First that starts in 8 or less.
    assert {option.move.input for option in detail.by[0].answer.moves} == {
        "5LP", "2LP", "5MP", "2MP", "236236LP", "236236MP",
    }  # fmt: skip


def test_the_only_character_with_the_moves_is_taken_and_said(service: Services) -> None:
    result = asked(service("trade"), "is 2HK safe")
    assert result.character.name == "First"
    assert result.only_choice


def test_a_named_character_is_no_choice(service: Services) -> None:
    assert not asked(service("trade"), "is First's 2HK safe").only_choice


def test_a_move_that_several_have_is_asked_back(service: Services) -> None:
    result = service("trade").ask("is 5LP safe")
    assert isinstance(result, Ambiguous)
    assert [candidate.character.name for candidate in result.candidates if candidate.character] == [
        "First",
        "Second",
    ]


def test_shorthand_for_several_moves_is_asked_back(service: Services) -> None:
    result = service("saltglass").ask("is odrun's 236P safe")
    assert isinstance(result, Ambiguous)
    assert [candidate.move.input for candidate in result.candidates if candidate.move] == [
        "236LP",
        "236MP",
        "236HP",
    ]
    assert result.text[result.place.start : result.place.end] == "236P"


def test_an_unknown_move_is_pointed_at(service: Services) -> None:
    text = "does 5MP link into 2MQ"
    result = service("trade").ask(text, "First")
    assert isinstance(result, UnknownName)
    assert result.place is not None
    assert text[result.place.start : result.place.end] == "2MQ"
    assert result.of is not None
    assert result.of.name == "First"


def test_an_unknown_character_is_pointed_at_and_the_nearest_named(service: Services) -> None:
    result = service("saltglass").ask("what punishes 2HK as Odorum Vail")
    assert isinstance(result, UnknownName)
    assert result.what is Named.CHARACTER
    assert result.near[0] == "Odrun Vale"


@pytest.mark.parametrize(("character", "scheme"), [("Bob", None), ("First", "nonsense")])
def test_an_unknown_option_is_refused(service: Services, character: str, scheme: str | None) -> None:
    result = service("trade").ask("2MP", character, scheme)
    assert isinstance(result, UnknownName)
    assert result.place is None


def test_the_asker_s_scheme_changes_the_move(service: Services) -> None:
    result = service("trade").ask("tell me about push", "First", "simple")
    assert isinstance(result, Asked)
    assert result.moves[0].input == "5SP"


def test_an_active_frame_that_the_move_does_not_have_is_refused(service: Services) -> None:
    result = service("trade").ask("does 5MP link into 5MP on active frame 4", "First")
    assert isinstance(result, NoSuchFrame)
    assert isinstance(service("trade").ask("does 5MP link into 5MP on active frame 3", "First"), Asked)


@pytest.mark.parametrize("game", ["trade", "saltglass", "kitewind"])
@pytest.mark.parametrize("named", [True, False])
def test_examples_are_three_and_all_have_an_answer(service: Services, game: str, named: bool) -> None:
    ask_game = service(game)
    for who in ask_game.game.characters:
        examples = ask_game.examples(who, named)
        assert len(set(examples)) == 3
        for example in examples:
            assert isinstance(ask_game.ask(example, None if named else who.name), Asked), example


def test_a_question_of_any_length_is_handled(service: Services) -> None:
    for text in ("5MP " * 5000, "a" * 300, "does 5MP link into " * 15, "[" * 299, "' " * 149):
        result = service("trade").ask(text, "First")
        assert not isinstance(result, Asked)
    assert isinstance(service("trade").ask("5MP " * 5000, "First"), NotUnderstood)


def test_a_game_without_characters_answers_nothing() -> None:
    assert isinstance(AskService(Game("Empty", "1", 60, ())).ask("5MP 2MP"), UnknownName)


def test_a_character_or_state_inside_a_move_s_name_stays_in_the_name(trade_game: Game) -> None:
    first = trade_game.characters[0]
    names = {"5MP": "Second's answer", "2MP": "counter hit blow"}
    moves = tuple(replace(move, name=names.get(move.input, move.name)) for move in first.moves)
    called = AskService(
        replace(trade_game, characters=(replace(first, moves=moves), *trade_game.characters[1:]))
    )
    for question in (
        "does second's answer link into counter hit blow",
        "First: Second's answer link into 2MP?",
    ):
        result = asked(called, question, "First")
        assert [move.input for move in result.moves] == ["5MP", "2MP"]
        assert (result.character.name, result.contact.state) == ("First", None)
    theirs = asked(called, "does 5MP link into 5LP on counter hit as Second", "First")
    assert (theirs.character.name, theirs.contact.state) == ("Second", "counter hit")
