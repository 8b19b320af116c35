"""What somebody might write to do harm, and what must hold of each answer to it."""

from __future__ import annotations

import re
from typing import Any

from chat.world import text_of, walk

HOSTILE = {
    "spaces": "   ",
    "no-text": "\u200b",
    "2,000 characters": "5MP " * 500,
    "2,000 in one word": "x" * 2_000,
    "right to left": "\u202e5MP safe is\u202c مرحبا",
    "zero width": "is 5\u200bM\u200cP\u200d safe?",
    "mentions": "<@123456789012345678> <@&123456789012345678> @everyone @here is 9QQ safe",
    "channel": "does <#123456789012345678> link into <t:1700000000:R>",
    "markdown": "# **is** __9QQ__ ~~safe~~ ||x|| `y` ```z``` > q - r",
    "masked link": "is [9QQ](https://evil.example/a) safe?",
    "link": "is https://evil.example/a safe?",
    "emoji": "is <:wave:123456789012345678> \U0001f44d safe?",
    "unknown character": "does Nobody Atall's 5MP link into 2MP?",
    "control": "is 5MP\x00\x07\x1b[31m safe?",
    "lines": "is\n5MP\nsafe\n# big",
    "zalgo": "5\u0300\u0301\u0302\u0303" * 50,
    "template": "{0} {first} %s $x",
}
INVISIBLE = re.compile("[\u202a-\u202e\u2066-\u2069\u200e\u200f\u061c]")
OF_OUR_OWN = re.compile(r"^(?:### |\*\*(?=.*\*\*$)|- |-# )", re.MULTILINE)
"""The marks that a card itself sets at the beginning of a line."""


def check_said(said: str) -> None:
    """Nothing in it formats, links, mentions or hides."""
    assert "went wrong" not in said
    assert not INVISIBLE.search(said)
    assert not re.search(r"(?<!\\)<[@#:t]|@everyone|@here|(?<!\\)\]\(|(?<!\\)https?:/", said)
    for line in OF_OUR_OWN.sub("", said).splitlines():
        bare = re.sub(r"\\.", "", line.removesuffix("**"))
        assert not re.search(r"[*_~`|\[\]<>#]", bare), line


def check(answer: Any) -> None:
    """It says something, does no harm, and is no larger than the platform takes."""
    said = text_of(answer)
    assert said.strip()
    check_said(said)
    response = getattr(answer, "response", answer)
    parts = [part if isinstance(part, dict) else part.to_dict() for part in response.components]
    assert len(list(walk(parts))) <= 40
