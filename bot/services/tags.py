"""Tags of routes: words of a member's own to find them by."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.tally import SavedRoute, SharedRoute
from bot.services.complete import complete_names
from core.text import clipped, printable
from core.verdict import Facts

MOST_TAGS = 5
TAG_CHARACTERS = 20
_APART = re.compile(r"[\s,]+")


def read_tags(typed: str) -> tuple[str, ...] | LogRefusal:
    """The tags, in lower case and in order, each once: words apart by blanks or commas, with "#" before them
    or not.

    >>> read_tags("#Corner, punish corner")
    ('corner', 'punish')
    """
    words = (tag_of(word) for word in _APART.split(typed))
    tags = tuple(sorted({word for word in words if word}))
    if len(tags) > MOST_TAGS or any(len(tag) > TAG_CHARACTERS for tag in tags):
        facts = Facts(typed=clipped(typed), most=MOST_TAGS, characters=TAG_CHARACTERS)
        return LogRefusal(LogRefusalCode.BAD_TAGS, facts)
    return tags


def tag_of(word: str) -> str:
    """One tag as it is kept."""
    return printable(word.strip().lstrip("#").casefold())


def tags_among(routes: Iterable[SavedRoute] | Iterable[SharedRoute]) -> tuple[str, ...]:
    """All tags of these routes, each once, in order."""
    return tuple(sorted({tag for route in routes for tag in route.tags}))


def complete_tag(tags: Sequence[str], typed: str) -> tuple[str, ...]:
    """Tags that the text may become, at most 25, best first."""
    return complete_names([(tag, (tag,)) for tag in tags], tag_of(typed))


def complete_last_tag(tags: Sequence[str], typed: str) -> tuple[str, ...]:
    """The text with its last word as each of the tags that it may become; those before it stay."""
    *before, last = _APART.split(typed)
    given = [word for word in map(tag_of, before) if word]
    others = [tag for tag in tags if tag not in given]
    return tuple(" ".join([*given, tag]) for tag in complete_tag(others, last))
