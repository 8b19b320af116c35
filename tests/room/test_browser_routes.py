"""A student asks what to learn, saves it, and goes on to its inputs, its picture, its sound and the quiz.

The tests of one width are one visit, in this order; no notation is typed after the question.
"""

from __future__ import annotations

import pytest
from room.page import Page

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("nothing_is_wider_than_the_page")]

STUDENT = "Tamsin (student)"
NAME = "first step"


def test_a_question_brings_routes_to_choose_from(page: Page) -> None:
    page.see("Log a tally")
    page.look_as(STUDENT)
    page.ask("ask", question="what should I learn from 5MP?")
    page.see("Which one suits me?")
    page.see("The chances are for your hands")


def test_a_route_of_the_list_is_opened_and_saved(page: Page) -> None:
    page.pick_first()
    page.see("What does it come to?")
    page.press("Save it")
    page.fill({"name": NAME, "tags": "punish"}, {})
    page.see(f"Saved as “{NAME}”: 5MP")


def test_it_is_turned_into_inputs_for_either_side(page: Page) -> None:
    page.press("Inputs")
    page.see("Arrows, facing right:")
    page.press("Facing left")
    page.see("Arrows, facing left:")


def test_its_rhythm_is_a_picture_and_words(page: Page) -> None:
    page.press("Rhythm sheet")
    page.see("Where do I aim, and how often do I press?")
    assert any(NAME in alt for alt in page.pictures())
    page.press("Rhythm in words")
    page.see("the first press; the others count from it")


def test_its_sound_is_played_and_lasts_as_long_as_is_said(page: Page) -> None:
    page.press("Click track")
    page.see(f"Click track of {NAME} at 100 % speed, 4 times, ")
    said = int(page.text().rpartition("4 times, ")[2].partition(" seconds")[0])
    assert page.sounds() == [pytest.approx(said, abs=1)]


def test_it_becomes_a_drill_with_a_word_on_hands(page: Page) -> None:
    page.press("Make it a drill")
    page.see(f"{NAME} as a drill")
    assert "see a doctor or hand therapist if it stays" in page.text()


def test_it_stands_among_the_saved_routes_and_in_the_library_once_it_is_shared(page: Page) -> None:
    page.ask("route share", name=NAME)
    page.ask("route list")
    page.see("You have 3 routes saved here.")
    page.look_as("Hesper (coach)")
    page.ask("route shared", tag="punish")
    page.see(f"{NAME}: 5MP")
    page.look_as(STUDENT)


def test_a_sheet_of_conversions_has_a_picture_and_a_quiz(page: Page) -> None:
    before = len(page.pictures())
    page.ask("conversion show")
    page.see("When 5MP lands")
    assert len(page.pictures()) == before + 1
    page.press("Quiz me")
    page.see("What now?")
    page.press("bread and butter")
    page.see("It counts as practice of choosing, not of your hands.")
