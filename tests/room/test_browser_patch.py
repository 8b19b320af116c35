"""Patch day on the page: the moderator's card, a student's own sheet, and what the student is told.

The tests of one width are one visit, in this order.
"""

from __future__ import annotations

import pytest
from room.page import Page
from room.running import RunningRoom

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("nothing_is_wider_than_the_page")]

STUDENT = "Tamsin (student)"


def test_what_changed_stands_in_its_channel_for_everybody(page: Page, running: RunningRoom) -> None:
    assert "Version 1.3 is loaded" in running.type("patch")
    running.type("go #general")
    page.reload()
    page.look_as("Oskar")
    page.see("Saltglass is at version 1.3, which breaks 2 routes that members saved.")
    assert "low confirm" not in page.text()


def test_a_student_presses_it_and_reads_what_it_does_to_theirs(page: Page) -> None:
    page.look_as(STUDENT)
    page.press("What changed for me?")
    page.see("Version 1.3 of Saltglass breaks 1 route and 1 piece of homework of yours.")
    assert "patch.txt" in page.text()
    page.pick("“low confirm”: breaks")
    page.see("This works: 5MP, 2MP xx 236LP")


def test_the_student_is_told_in_private_as_time_goes_by(page: Page, running: RunningRoom) -> None:
    running.type("go dm tamsin")
    for _ in range(5):
        running.type("next")
        page.reload()
        if "Version 1.3 of Saltglass in The Breakwater" in page.text():
            break
    page.see("Version 1.3 of Saltglass in The Breakwater breaks 1 route and 1 piece of homework of yours.")
