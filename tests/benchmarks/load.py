"""What members wait for when many ask for different things at once, beside a command that sends one line.

Members of one server do what is done there in turn: questions, logging, plans, routes, the group's drill. So
many interactions are in flight at a time, and the next ones come when all are answered; batches of the empty
command, which is the library's floor, come between. One waits from the event to the end of the last request
that answers it. Everything runs in this process, the simulated platform included; only fits and pictures are
done by the workers. Posts are not brought up to date meanwhile: the simulator would wait for that.
"""

from __future__ import annotations

import asyncio
import resource
import sqlite3
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, closing
from dataclasses import dataclass, field
from itertools import count, cycle, islice
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import discord
import simcord
from benchmarks.chat import QUESTION, SETTLE_SECONDS, TALLY, simulated, with_empty_commands
from benchmarks.figures import Figure, alone, beside
from benchmarks.stopwatch import middle, p95, peak_mib, set_heap_aside
from chat.faults import requests_wrapped
from chat.world import EnvClock, answers_in, walk
from databases import new_database
from inline import InlineWorker
from simcord import interactions as payloads
from simcord.backend import serializers

from bot.app import Cornerman, build
from bot.client.shards import SINGLE
from bot.config import Settings

TOGETHER = (1, 8, 64)
MEMBERS = 61
"""A prime, so that in turn everybody comes to do everything."""
DONE = 512
"""How many interactions there are at each concurrency."""

COMMANDS: dict[str, tuple[str, dict[str, Any]]] = {
    "ask": ("ask", {"question": QUESTION}),
    "link": ("link", {"first": "5MP", "second": "2MP", "character": "Odrun Vale"}),
    "move": ("move", {"move": "5MP", "character": "Odrun Vale"}),
    "log": ("log", TALLY),
    "plan": ("plan", {"minutes": 20}),
    "progress": ("progress", {}),
    "check": ("route check", {"moves": "Odrun: 5MP, 2MP xx 236HP"}),
    "drill": ("drill show", {}),
}
JOIN, LINE = "join", "line"
MIX = (
    "ask", "log", "link", "check", "ask", JOIN, "log", "move",
    "ask", "plan", "log", "link", "progress", "ask", "drill", "check",
)  # fmt: skip


@dataclass(slots=True)
class Waiting:
    """Who waits since when, and until when: seconds of `time.perf_counter` by the interaction's token."""

    since: dict[str, float] = field(default_factory=dict)
    until: dict[str, float] = field(default_factory=dict)

    async def around(self, _method: str, path: str, call: Callable[[], Any]) -> Any:
        """Notes when a request ends that answers an interaction."""
        answer = await call()
        for part in path.split("/"):
            if part in self.since:
                self.until[part] = time.perf_counter()
        return answer


@dataclass(slots=True)
class Hall:
    """A server in which everybody does something."""

    env: simcord.Env
    channel: simcord.ChannelHandle
    members: list[simcord.MemberActor]
    post: Any
    """The stored message of the drill."""
    join_id: str
    waiting: Waiting
    logged: int = 0
    turn: Iterator[int] = field(default_factory=count)

    def begin(self, what: str) -> str:
        """The next member does it; the interaction's token."""
        member = self.members[next(self.turn) % len(self.members)]
        backend = self.env.backend
        if what == JOIN:
            kind, data = 3, {"custom_id": self.join_id, "component_type": 2}
        else:
            name, options = COMMANDS.get(what, (LINE, {"question": QUESTION}))
            root_name, *path = name.split()
            root = backend.find_command(root_name, member.guild.id, type=1)
            assert root is not None
            leaf, nesting = payloads.walk_to_subcommand(root, path)
            values, _ = payloads.build_options(member, name, leaf, options, channel_id=self.channel.id)
            nested = payloads.nest_options(root, nesting, values)
            kind, data = 2, {"id": root["id"], "name": root_name, "type": 1, "options": nested}
        place = {"channel_id": self.channel.id, "guild_id": member.guild.id, "user_id": member.id}
        record, payload = payloads.base_payload(backend, type=kind, data=data, **place)
        if what == JOIN:
            record.source_message_id = self.post.id
            payload["message"] = dict(serializers.message_payload(backend, self.post))
        self.logged += what == "log"
        self.waiting.since[record.token] = time.perf_counter()
        backend.emit("INTERACTION_CREATE", payload)
        return record.token

    async def do(self, what: list[str]) -> tuple[list[float], float]:
        """All of it at once: milliseconds that each waited, and those until the last was answered."""
        set_heap_aside()
        tokens = [self.begin(one) for one in what]
        await self.env.settle()
        since, until = self.waiting.since, self.waiting.until
        unanswered = [one for one, token in zip(what, tokens, strict=True) if token not in until]
        assert not unanswered, f"no answer was given to {unanswered}"
        waited = [(until[token] - since[token]) * 1000 for token in tokens]
        return waited, (max(until[token] for token in tokens) - since[tokens[0]]) * 1000


