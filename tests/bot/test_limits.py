"""At each limit of the platform, one below it and one above it."""

from __future__ import annotations

import pytest

from bot.components.layout import Layout
from bot.limits import CHOICE_CHARACTERS, CHOICES, LABEL_CHARACTERS, LAYOUT_CHARACTERS, LAYOUT_COMPONENTS
from bot.render.card import Card, Group
from bot.render.limits import EXTRA_CHARACTERS, LINE_CHARACTERS, cut, fit_card, fit_choices

LINE = "x" * (100 - EXTRA_CHARACTERS)
"""A line that takes 100 characters with what marks it."""


def card_of(characters: int) -> Card:
    """A card of so many characters, marks included; its last line takes what is left."""
    lines, rest = divmod(characters - 300 - EXTRA_CHARACTERS, 100)
    last = "y" * (rest + 100 - EXTRA_CHARACTERS)
    return Card(LINE, (Group(LINE, (*[LINE] * (lines - 1), last)),), (), LINE)


def size_of(card: Card) -> int:
    lines = [card.lead, card.source, "", *card.reasons]
    for group in card.groups:
        lines += [group.question, *group.lines]
    return sum(len(line) + EXTRA_CHARACTERS for line in lines)


@pytest.mark.parametrize("characters", [LAYOUT_CHARACTERS - 1, LAYOUT_CHARACTERS])
def test_a_card_that_just_fits_is_left_as_it_is(characters: int) -> None:
    card = card_of(characters)
    assert size_of(card) == characters
    assert fit_card(card) == card


def test_a_card_of_one_character_more_loses_lines_and_says_how_many() -> None:
    card = card_of(LAYOUT_CHARACTERS + 1)
    assert size_of(card) == LAYOUT_CHARACTERS + 1
    fitted = fit_card(card)
    assert size_of(fitted) <= LAYOUT_CHARACTERS
    kept = fitted.groups[0].lines[:-1]
    assert kept == card.groups[0].lines[: len(kept)]
    assert fitted.groups[0].lines[-1] == f"… and {len(card.groups[0].lines) - len(kept)} more"
    assert (fitted.lead, fitted.source) == (card.lead, card.source)


def test_the_longest_part_is_shortened_and_the_others_are_left_whole() -> None:
    short, long = Group("a", ("one", "two")), Group("b", (LINE,) * 60)
    fitted = fit_card(Card("lead", (short, long), ("because",), "source"))
    assert fitted.groups[0] == short
    assert fitted.reasons == ("because",)
    shown = len(fitted.groups[1].lines) - 1
    assert fitted.groups[1].lines[-1] == f"… and {60 - shown} more"
    assert size_of(fitted) > LAYOUT_CHARACTERS - 200


def test_where_the_questions_alone_are_too_many_the_last_ones_go() -> None:
    groups = tuple(Group(f"{number}{LINE}", ("line",)) for number in range(99))
    fitted = fit_card(Card("lead", groups, (), "source"))
    assert size_of(fitted) <= LAYOUT_CHARACTERS
    assert fitted.groups
    assert [group.question for group in fitted.groups] == [
        group.question for group in groups[: len(fitted.groups)]
    ]


@pytest.mark.parametrize("length", [LINE_CHARACTERS - 1, LINE_CHARACTERS, LINE_CHARACTERS + 1, 100_000])
def test_no_line_of_a_card_is_longer_than_a_line_may_be(length: int) -> None:
    line = "x" * length
    fitted = fit_card(Card(line, (Group(line, (line,)),), (line,), line))
    for one in (
        fitted.lead,
        fitted.source,
        fitted.groups[0].question,
        *fitted.groups[0].lines,
        *fitted.reasons,
    ):
        assert len(one) == min(length, LINE_CHARACTERS)
        assert one.endswith("…") is (length > LINE_CHARACTERS)


@pytest.mark.parametrize("mark", ["x", "*", "@", "https://", "1. "])
def test_whatever_is_in_a_card_its_layout_takes_no_more_than_the_platform_does(mark: str) -> None:
    line = mark * 300
    group = Group(line, (line,) * 50)
    layout = Layout(Card(line, (group,) * 20, (line,) * 20, line))
    assert LAYOUT_CHARACTERS // 2 < layout.content_length() <= LAYOUT_CHARACTERS
    assert layout.total_children_count <= LAYOUT_COMPONENTS


@pytest.mark.parametrize("length", [LABEL_CHARACTERS - 1, LABEL_CHARACTERS, LABEL_CHARACTERS + 1])
def test_a_label_is_cut_where_it_is_too_long(length: int) -> None:
    text = cut("x" * length, LABEL_CHARACTERS)
    assert len(text) == min(length, LABEL_CHARACTERS)
    assert text.endswith("…") is (length > LABEL_CHARACTERS)


@pytest.mark.parametrize(("count", "offered"), [(24, 24), (25, 25), (26, 25)])
def test_no_more_choices_are_offered_than_the_platform_takes(count: int, offered: int) -> None:
    names = [f"move {number}" for number in range(count)]
    assert fit_choices(names) == tuple(names[:offered])
    assert CHOICES == 25


@pytest.mark.parametrize(
    ("length", "offered"), [(0, False), (1, True), (99, True), (100, True), (101, False)]
)
def test_a_choice_too_long_to_be_sent_is_not_offered(length: int, offered: bool) -> None:
    assert bool(fit_choices(["x" * length])) is offered
    assert CHOICE_CHARACTERS == 100
