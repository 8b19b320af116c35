"""What a question in chat costs: from text to card, and as a command beside commands that do nothing.

Run by hand: `python tests/benchmarks/chat.py`. The commands run interleaved through simcord in one process;
"same card" sends a card of the same size that was laid out from ready-made text, "one line" sends one line.
"""

from __future__ import annotations

import asyncio
import resource
import statistics
import sys
import time
from collections.abc import Callable, Coroutine
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path[:1] = [str(ROOT), str(ROOT / "tests")]  # instead of this folder, whose chat.py hides tests/chat

import discord  # noqa: E402
import simcord  # noqa: E402
from chat.faults import slash_together  # noqa: E402
from discord import app_commands  # noqa: E402

from bot.app import Cornerman, build  # noqa: E402
from bot.client import sending  # noqa: E402
from bot.components.buttons import QuestionButton, answer_layout  # noqa: E402
from bot.components.layout import Layout  # noqa: E402
from bot.config import Settings  # noqa: E402
from bot.render.ask import card  # noqa: E402
from bot.results.ask import Asked  # noqa: E402
from bot.results.place import Place  # noqa: E402

QUESTION = "does Odrun's 5MP link into 2MP?"
HERE = Place(1, 2, 3)
ROUNDS, TOGETHER_ROUNDS, TOGETHER = 150, 8, 64


class Now:
    def now(self) -> datetime:
        return datetime.now(UTC)


def spread(times_ms: list[float]) -> str:
    ordered = sorted(times_ms)
    return f"median {statistics.median(ordered):7.2f} ms   p95 {ordered[int(len(ordered) * 0.95)]:7.2f} ms"


def timed(job: Callable[[], object], rounds: int = 300) -> list[float]:
    times = []
    for _ in range(rounds):
        started = time.perf_counter()
        job()
        times.append((time.perf_counter() - started) * 1000)
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


async def commands_alone_and_together(bot: Cornerman) -> None:
    with_empty_commands(bot)
    async with simcord.run(bot, check_errors=False) as env:
        guild = env.create_guild("hall")
        channel = guild.create_text_channel("frames")
        ann = guild.add_member(env.create_user("ann"))
        names = ("ask", "same", "line")
        asked = {"question": QUESTION}

        def one(name: str) -> Coroutine[Any, Any, object]:
            return ann.slash(channel, name, **asked)

        def many(name: str) -> Coroutine[Any, Any, object]:
            return slash_together(env, [(ann, channel, name, asked)] * TOGETHER)

        for title, job, rounds, each in (
            ("one in flight", one, ROUNDS, 1),
            (f"{TOGETHER} in flight, each", many, TOGETHER_ROUNDS, TOGETHER),
        ):
            times: dict[str, list[float]] = {name: [] for name in names}
            for name in names:
                await job(name)
            for _ in range(rounds):
                for name in names:
                    started = time.perf_counter()
                    await job(name)
                    times[name].append((time.perf_counter() - started) * 1000 / each)
            print(f"\n{title}")
            for name in names:
                ratio = statistics.median(times["ask"]) / statistics.median(times[name])
                print(f"  {name:6} {spread(times[name])}   ask is {ratio:.2f} of it")
        await bot.close()


async def logging(bot: Cornerman) -> None:
    """One /log through the simulator, with its transaction, its small wins and the fit of a growing log."""
    async with simcord.run(bot, check_errors=False) as env:
        guild = env.create_guild("Harbour")
        channel = guild.create_text_channel("frames")
        ann = guild.add_member(env.create_user("ann"))
        await env.settle()
        tally = {"what": "Odrun: 5MP, 2MP", "result": "10: 7 hit, 2 early, 1 late"}
        await ann.slash(channel, "log", **tally)  # starts the worker processes
        times = []
        for _ in range(ROUNDS):
            started = time.perf_counter()
            await ann.slash(channel, "log", **tally)
            times.append((time.perf_counter() - started) * 1000)
        print(f"\n/log, one in flight: {spread(times)}")
        await bot.close()


def main() -> None:
    with TemporaryDirectory() as folder:
        measure(Settings(database=Path(folder) / "cornerman.db"))


def measure(settings: Settings) -> None:
    started = time.perf_counter()
    bot = build(settings, Now())
    built = time.perf_counter()
    print(f"build (two games read, every service made): {(built - started) * 1000:.0f} ms")
    desk = bot.desk
    first = timed(lambda: desk.ask(HERE, QUESTION), 1)[0]
    print(f"the first question: {first:.1f} ms")

    def text_to_card() -> object:
        return card(desk.ask(HERE, QUESTION))

    def text_to_layout() -> object:
        return answer_layout(desk, HERE, desk.ask(HERE, QUESTION)).to_components()

    result = desk.ask(HERE, QUESTION)
    print(f"text to card:            {spread(timed(text_to_card))}")
    print(f"text to layout, buttons: {spread(timed(text_to_layout))}")
    print(f"layout alone:            {spread(timed(lambda: Layout(card(result)).to_components()))}")

    async def ready() -> float:
        begun = time.perf_counter()
        fresh = build(settings, Now())
        async with simcord.run(fresh, check_errors=False):
            took = time.perf_counter() - begun
            await fresh.close()
        return took

    print(f"start to ready (simulated platform): {asyncio.run(ready()) * 1000:.0f} ms")
    asyncio.run(commands_alone_and_together(build(settings, Now())))
    asyncio.run(logging(build(settings, Now())))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"\nmemory at its peak, simulator included: {peak:.0f} MB")


if __name__ == "__main__":
    main()
