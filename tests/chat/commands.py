"""Every command, who may give it, and words with which it can be given."""

from __future__ import annotations

from typing import Any

import discord
from chat.practice import LINK
from discord import app_commands

from bot.services.access import Access

ROWS = Access().rows
ARGUMENTS: dict[str, dict[str, Any]] = {
    "ask": {"question": "is Mirrel's 236HK safe?"},
    "move": {"move": "236HK"},
    "link": {"first": "5MP", "second": "2MP"},
    "cancel": {"first": "5MP", "second": "2MP"},
    "gap": {"first": "5MP", "second": "2MP"},
    "punish": {"move": "236HK"},
    "follow": {"move": "5MP"},
    "log": {"what": LINK, "result": "7/10"},
    "plan": {"minutes": 20},
    "goal": {"share": "80"},
    "route check": {"moves": LINK},
    "route open": {"name": "bread"},
    "route save": {"moves": LINK, "name": "bread"},
    "conversion set": {"starter": "5MP", "situation": "hit", "route": "bread"},
    "conversion clear": {"starter": "5MP", "situation": "hit"},
    "route forget": {"name": "bread"},
    "route share": {"name": "bread"},
    "route inputs": {"what": LINK},
    "route rhythm": {"what": LINK},
    "route clicks": {"what": LINK},
    "homework set": {"what": LINK, "target": "clean-reps", "amount": 20, "due": "in 5 days"},
    "drill open": {"what": LINK, "scoring": "best-tally"},
    "drill plan": {"what": LINK, "scoring": "best-tally"},
    "drill unplan": {"name": LINK},
    "drill weekly": {"day": 1, "time": "18:00"},
    "drill move": {"closes": "in 3 days"},
    "game load": {"file": ("game.toml", b"")},
    "game edit": {
        "move": "5MP",
        "column": "startup",
        "number": "5",
        "reason": "x",
        "character": "Odrun Vale",
    },
    "wrong": {"move": "5MP", "column": "startup", "right": "5", "character": "Odrun Vale"},
}
WHOM = {"students ask": "member", "students page": "member", "homework set": "student"}
"""The option of a command that names a member of the server."""


def commands_of(bot: discord.ext.commands.Bot) -> list[app_commands.Command[Any, Any, Any]]:
    """Every command, without the groups that they stand in."""
    return [one for one in bot.tree.walk_commands() if isinstance(one, app_commands.Command)]
