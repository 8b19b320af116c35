"""What is said of found routes and of the next one to learn, as plain text."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from demo import owner
from routed import SALT, opened, route_of

from bot.render.card import as_text
from bot.render.route_find import choice_label, finding_card, lands_words, lesson_card, next_card
from bot.results.finding import Choice, Finding, HardPress, Lesson, Limit, NextUp, NothingNext, Role
from bot.results.route import KnownHands
from core.model import Means
from core.routes import Aim, FoundRoute, NextStep, Start, full_gauges
from core.timing import TYPICAL

# Found routes


def choice(
    written: str, damage: int, chance: float, role: Role | None, hard: HardPress | None = None
) -> Choice:
    return Choice(route_of(written), damage, chance, damage * chance, 1.55, (("salt", 40),), hard, 9, role)


FEW = (
    choice("5MP, 2MP xx 236HP", 1_710, 0.6, Role.MOST, HardPress("5MP", "2MP", 0.6)),
    choice("5MP xx 236HP", 1_200, 0.999, Role.SUREST),
    choice("5MP, 5LP", 900, 0.8, Role.MIDDLE),
    choice("5MP, 5LK", 800, 0.7, None),
)


def finding(*routes: Choice, aim: Aim = Aim.DAMAGE, starter: str = "5MP") -> Finding:
    start = Start(gauges=full_gauges(SALT))
    return Finding(SALT, owner(SALT, "odrun"), starter, aim, start, KnownHands(), 6, routes)


def test_at_most_three_are_offered_in_words_the_surest_first() -> None:
    assert as_text(finding_card(finding(*FEW))) == (
        "The most damage from 5MP is 5MP, 2MP xx 236HP: 1,710, and it lands about 60 % of the time.\n"
        "\n"
        "Which one suits me?\n"
        "  The one you are likeliest to land: 5MP xx 236HP. 1,200 damage, lands nearly every time; "
        "costs 40 salt; "
        "no press in it is hard to time.\n"
        "  The middle way: 5MP, 5LP. 900 damage, lands about 80 % of the time; costs 40 salt; no "
        "press in it is "
        "hard to time.\n"
        "  The most damage: 5MP, 2MP xx 236HP. 1,710 damage, lands about 60 % of the time; costs 40 "
        "salt; the "
        "press that decides is 2MP after 5MP.\n"
        "\n"
        "Is that all there is?\n"
        "  Yes, with at most 6 moves in a row, but for routes that are nearly the same as these.\n"
        "\n"
        "What is taken for granted?\n"
        "  They are standing, right in front of you, and your gauges are full.\n"
        "  The chances are for typical hands; log tries at links, and I can tell them for yours.\n"
        "\n"
        "Odrun Vale in Saltglass, version 1.2"
    )


@pytest.mark.parametrize(
    ("aim", "lead"),
    [
        (Aim.EXPECTED, "What brings most on average for Odrun Vale is 5MP, 2MP xx 236HP: 1,710 damage"),
        (Aim.RELIABLE, "The surest for Odrun Vale is 5MP, 2MP xx 236HP: 1,710 damage"),
        (Aim.SHORTEST, "The shortest for Odrun Vale is 5MP, 2MP xx 236HP: over in 1.6 seconds, 1,710 damage"),
    ],
)
def test_the_lead_answers_what_was_wanted(aim: Aim, lead: str) -> None:
    assert as_text(finding_card(finding(*FEW, aim=aim, starter=""))).startswith(lead)


def test_one_route_is_told_without_a_choice() -> None:
    text = as_text(finding_card(finding(replace(FEW[0], role=Role.ONLY))))
    assert "Which one suits me?" not in text
    assert "What is it worth?\n  1,710 damage, lands about 60 % of the time; costs 40 salt;" in text


def test_a_search_that_stopped_early_and_moves_left_out_are_said() -> None:
    cut_short = replace(
        finding(*FEW), complete=False, left_out=("66", "44"), spend=(("glow", 0), ("salt", 40))
    )
    text = as_text(finding_card(cut_short))
    assert "No, I had to stop before I had seen everything: name a starter" in text
    assert "Not tried, for the game file lacks a number of theirs: 66, 44." in text
    assert "You spend no glow and at most 40 salt." in text
    nothing = replace(cut_short, spend=(("glow", 0), ("salt", 0)), hands=KnownHands(TYPICAL, 0.0, 1_234))
    text = as_text(finding_card(nothing, picture_failed=True))
    assert "You spend no gauge." in text
    assert "The chances are for your hands, by 1,234 tries in your log." in text
    assert "The picture could not be drawn this time; the words say the same." in text


def test_nothing_found_says_what_to_change() -> None:
    none = finding()
    assert as_text(finding_card(none)).startswith(
        "I found no route from 5MP: nothing that I know of follows it on a plain hit; try it on a hit state"
    )
    narrow = replace(none, limits=tuple(Limit))
    assert as_text(finding_card(narrow)).startswith(
        "I found no route from 5MP that fits: ask for less damage, or allow more gauge, or do without the "
        "knockdown, or ask for fewer moves to be in it, or leave fewer moves out, or begin closer, or allow "
        "more moves."
    )
    short = replace(narrow, complete=False)
    assert as_text(finding_card(short)).startswith("I found no route from 5MP before I had to stop")
    in_the_air = replace(finding(), start=Start(airborne=True))
    assert finding_card(in_the_air).lead == (
        "I found no route from 5MP: nothing that I know of follows it on somebody in the air; begin with "
        "another move."
    )


def test_how_often_something_lands_is_said_in_plain_words() -> None:
    assert lands_words(0.95) == "nearly every time"
    assert lands_words(0.949) == "about 95 % of the time"
    assert lands_words(0.05) == "hardly ever"


def test_a_found_route_in_a_list_names_what_it_is_worth() -> None:
    assert choice_label(FEW[0]) == ("5MP, 2MP xx 236HP", "1,710 damage, lands about 60 % of the time")


# The next one to learn


def step_up(written: str, new: int, builds_on: str | None = None) -> NextStep:
    route = route_of(written)
    joints = tuple((a.move.input, b.move.input, b.joined or Means.LINK) for a, b in pairwise(route.steps))
    added = joints[len(joints) - new :]
    found = FoundRoute(route, 1_710, 0.87, 1_550.4, 93, (0, 0), added)
    before = route_of(builds_on) if builds_on else None
    shared = len(before.steps) if before else 0
    return NextStep(found, added, 349.6, before, before, shared, complete=True)


def next_up(written: str, new: int, builds_on: str | None = None, owned: int = 1) -> NextUp:
    return NextUp(opened(written), step_up(written, new, builds_on), owned)


def test_the_next_route_is_told_by_what_is_new_what_it_brings_and_what_it_builds_on() -> None:
    assert as_text(next_card(next_up("5MP, 2MP xx 236HP", 1, "5MP, 2MP"))) == (
        "Learn 5MP, 2MP xx 236HP next: only the cancel 2MP xx 236HP is new in it.\n"
        "\n"
        "What is new in it?\n"
        "  The cancel 2MP xx 236HP.\n"
        "\n"
        "What does it bring?\n"
        "  1,710 damage, and it lands about 87 % of the time; costs no gauge.\n"
        "  About 350 damage more on average than 5MP, 2MP, the best that you own.\n"
        "\n"
        "What does it build on?\n"
        "  It begins as 5MP, 2MP does, for 2 moves.\n"
        "\n"
        "What is taken for granted?\n"
        "  They are standing, right in front of you, and your gauges are full.\n"
        "\n"
        "Odrun Vale in Saltglass, version 1.2"
    )


@pytest.mark.parametrize(
    ("found", "lead"),
    [
        (
            next_up("5MP, 2MP, 5LP xx 236HP", 2, "5MP, 2MP"),
            "Learn 5MP, 2MP, 5LP xx 236HP next: the link 2MP, 5LP and the cancel 5LP xx 236HP are "
            "new in it, the "
            "rest you own.",
        ),
        (
            next_up("5MP, 2MP xx 236HP", 2),
            "Learn 5MP, 2MP xx 236HP next: it asks for the link 5MP, 2MP and the cancel 2MP xx "
            "236HP, which you do "
            "not own yet.",
        ),
        (next_up("5MP, 2MP", 1, owned=0), "Begin with 5MP, 2MP: it asks for only the link 5MP, 2MP."),
        (
            next_up("5MP, 2MP xx 236HP", 2, owned=0),
            "Begin with 5MP, 2MP xx 236HP: it asks for the link 5MP, 2MP and the cancel 2MP xx 236HP.",
        ),
    ],
)
def test_the_lead_says_how_much_of_it_is_new(found: NextUp, lead: str) -> None:
    assert next_card(found).lead == lead


def test_what_builds_on_nothing_or_may_not_be_the_nearest_says_so() -> None:
    text = as_text(next_card(next_up("5MP, 2MP", 1)))
    assert "It shares no beginning with a route that you own." in text
    unsure = next_up("5MP, 2MP", 1)
    text = as_text(next_card(replace(unsure, step=replace(unsure.step, complete=False))))
    assert "There was more than I could look through, so there may be a nearer one." in text


@pytest.mark.parametrize(
    ("owned", "starter", "lead"),
    [
        (2, "5MP", "Nothing from 5MP would bring you more than what you own, within 6 moves"),
        (0, "", "I found nothing to begin with for Odrun Vale: try another starter."),
    ],
)
def test_nothing_to_learn_next_says_what_to_try(owned: int, starter: str, lead: str) -> None:
    assert next_card(NothingNext(SALT, owner(SALT, "odrun"), starter, owned)).lead.startswith(lead)


def test_a_lesson_begins_with_one_step_up_and_goes_on_to_the_choices() -> None:
    both = Lesson(finding(*FEW, aim=Aim.EXPECTED), next_up("5MP, 2MP xx 236HP", 1, "5MP, 2MP"))
    card = lesson_card(both)
    assert card.lead == "Learn 5MP, 2MP xx 236HP next: only the cancel 2MP xx 236HP is new in it."
    assert [group.question for group in card.groups][:2] == ["Why that one?", "Which one suits me?"]
    assert "It begins as 5MP, 2MP does, for 2 moves." in card.groups[0].lines
    assert lesson_card(Lesson(finding(*FEW))) == finding_card(finding(*FEW))
    assert lesson_card(Lesson(finding())) == finding_card(finding())