@asynccontextmanager
async def hall_of(bot: Cornerman, clock: EnvClock) -> AsyncIterator[Hall]:
    """A server with a drill that is open, and everybody in it."""
    with_empty_commands(bot)
    waiting = Waiting()
    async with simcord.run(bot, check_errors=False, settle_timeout=SETTLE_SECONDS) as env:
        clock.env = env
        guild = env.create_guild("hall")
        host = guild.create_role("Host", permissions=discord.Permissions(manage_guild=True))
        channel = guild.create_text_channel("frames")
        posts = guild.create_text_channel("drills")
        moderator = guild.add_member(env.create_user("mod"), roles=[host])
        members = [guild.add_member(env.create_user(f"member {number}")) for number in range(MEMBERS)]
        await env.settle()
        plan = {"what": TALLY["what"], "scoring": "best-tally", "days": 7, "channel": posts}
        await moderator.slash(channel, "drill open", **plan)
        await env.settle()
        await bot.refresher.stop()
        (posted, *_) = answers_in(posts, bot)
        stored = env.backend.get_message(posts.id, posted.id)
        (join, *_) = [part for part in walk(stored.components) if part.get("label") == "Join"]
        with requests_wrapped(env, waiting.around):
            yield Hall(env, channel, members, stored, join["custom_id"], waiting)
        await bot.close()


async def measured(bot: Cornerman, clock: EnvClock, together: tuple[int, ...], done: int) -> list[Figure]:
    """At each concurrency; and what each kind of thing takes where nothing else is in flight."""
    made = []
    async with hall_of(bot, clock) as hall:
        await hall.do(["log"] * MEMBERS)  # so that there is something to tell of everybody
        await hall.do(list(MIX))  # and what starts with the first of its kind has started
        mix = cycle(MIX)
        by_kind: dict[str, list[float]] = {}
        for flying in together:
            mixed: list[float] = []
            empty: list[float] = []
            mixed_ms = empty_ms = 0.0
            for _ in range(done // flying):
                asked = list(islice(mix, flying))
                waited, took = await hall.do(asked)
                mixed += waited
                mixed_ms += took
                if flying == 1:
                    by_kind.setdefault(asked[0], []).extend(waited)
                waited, took = await hall.do([LINE] * flying)
                empty += waited
                empty_ms += took
            made += at_once(flying, mixed, mixed_ms, empty, empty_ms)
            if flying == 1:
                floor = middle(empty)
    with closing(sqlite3.connect(bot.store.file)) as raw:
        (kept,) = raw.execute("SELECT count(*) FROM tally").fetchone()
    assert kept == hall.logged, f"{hall.logged} tallies were answered, {kept} are stored"
    for kind, times in sorted(by_kind.items()):
        named = f"/{COMMANDS[kind][0]}" if kind in COMMANDS else "the drill's Join"
        what = f"{named}, one in flight, beside the empty command"
        made.append(beside(f"load.{kind}", what, middle(times), floor))
    return made


def at_once(
    flying: int, mixed: list[float], mixed_ms: float, empty: list[float], empty_ms: float
) -> list[Figure]:
    """Of one concurrency: how long one waits, and how many are answered in a second."""
    said = f"mixed commands, {flying} in flight"
    rate, most = 1000 * len(mixed) / mixed_ms, 1000 * len(empty) / empty_ms
    return [
        beside(
            f"load.p50_{flying}", f"{said}, median, beside the empty command", middle(mixed), middle(empty)
        ),
        beside(f"load.p95_{flying}", f"{said}, p95, beside the empty command", p95(mixed), p95(empty)),
        beside(
            f"load.rate_{flying}", f"{said}, throughput, beside the empty command", rate, most, "a second"
        ),
    ]


def figures(tiny: bool = False) -> tuple[Figure, ...]:
    """Of mixed commands, and the memory that they took."""
    clock = EnvClock()
    with TemporaryDirectory() as folder, simulated():
        settings = Settings.model_construct(database=new_database(Path(folder)))
        bot = build(settings, clock, InlineWorker() if tiny else None, SINGLE)
        made = asyncio.run(measured(bot, clock, (1, 2) if tiny else TOGETHER, len(MIX) if tiny else DONE))
    workers = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return (
        *made,
        alone(
            "load.memory",
            "the process at its peak, simulator and all its messages included",
            peak_mib(),
            "MiB",
        ),
        alone("load.memory_worker", "the largest worker process at its peak", workers, "MiB"),
    )
