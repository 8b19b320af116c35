"""A newcomer opens the room in a browser, asks, and is answered: on a wide page and on a phone's.

The tests of one width visit one room, one after the other, as one visitor.
"""

from __future__ import annotations

import re

import pytest
from room.page import Page
from room.running import RunningRoom

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("nothing_is_wider_than_the_page")]


def test_the_first_screen_is_a_welcome_that_says_what_to_type(page: Page) -> None:
    page.see("Ask me about Saltglass")
    assert "begin with @ and my name" in page.text()
    assert "/ask" in page.text()


def test_each_question_of_the_welcome_is_answered(page: Page) -> None:
    _, after = page.text().split("Try one of these:\n")
    questions = re.findall(r".+\?", after.split("How do I ask?")[0])
    assert len(questions) == 3
    for question in questions:
        answer = page.hear(f"@Cornerman {question}")
        assert answer.startswith("Yes, "), question


def test_a_slash_command_is_answered(page: Page) -> None:
    page.ask("ask", question="does Odrun's 5MP link into 2MP?")
    page.see("7 - 6 + 1 = 2")  # +7 on hit against 6 frames of startup


def test_an_answer_offers_the_next_question(page: Page) -> None:
    page.press("Is 2MP safe?")
    page.see("2MP is safe on block")  # +1


def test_a_mention_typed_by_name_is_answered(page: Page) -> None:
    answer = page.hear("@cornerman can I cancel Garrow's 5MP into 214LP on block?")
    assert answer.startswith("Yes, you may cancel 5MP into 214LP on block")


def test_a_name_that_may_mean_several_gets_a_choice_to_press(page: Page) -> None:
    assert page.hear("@Cornerman is 2HK safe?").startswith("Whose “2HK”?")
    page.press("Is 2HK safe? (Mirrel Quay)")
    page.see("2HK is unsafe on block: at -11")


def test_what_is_not_about_the_game_gets_a_kind_word_and_questions_to_try(page: Page) -> None:
    answer = page.hear("@Cornerman good morning, what is for dinner?")
    assert answer.startswith("Sorry, ")
    assert "Try one of these" in answer


def test_what_is_not_said_to_the_bot_is_left_alone(page: Page) -> None:
    page.say("is 2HK safe? asked the cook")
    page.see("asked the cook")
    assert page.text().endswith("is 2HK safe? asked the cook")


def test_a_private_answer_is_seen_by_nobody_else(page: Page) -> None:
    page.ask("help")
    page.see("For ten minutes")
    page.look_as("Oskar")
    assert "For ten minutes" not in page.text()


def test_in_direct_messages_a_question_needs_no_mention(page: Page, running: RunningRoom) -> None:
    running.type("go dm ivo")
    page.reload()
    assert page.hear("is Garrow's 2HK safe?").startswith("2HK is unsafe on block: at -12")
