"""What the bot's classes call their own: a name that a class below them uses already would take its place,
and nobody would be told."""

from __future__ import annotations

import ast
import inspect
from itertools import combinations
from textwrap import dedent

import discord
import pytest
from discord.ext import commands

from bot.app import Cornerman
from bot.client.bot import ChatBot
from bot.client.gateway import ShardedBot

CLASSES = (ShardedBot, ChatBot, Cornerman)
MEANT = {
    "before_identify_hook",
    "close",
    "connect",
    "drain",
    "latency",
    "on_error",
    "on_message",
    "setup_hook",
    "shard_count",
    "shards_held",
}
"""Names that stand for the same in several of them."""


def own_names(of: type) -> set[str]:
    """The names of what a class defines, and of what its methods set on themselves."""
    stored = {
        node.attr
        for node in ast.walk(ast.parse(dedent(inspect.getsource(of))))
        if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store)
        if isinstance(node.value, ast.Name) and node.value.id == "self"
    }
    return stored | {name for name in vars(of) if not name.startswith("__")}


@pytest.mark.parametrize("ours", CLASSES)
async def test_the_bot_calls_nothing_what_the_library_calls_something_else(ours: type) -> None:
    library = commands.AutoShardedBot("!", intents=discord.Intents.none())
    assert own_names(ours) & {*dir(library), *vars(library)} <= MEANT


@pytest.mark.parametrize(("below", "above"), list(combinations(CLASSES, 2)))
def test_no_class_of_the_bot_calls_something_what_one_below_it_does(below: type, above: type) -> None:
    assert own_names(below) & own_names(above) <= MEANT
