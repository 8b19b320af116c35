"""What a question in chat costs: from text to card, and as a command beside commands that do nothing.

The commands run interleaved through simcord in one process; "same card" sends a card of the same size that
was laid out from ready-made text, "one line" sends one line. The aim (step 3) is 1.5 times the same card.
"""

from __future__ import annotations

import asyncio
import gc
import time
from collections.abc import Callable, Coroutine, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from unittest.mock import patch

import discord
import simcord
from benchmarks.figures import Figure, alone, beside, ratio_at_most
from benchmarks.stopwatch import middle, p95, peak_mib, set_heap_aside
from chat.faults import slash_together
from discord import app_commands
from inline import InlineWorker

from bot.app import Cornerman, build
from bot.client import sending
from bot.client.pace import LIMITS, Limit
from bot.client.shards import SINGLE
from bot.components.buttons import QuestionButton, answer_layout
from bot.components.layout import Layout
from bot.config import Settings
from bot.render.ask import card
from bot.results.ask import Asked
from bot.results.place import Place

QUESTION = "does Odrun's 5MP link into 2MP?"
TALLY = {"what": "Odrun: 5MP, 2MP", "result": "10: 7 hit, 2 early, 1 late"}
HERE = Place(1, 2, 3)
TIMES, ROUNDS, TOGETHER_ROUNDS, TOGETHER = 300, 150, 8, 64
SETTLE_SECONDS = 60.0
"""How long the simulator waits for the bot: worker processes take seconds to start on a busy machine."""


class Now:
    """The machine's clock."""

    def now(self) -> datetime:
        return datetime.now(UTC)


@contextmanager
def simulated() -> Iterator[None]:
    """Everybody may ask for as much as they like, for all of it happens at one moment of the simulator's; and
    afterwards the garbage collector looks at everything again."""
    with patch("bot.client.pace.LIMITS", dict.fromkeys(LIMITS, Limit(1_000_000, 1_000_000))):
        try:
            yield
        finally:
            gc.unfreeze()


def timed(job: Callable[[], object], rounds: int) -> list[float]:
    """Milliseconds of each round."""
    times = []
    for _ in range(rounds):
        started = time.perf_counter()
        job()
        times.append((time.perf_counter() - started) * 1000)
    return times


async def timed_in_turn(
    jobs: dict[str, Callable[[], Coroutine[Any, Any, object]]], rounds: int
) -> dict[str, list[float]]:
    """Milliseconds of each round of each job, the jobs in turn, after one that is not counted."""
    times: dict[str, list[float]] = {name: [] for name in jobs}
    for number in range(rounds + 1):
        set_heap_aside()
        for name, job in jobs.items():
            started = time.perf_counter()
            await job()
            if number:
                times[name].append((time.perf_counter() - started) * 1000)
    return times


def with_empty_commands(bot: Cornerman) -> None:
    """Add a command that sends a card like the answer's, made of ready text, and one that sends a line."""
    result = bot.desk.ask(HERE, QUESTION)
    assert isinstance(result, Asked)
    drawn = answer_layout(bot.desk, HERE, result).to_components()[0]["components"]

    @app_commands.command(description="Sends a card of the same size")
    async def same(interaction: discord.Interaction[Any], question: str) -> None:  # noqa: ARG001
        view = discord.ui.LayoutView(timeout=None)
        box: Any = discord.ui.Container(accent_colour=1)
        for part in drawn:
            if part["type"] == 10:
                box.add_item(discord.ui.TextDisplay(part["content"]))
            elif part["type"] == 14:
                box.add_item(discord.ui.Separator())
            else:
                buttons = [
                    QuestionButton(discord.ui.Button(label=one["label"], custom_id=one["custom_id"]))
                    for one in part["components"]
                ]
                box.add_item(discord.ui.ActionRow(*buttons))
        view.add_item(box)
        await interaction.response.send_message(view=view, allowed_mentions=sending.NO_PINGS)

    @app_commands.command(description="Sends one line")
    async def line(interaction: discord.Interaction[Any], question: str) -> None:  # noqa: ARG001
        await interaction.response.send_message("ok", allowed_mentions=sending.NO_PINGS)

    for command in (same, line):
        bot.tree.add_command(command)
        bot.access._may[f"command {command.name}"] = bot.access.rows["command ask"]


