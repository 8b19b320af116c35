"""What may come in: text that a database keeps and a message can carry."""

from __future__ import annotations

import re
from typing import Any

import discord

_UNSTORABLE = re.compile("[\0\ud800-\udfff]")
"""NUL, which PostgreSQL keeps nowhere, and half characters, which cannot be written in UTF-8. No keyboard
makes them."""


def storable(value: Any) -> Any:
    """Text, or a payload with text anywhere in it, without such characters.

    >>> storable({"name": "what", "options": ["5\\0MP", 3]})
    {'name': 'what', 'options': ['5MP', 3]}
    """
    match value:
        case str():
            return _UNSTORABLE.sub("", value)
        case list():
            return [storable(one) for one in value]
        case dict():
            return {storable(key): storable(one) for key, one in value.items()}
    return value


def clean(interaction: discord.Interaction[Any]) -> None:
    """Take them out of what a command, a form or a press brings, before anybody reads it."""
    interaction.data = storable(interaction.data)
