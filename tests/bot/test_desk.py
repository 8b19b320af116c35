"""The desk as a chat uses it: servers, members, what "it" stands for, buttons and completion."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from demo import GAMES, demo
from inline import HandClock, desk_with
from stored import opened

from bot.render.ask import card, text
from bot.render.labels import LABEL_LENGTH, label
from bot.render.welcome import help_card, welcome_card
from bot.results.ask import (
    Ambiguous,
    Asked,
    Kind,
    Named,
    NothingBefore,
    NotUnderstood,
    OtherGame,
    TwoQuestions,
    UnknownName,
)
from bot.results.key import QuestionKey, tag_of
from bot.results.place import Place
from bot.services import memory
from bot.services.desk import AskDesk
from bot.services.keys import key_of
from bot.services.settings import SettingsBook
from core.model import Character, ContactKind, Game
from core.verdict import Answer

HERE = Place(1, 10, 100)
ELSEWHERE = Place(2, 20, 100)
DIRECT = Place(None, 30, 100)


@pytest.fixture
def clock() -> HandClock:
    return HandClock(datetime(2026, 1, 1, tzinfo=UTC))


@pytest.fixture
async def desk(clock: HandClock, tmp_path: Path) -> AsyncIterator[AskDesk]:
    async with opened(tmp_path) as store:
        book = SettingsBook(store, clock)
        desk = desk_with(store, clock, book, {name: demo(name) for name in GAMES})
        await desk.choose_own(HERE, "odrun", None)
        yield desk


def asked(result: object) -> Asked:
    assert isinstance(result, Asked), result
    return result


async def test_a_default_character_stands_in_and_is_each_member_s_and_server_s_own(desk: AskDesk) -> None:
    question = "does 5MP link into 2MP"
    assert asked(desk.ask(HERE, question)).character.name == "Odrun Vale"
    assert isinstance(desk.ask(replace(HERE, member_id=101), question), Ambiguous)
    assert isinstance(desk.ask(ELSEWHERE, question), Ambiguous)
    assert await desk.choose_own(HERE, "None", None) is None
    assert isinstance(desk.ask(HERE, question), Ambiguous)


async def test_an_unknown_character_is_refused_and_changes_nothing(desk: AskDesk) -> None:
    refused = await desk.choose_own(HERE, "Odrin Veil", "simple")
    assert isinstance(refused, UnknownName)
    assert refused.near[0] == "Odrun Vale"
    own = desk.character_of(HERE)
    assert own is not None
    assert own.name == "Odrun Vale"
    assert desk.controls_of(HERE) is None


async def test_controls_change_the_move(desk: AskDesk) -> None:
    assert await desk.choose_own(HERE, None, "simple") is None
    assert desk.controls_of(HERE) == "one-button"
    assert asked(desk.ask(HERE, "tell me about middle lamp toss")).moves[0].input == "4MP"
    assert asked(desk.about(HERE, Kind.MOVE, "middle lamp toss")).moves[0].input == "4MP"
    assert isinstance(await desk.choose_own(HERE, "garrow", "nonsense"), UnknownName)
    assert desk.controls_of(HERE) == "one-button"
    own = desk.character_of(HERE)
    assert own is not None
    assert own.name == "Odrun Vale"


async def test_each_server_has_its_own_game(desk: AskDesk) -> None:
    assert isinstance(await desk.choose_game(ELSEWHERE, "KITEWIND"), Game)
    assert desk.game_of(ELSEWHERE).name == "Kitewind"
    assert desk.game_of(HERE).name == desk.game_of(DIRECT).name == "Saltglass"
    refused = await desk.choose_game(HERE, "Kitewond")
    assert isinstance(refused, UnknownName)
    assert (refused.what, refused.near[0]) == (Named.GAME, "Kitewind")
    assert "no game “Kitewond”" in text(refused)


async def test_a_default_character_of_another_game_is_none(desk: AskDesk) -> None:
    await desk.choose_game(HERE, "Kitewind")
    assert desk.character_of(HERE) is None
    await desk.choose_game(HERE, "Saltglass")
    assert isinstance(desk.character_of(HERE), Character)


def test_it_stands_for_the_last_move_for_ten_minutes(desk: AskDesk, clock: HandClock) -> None:
    desk.ask(HERE, "is 2HK safe")
    clock.time += timedelta(minutes=10)
    assert asked(desk.ask(HERE, "what punishes it?")).moves[0].input == "2HK"
    clock.time += timedelta(minutes=10, seconds=1)
    refused = desk.ask(HERE, "what punishes it?")
    assert isinstance(refused, NothingBefore)
    assert "Which move" in text(refused)


def test_it_is_each_member_s_and_each_channel_s_own(desk: AskDesk) -> None:
    desk.ask(HERE, "is 2HK safe")
    assert isinstance(desk.ask(replace(HERE, member_id=101), "what punishes it?"), NothingBefore)
    assert isinstance(desk.ask(replace(HERE, channel_id=11), "what punishes it?"), NothingBefore)


async def test_it_is_forgotten_when_the_game_changes(desk: AskDesk) -> None:
    desk.ask(HERE, "is 2HK safe")
    await desk.choose_game(HERE, "Kitewind")
    assert isinstance(desk.ask(HERE, "what punishes it?"), NothingBefore)


def test_no_more_is_remembered_than_the_bound(desk: AskDesk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(memory, "RECALLED_MOST", 2)
    for member in (1, 2, 3):
        desk.about(Place(1, 10, member), Kind.SAFE, "2HK", character="odrun")
    assert isinstance(desk.ask(Place(1, 10, 1), "is it safe"), NothingBefore)
    assert asked(desk.ask(Place(1, 10, 3), "is it safe")).moves[0].input == "2HK"


def test_that_stands_for_the_last_pair(desk: AskDesk) -> None:
    desk.ask(HERE, "5mp 2mp?")
    real = asked(desk.ask(HERE, "is that real?"))
    assert ([move.input for move in real.moves], real.answer) == (["5MP", "2MP"], Answer.YES)
    late = asked(desk.ask(HERE, "it came out but they blocked"))
    assert late.kind is Kind.LATE
    assert "too late" in card(late).lead


def test_a_button_that_did_not_come_out_asks_which_link_and_its_choices_settle_it(desk: AskDesk) -> None:
    refused = desk.ask(HERE, "why did my 2MP not come out?")
    assert isinstance(refused, NothingBefore)
    # 5MP: +7 against 6; the others that leave enough are a launcher and a launch.
    keys = desk.choices(refused, HERE)
    assert keys[0] == QuestionKey(Kind.EARLY, "saltglass", "Odrun Vale", "5MP", "2MP")
    settled = asked(desk.again(HERE, keys[0]))
    told = text(settled)
    assert "too early" in card(settled).lead
    # W = 2 and a buffer of 3: from 3 frames before to 1 frame after.
    assert "more than 3 frames before you are free" in told
    assert "more than 1 frame after you are free" in told


def test_two_questions_are_offered_one_by_one(desk: AskDesk) -> None:
    refused = desk.ask(HERE, "is 5HP safe and what punishes it?")
    assert isinstance(refused, TwoQuestions)
    assert [key.kind for key in desk.choices(refused)] == [Kind.SAFE, Kind.PUNISH]
    assert "two questions" in card(refused).lead
    assert "is 5HP safe" in text(refused)


def test_structured_questions_take_moves_as_typed(desk: AskDesk) -> None:
    result = asked(desk.about(HERE, Kind.LINK, "cr.MP", "standing light punch", state="CH"))
    assert [move.input for move in result.moves] == ["2MP", "5LP"]
    assert result.contact.state == "counter hit"
    gap = asked(desk.about(HERE, Kind.GAP, "5MP", "2MP", delay_frames=2))
    assert gap.question.said.delay_frames == 2
    theirs = asked(desk.about(HERE, Kind.PUNISH, "2HP", character="garrow", mine="mirrel"))
    assert theirs.character.name == "Garrow Thrupp"
    assert next(iter(theirs.detail.by)).character.name == "Mirrel Quay"  # type: ignore[union-attr]


@pytest.mark.parametrize(
    "wrong",
    [
        {"first": "9QQ"},
        {"first": "5MP", "character": "Bob"},
        {"first": "5MP", "mine": "Bob"},
        {"first": ""},
        {"first": "   "},
        {"first": "x" * 2000},
        {"first": "5MP", "character": "x" * 2000},
        {"first": "@everyone <@1> **5MP**"},
    ],
)
def test_structured_nonsense_is_refused_and_can_be_shown(desk: AskDesk, wrong: dict[str, str]) -> None:
    result = desk.about(HERE, Kind.PUNISH, **wrong)
    assert isinstance(result, UnknownName | NotUnderstood)
    assert len(text(result)) < 2000


QUESTIONS = [
    "does 5MP link into 2MP",
    "does 5HP link into 2MP",
    "can I cancel 5MP into 236HP on block",
    "can I cancel 5MP into a special",
    "window from 5MP to 2MP",
    "gap between 5MP and 2MP 1 frame late",
    "how long to confirm 5MP into 236HP",
    "what can I do after 5HP",
    "what links after 5MP on counter hit",
    "what punishes Garrow's 2HP",
    "is 2HK safe against Garrow",
    "is 5MP plus on block",
    "tell me about 5MP",
    "tell me about 66",
    "is 5MP meaty after 2HK",
    "is j.HP a safe jump after 2HK",
    "why did 2MP not come out after 5MP",
    "2MP came out but they blocked after 5MP",
    "does 5MP link into 2MP if it hits meaty on the 2nd active frame",
    "does 5MP link into 2MP after 3 hits",
    "does 5MP link into 2MP from 0.5 steps away",
]


@pytest.mark.parametrize("question", QUESTIONS)
def test_next_questions_have_answers_and_labels_that_differ(desk: AskDesk, question: str) -> None:
    result = desk.ask(HERE, question)
    if not isinstance(result, Asked):
        pytest.fail(f"{question}: {result}")
    keys = desk.next_questions(result)
    labels = [label(key, result.game) for key in keys]
    assert len(keys) <= 4
    assert bool(keys) != (question == "tell me about 66")
    assert len(set(labels)) == len(keys)
    for key, said in zip(keys, labels, strict=True):
        assert 0 < len(said) <= LABEL_LENGTH
        again = asked(desk.again(HERE, key))
        assert text(again)


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_button_asks_the_very_same_question(desk: AskDesk, question: str) -> None:
    result = asked(desk.ask(HERE, question))
    again = asked(desk.again(Place(1, 99, 999), key_of(result)))
    assert again.detail == result.detail
    assert again.contact == result.contact
    assert card(again).lead == card(result).lead


def test_the_choices_of_a_name_lead_to_answers(desk: AskDesk) -> None:
    refused = desk.ask(HERE, "does crouching medium punch link into standing heavy on counter hit?")
    assert isinstance(refused, Ambiguous)
    keys = desk.choices(refused)
    assert [key.second for key in keys] == ["5HP", "5HK"]
    for key in keys:
        assert asked(desk.again(HERE, key)).contact.state == "counter hit"
    whose = desk.ask(ELSEWHERE, "does 5MP link into 2MP")
    assert isinstance(whose, Ambiguous)
    names = [asked(desk.again(ELSEWHERE, key)).character.name for key in desk.choices(whose)]
    assert names == [who.name for who in desk.game_of(ELSEWHERE).characters]


def test_a_second_name_that_is_open_is_asked_back_after_the_first(desk: AskDesk) -> None:
    refused = desk.ask(HERE, "does standing heavy link into crouching light")
    assert isinstance(refused, Ambiguous)
    then = desk.again(HERE, desk.choices(refused)[0])
    assert isinstance(then, Ambiguous)
    assert isinstance(desk.again(HERE, desk.choices(then)[0]), Asked)


def test_near_names_are_choices_too(desk: AskDesk) -> None:
    refused = desk.ask(HERE, "is 236HK safe")
    assert isinstance(refused, UnknownName)
    assert [asked(desk.again(HERE, key)).moves[0].input for key in desk.choices(refused)] == list(
        refused.near
    )


async def test_a_button_of_another_game_or_a_move_that_is_gone_is_refused(desk: AskDesk) -> None:
    key = QuestionKey(Kind.SAFE, tag_of("Saltglass"), "Odrun Vale", "2HK", contact=ContactKind.BLOCK)
    assert asked(desk.again(HERE, key)).answer is Answer.NO
    assert isinstance(desk.again(HERE, replace(key, first="9XX")), UnknownName)
    assert isinstance(desk.again(HERE, replace(key, character="Gone")), UnknownName)
    await desk.choose_game(HERE, "Kitewind")
    refused = desk.again(HERE, key)
    assert isinstance(refused, OtherGame)
    assert "Kitewind" in text(refused)


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("5m", "5MP"),
        ("cr.mp", "2MP"),
        ("lamp sw", "5MP"),
        ("sweep", "2HK"),
        ("grteatcoat", "5HK"),
        ("623h", "623HP"),
    ],
)
def test_moves_complete_best_first(desk: AskDesk, typed: str, first: str) -> None:
    assert desk.complete_move(HERE, typed)[0].input == first


@pytest.mark.parametrize("typed", ["", "5", "zzzzzzzz", "x" * 2000, "\u202e\u200b", "[", "@everyone"])
def test_completion_takes_anything_and_gives_at_most_25(desk: AskDesk, typed: str) -> None:
    found = desk.complete_move(ELSEWHERE, typed)
    assert len(found) <= 25
    assert len({move.input for move in found}) == len(found)
    assert len(desk.complete_character(HERE, typed)) <= 25
    assert len(desk.complete_game(HERE, typed)) <= 25


def test_characters_and_games_complete(desk: AskDesk) -> None:
    assert desk.complete_character(HERE, "gar")[0] == "Garrow Thrupp"
    assert desk.complete_character(HERE, "thr")[0] == "Garrow Thrupp"
    assert desk.complete_game(HERE, "ki") == ("Kitewind",)
    assert desk.complete_move(HERE, "5m", "garrow")[0].name == "rope flick"


@pytest.mark.parametrize("game", GAMES)
@pytest.mark.parametrize("character", [None, 0, 1, 2, 3])
async def test_every_example_of_the_welcome_and_of_a_refusal_works(
    desk: AskDesk, game: str, character: int | None
) -> None:
    await desk.choose_game(HERE, game)
    own = None if character is None else desk.game_of(HERE).characters[character].name
    await desk.choose_own(HERE, own or "none", None)
    welcome = desk.welcome(HERE)
    refused = desk.ask(HERE, "what is for dinner")
    assert isinstance(refused, NotUnderstood)
    assert len(welcome.examples) == len(refused.examples) == 3
    for example in (*welcome.examples, *refused.examples):
        assert isinstance(desk.ask(HERE, example), Asked), example
    for shown in (welcome_card(welcome), help_card(welcome)):
        assert welcome.game.name in shown.lead
        assert shown.groups[0].lines == welcome.examples


HOSTILE = [
    "",
    " ",
    "\u200b\u200b",
    "\u202eesrever",
    "@everyone <@123> <#4> <@&5>",
    "**__~~||`x`||~~__**" * 8,
    "[click](http://x.invalid)",
    "a" * 2000,
    "5MP " * 75,
    "does " * 60,
    "is that " * 37,
    "(" * 300,
    "5MP, " * 60,
    "does 5MP link into " * 15,
    "and or but then " * 18,
    "👾" * 300,
    "\x00\x07\ud800",
    "'" * 300,
]


@pytest.mark.parametrize("said", HOSTILE, ids=[repr(said)[:30] for said in HOSTILE])
def test_hostile_text_is_refused_in_a_few_words(desk: AskDesk, said: str) -> None:
    result = desk.ask(HERE, said)
    assert not isinstance(result, Asked)
    assert len(text(result)) < 1500
    for key in desk.choices(result):
        desk.again(HERE, key)


def test_a_move_of_a_structured_question_may_name_its_owner(desk: AskDesk) -> None:
    punish = asked(desk.about(HERE, Kind.PUNISH, "Mirrel's 2HK"))
    assert (punish.character.name, punish.moves[0].input) == ("Mirrel Quay", "2HK")
    for first, second in (("Garrow's 5MP", "5LP"), ("5MP", "garrow’s 5LP"), ("Garrow's 5MP", "Garrow's 5LP")):
        gap = asked(desk.about(HERE, Kind.GAP, first, second))
        assert gap.character.name == "Garrow Thrupp"
        assert [move.input for move in gap.moves] == ["5MP", "5LP"]


def test_a_move_of_somebody_else_than_the_named_character_is_refused(desk: AskDesk) -> None:
    for first, second, named in (("Odrun's 5MP", "Mirrel's 2MP", None), ("Odrun's 5MP", "2MP", "Mirrel")):
        assert isinstance(desk.about(HERE, Kind.LINK, first, second, character=named), UnknownName)