async def commands(bot: Cornerman, rounds: int, together_rounds: int, together: int) -> list[Figure]:
    """A question as a command beside those that do nothing, one in flight and many."""
    with_empty_commands(bot)
    names = ("ask", "same", "line")
    made = []
    async with simcord.run(bot, check_errors=False, settle_timeout=SETTLE_SECONDS) as env:
        guild = env.create_guild("hall")
        channel = guild.create_text_channel("frames")
        ann = guild.add_member(env.create_user("ann"))
        asked = {"question": QUESTION}
        one = await timed_in_turn(
            {name: lambda name=name: ann.slash(channel, name, **asked) for name in names},  # type: ignore[misc]
            rounds,
        )
        calls = {name: [(ann, channel, name, asked)] * together for name in names}
        many = await timed_in_turn(
            {name: lambda name=name: slash_together(env, calls[name]) for name in names},  # type: ignore[misc]
            together_rounds,
        )
        await bot.close()
    for key, said, each, times in (
        ("one", "one in flight", 1, one),
        (f"of_{together}", f"{together} in flight, each", together, many),
    ):
        ask, same, line = (middle(times[name]) / each for name in names)
        aim = ratio_at_most(1.5)
        made += [
            beside(f"chat.{key}", f"/ask, {said}, beside the same card", ask, same, aim=aim),
            beside(f"chat.{key}_line", f"/ask, {said}, beside one line", ask, line),
        ]
    last = p95(one["ask"])
    return [
        *made,
        beside("chat.one_p95", "/ask, one in flight, p95, beside the same card", last, p95(one["same"])),
    ]


async def logged(bot: Cornerman, rounds: int) -> Figure:
    """A /log through the simulator, with its transaction, its small wins and the fit of a growing log, beside
    a line."""
    with_empty_commands(bot)
    async with simcord.run(bot, check_errors=False, settle_timeout=SETTLE_SECONDS) as env:
        guild = env.create_guild("Harbour")
        channel = guild.create_text_channel("frames")
        ann = guild.add_member(env.create_user("ann"))
        await env.settle()
        times = await timed_in_turn(
            {
                "log": lambda: ann.slash(channel, "log", **TALLY),
                "line": lambda: ann.slash(channel, "line", question=QUESTION),
            },
            rounds,
        )
        await bot.close()
    return beside(
        "chat.log", "/log, one in flight, beside one line", middle(times["log"]), middle(times["line"])
    )


async def ready(settings: Settings) -> float:
    """Milliseconds from nothing to a bot that answers, on the simulated platform."""
    begun = time.perf_counter()
    fresh = build(settings, Now(), InlineWorker(), SINGLE)
    async with simcord.run(fresh, check_errors=False):
        took = time.perf_counter() - begun
        await fresh.close()
    return took * 1000


def without_chat(bot: Cornerman, times: int) -> list[Figure]:
    """From text to card."""
    desk = bot.desk
    first = timed(lambda: desk.ask(HERE, QUESTION), 1)[0]
    result = desk.ask(HERE, QUESTION)
    made = [alone("chat.first", "the first question about a game", first)]
    for name, what, job in (
        ("card", "text to card", lambda: card(desk.ask(HERE, QUESTION))),
        (
            "layout",
            "text to layout with buttons",
            lambda: answer_layout(desk, HERE, desk.ask(HERE, QUESTION)).to_components(),
        ),
        ("layout_alone", "layout alone", lambda: Layout(card(result)).to_components()),
    ):
        found = timed(job, times)
        made.append(alone(f"chat.{name}", what, middle(found)))
        made.append(alone(f"chat.{name}_p95", f"{what}, p95", p95(found)))
    return made


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of questions in chat."""
    times, rounds, together_rounds, together = (
        (1, 1, 1, 2) if tiny else (TIMES, ROUNDS, TOGETHER_ROUNDS, TOGETHER)
    )
    with TemporaryDirectory() as folder, simulated():
        settings = Settings.model_construct(database=Path(folder) / "cornerman.db")

        def fresh() -> Cornerman:
            return build(settings, Now(), InlineWorker() if tiny else None, SINGLE)

        started = time.perf_counter()
        bot = build(settings, Now(), InlineWorker(), SINGLE)
        built = (time.perf_counter() - started) * 1000
        return (
            alone("chat.build", "build: two games read, every service made", built),
            *without_chat(bot, times),
            alone("chat.ready", "start to ready, simulated platform", asyncio.run(ready(settings))),
            *asyncio.run(commands(fresh(), rounds, together_rounds, together)),
            asyncio.run(logged(fresh(), rounds)),
            alone("chat.memory", "memory at its peak, simulator included", peak_mib(), "MiB"),
        )
