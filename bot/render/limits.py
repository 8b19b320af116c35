"""How an answer is made to fit what the platform takes.

A card loses whole lines from the end of whichever part is longest, which then says how many are
left out; the advice and the source always stay. A single text is cut, and ends in an ellipsis.
Lengths count characters.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from bot.limits import CHOICE_CHARACTERS, CHOICES, LAYOUT_CHARACTERS
from bot.render.card import Card, Group
from bot.render.wording import say

LINE_CHARACTERS = 400
"""The longest line of a card; our own limit, so that no line crowds out all others."""

EXTRA_CHARACTERS = 8
"""What marks a line as a heading, a list or small, and ends it."""


def first_lines(lines: Iterable[str], most: int, section: str) -> tuple[str, ...]:
    """The first of these lines, and one that says how many more there are, worded in this section. One line
    more is shown: it is no longer than saying that there is one."""
    told = tuple(lines)
    return told if len(told) <= most + 1 else (*told[:most], say(section, "more", count=len(told) - most))


def cut(text: str, most: int) -> str:
    """The text, of at most `most` characters.

    >>> cut("counter", 7), cut("counter", 6)
    ('counter', 'count…')
    """
    return text if len(text) <= most else text[: most - 1] + "…"


def fit_card(card: Card, size: Callable[[str], int] = len, most: int = LAYOUT_CHARACTERS) -> Card:
    """The card with so few lines that its text has at most `most` characters.

    `size`: how many characters a line takes once it is written for the platform.
    """
    card = Card(
        cut(card.lead, LINE_CHARACTERS),
        tuple(Group(cut(group.question, LINE_CHARACTERS), _lines(group.lines)) for group in card.groups),
        _lines(card.reasons),
        cut(card.source, LINE_CHARACTERS),
    )
    room = most - _size([card.lead, card.source], size)
    parts = [[group.question, *group.lines] for group in card.groups] + [["", *card.reasons]]
    left_out = [0] * len(parts)
    sizes = [_size(part, size) for part in parts]
    more = _size([_more(sum(map(len, parts)))], size)
    while sum(sizes) > room:
        longest = max(range(len(parts)), key=lambda place: sizes[place])
        if len(parts[longest]) <= 1:  # questions alone are too much: the last ones go, lines and all
            longest = max(place for place, part in enumerate(parts) if part)
            sizes[longest], parts[longest] = 0, []
            continue
        if not left_out[longest]:
            sizes[longest] += more
        left_out[longest] += 1
        sizes[longest] -= _size([parts[longest].pop()], size)
    told = [
        (*part, _more(count)) if part and count else tuple(part)
        for part, count in zip(parts, left_out, strict=True)
    ]
    return replace(
        card, groups=tuple(Group(one[0], one[1:]) for one in told[:-1] if one), reasons=told[-1][1:]
    )


def fit_choices(names: Sequence[str]) -> tuple[str, ...]:
    """What can be offered of these while somebody types: as many as are allowed. One too long is left
    out, for what is picked is sent as it stands, and a cut name means nothing."""
    return tuple(name for name in names if 0 < len(name) <= CHOICE_CHARACTERS)[:CHOICES]


def _lines(lines: Sequence[str]) -> tuple[str, ...]:
    return tuple(cut(line, LINE_CHARACTERS) for line in lines)


def _size(lines: Sequence[str], size: Callable[[str], int]) -> int:
    return sum(size(line) + EXTRA_CHARACTERS for line in lines)


def _more(lines: int) -> str:
    return say("chat", "more", count=lines)
