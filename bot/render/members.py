"""What members are called on cards."""

from __future__ import annotations

from collections.abc import Mapping

from bot.render.wording import say

Names = Mapping[int, str]
"""What members are called, by their ids; who left is missing."""


def called(names: Names, member_id: int | None) -> str:
    """What a member is called, also where they left or erased their data.

    >>> called({7: "Ann"}, 7), called({}, 7), called({}, None)
    ('Ann', 'someone who left', 'someone who left')
    """
    return (names.get(member_id) if member_id is not None else None) or say("members", "someone")
