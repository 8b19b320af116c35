"""How a card becomes a layout: escaped once, in an order that reads well, coloured by its answer."""

from __future__ import annotations

import pytest
from chat.world import walk

from bot.components.layout import COLOURS, Layout, escape
from bot.render.card import Card, Group
from core.verdict import Answer

CARD = Card("Yes, it links.", (Group("How tight?", ("Three frames.",)),), ("It says so.",), "Game, version 1")


def test_the_advice_comes_first_then_the_numbers_then_the_reason_then_the_source() -> None:
    texts = [one["content"] for one in walk(Layout(CARD).to_components()) if one["type"] == 10]
    assert texts == [
        "### Yes, it links.",
        "**How tight?**\n- Three frames.",
        "**Why?**\n- It says so.",
        "-# Game, version 1",
    ]


@pytest.mark.parametrize("answer", [*Answer, None])
def test_the_colour_goes_with_the_answer(answer: Answer | None) -> None:
    box = Layout(CARD, answer).to_components()[0]
    assert box.get("accent_color") == (COLOURS[answer] if answer else None)


@pytest.mark.parametrize(
    ("typed", "sent"),
    [
        ("5MP, 2MP: 6 frames (100 ms).", "5MP, 2MP: 6 frames (100 ms)."),
        ("j.HP -> 236+P = -8", "j.HP -\\> 236+P = -8"),
        ("*a* _b_ ~c~ `d` |e|", "\\*a\\* \\_b\\_ \\~c\\~ \\`d\\` \\|e\\|"),
        ("[a](b)", "\\[a\\](b)"),
        ("<@1> <t:1>", "\\<@\u200b1\\> \\<t:1\\>"),
        ("@everyone", "@\u200beveryone"),
        ("https://a.b", "https\\://a.b"),
        ("# a", "\\# a"),
        ("- a", "\\- a"),
        ("> a", "\\> a"),
        ("-# a", "\\-\\# a"),
        ("1. a", "1\\. a"),
        ("12) a", "12\\) a"),
        ("a\\*b", "a\\\\\\*b"),
        ("a\nb\u2028c", "a b c"),
        ("a\u202eb\u200bc", "abc"),
    ],
)
def test_a_line_shows_as_it_was_typed(typed: str, sent: str) -> None:
    assert escape(typed) == sent
