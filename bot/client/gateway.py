"""Holding the connections to the platform: one for each shard, each on its own.

The library would have the shards wait for each other: one that cannot be reached keeps those behind it from
being connected, and those that are lost meanwhile from coming back; and one that ends for good ends them all.
"""

from __future__ import annotations

import asyncio
import logging
from contextlib import suppress
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import Any

import aiohttp
import discord
import yarl
from discord.ext import commands
from discord.gateway import DiscordWebSocket, ReconnectWebSocket

from bot.client.shards import Shards
from bot.client.waits import Waits

OPEN_SECONDS = 90.0
"""From knocking to the platform's greeting."""
READY_SECONDS = 60.0
"""From there to its saying that it has taken us up."""
STEADY_SECONDS = 60.0
"""What was connected for so long did not fail: the next try comes at once."""
IDENTIFY_SECONDS = 5.0
"""The platform takes one new session in so many seconds."""
CLOSE_SECONDS = 3.0
KEEPING_CLOSE, LEAVING_CLOSE = 4000, 1000
"""With the first of these close codes the platform keeps the session for us."""
BAD_TOKEN_CLOSE, SHARDS_CLOSES, VERSION_CLOSE, INTENTS_CLOSES = 4004, (4010, 4011), 4012, (4013, 4014)
FINAL_CLOSES = {BAD_TOKEN_CLOSE, *SHARDS_CLOSES, VERSION_CLOSE, *INTENTS_CLOSES}
"""Its close codes after which another try would end in the same way."""
TROUBLE = (
    OSError,
    TimeoutError,
    aiohttp.ClientError,
    discord.ConnectionClosed,
    discord.HTTPException,
    discord.GatewayNotFound,
)

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class _Session:
    """What the platform takes up where it broke off, and sends again what we missed."""

    id: str
    sequence: int | None
    gateway: yarl.URL


@dataclass(slots=True)
class _Line:
    """One shard's connection. `ready_at`: in the loop's time, None where it is not ready; `hurried`: since it
    was steady it was tried again at once."""

    shard: int
    waits: Waits = field(default_factory=Waits)
    socket: DiscordWebSocket | None = None
    session: _Session | None = None
    ready_at: float | None = None
    hurried: bool = False


_OPENING: ContextVar[_Line] = ContextVar("line")
"""Each line has a task, and so a context, of its own."""


class _Socket(DiscordWebSocket):
    """Known to its line from the beginning, so that also one which breaks while it is opened gets closed."""

    def __init__(self, socket: aiohttp.ClientWebSocketResponse, *, loop: asyncio.AbstractEventLoop) -> None:
        super().__init__(socket, loop=loop)
        _OPENING.get().socket = self


class ShardedBot(commands.AutoShardedBot):
    """Connects the shards that it holds, and each of them again when it is lost, for as long as it runs.

    `shards_held`: which servers' events come to this process (`shards` is the library's own). Without a
    choice it is all of them, and on connecting the platform says on how many shards.
    """

    shards_held: Shards

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._lines: list[_Line] = []
        self._gone: asyncio.Future[None] | None = None
        self._next_identify = 0.0

    @property
    def latency(self) -> float:
        """From a heartbeat to the platform's receipt, in seconds, for the slowest shard; no finite number
        where it is not known yet."""
        sockets = [line.socket for line in self._lines if line.socket is not None]
        return max((socket.latency for socket in sockets), default=super().latency)

    async def connect(self, *, reconnect: bool = True) -> None:  # noqa: ARG002 - it always does
        """Stay connected until the bot is closed. Raises what no other try helps against, and what is raised
        where the platform does not say how many shards there are to be."""
        gateway = None
        if self.shard_count is None:
            self.shard_count, address, _ = await self.http.get_bot_gateway()
            self.shards_held = Shards(0, self.shard_count - 1, self.shard_count)
            gateway = yarl.URL(address)
        held = self.shards_held
        self._connection.shard_count, self._connection.shard_ids = held.count, held.numbers
        self._gone = gone = asyncio.get_running_loop().create_future()
        self._lines = [_Line(number) for number in held.numbers]
        tasks = [
            asyncio.create_task(self._hold(line, gateway, gone), name=f"shard {line.shard}")
            for line in self._lines
        ]
        try:
            ended, _ = await asyncio.wait({gone, *tasks}, return_when=asyncio.FIRST_COMPLETED)
            for one in ended:
                one.result()
        finally:
            await self._hang_up_all(tasks)

    async def close(self) -> None:
        """Leave the platform; a socket on which nobody answers is not waited for."""
        if self._gone is not None and not self._gone.done():
            self._gone.set_result(None)
        await asyncio.gather(*(_close(line.socket, LEAVING_CLOSE) for line in self._lines))
        await super().close()

    async def before_identify_hook(self, shard_id: int | None, *, initial: bool = False) -> None:
        """Nothing: whose turn it is was settled before the connection was opened."""

    async def _hold(self, line: _Line, gateway: yarl.URL | None, gone: asyncio.Future[None]) -> None:
        """Keep one shard connected. Raises ConnectionClosed where no other try helps."""
        _OPENING.set(line)
        while not gone.done():
            try:
                await self._listen(line, gateway, gone)
            except ReconnectWebSocket as asked:
                why, resumes = "the platform asks for it, or said nothing", asked.resume
            except TROUBLE as error:
                if isinstance(error, discord.ConnectionClosed) and error.code in FINAL_CLOSES:
                    raise
                why, resumes = f"{type(error).__name__}: {error}", not isinstance(error, TimeoutError)
            except Exception as error:
                log.exception("shard %d met with an error of our own", line.shard)
                why, resumes = type(error).__name__, True
            await self._hang_up(line, resumes)
            await self._pause(line, why, gone)

    async def _listen(self, line: _Line, gateway: yarl.URL | None, gone: asyncio.Future[None]) -> None:
        """Connect, and take what comes. Ends by raising."""
        session = line.session
        if session is None:
            await self._turn(gone)
            if gone.done():
                return
        async with asyncio.timeout(OPEN_SECONDS):
            if session is None:
                socket = await _Socket.from_client(self, shard_id=line.shard, gateway=gateway)
            else:
                socket = await _Socket.from_client(
                    self,
                    shard_id=line.shard,
                    gateway=session.gateway,
                    session=session.id,
                    sequence=session.sequence,
                    resume=True,
                )
        taken_up = socket.wait_for("READY" if session is None else "RESUMED", lambda _: True)
        async with asyncio.timeout(READY_SECONDS):
            while not taken_up.done():
                await socket.poll_event()
        line.ready_at = asyncio.get_running_loop().time()
        if session is None:
            self._part_with_those_left(line.shard, taken_up.result())
        while True:
            await socket.poll_event()

    def _part_with_those_left(self, shard: int, ready: Any) -> None:
        """A new session begins without a word on the servers that we left since the old one."""
        joined = {int(guild["id"]) for guild in ready["guilds"]}
        for guild in self.guilds:
            if self.shards_held.of(guild.id) == shard and guild.id not in joined:
                self._connection.parse_guild_delete({"id": guild.id, "unavailable": False})

    async def _turn(self, gone: asyncio.Future[None]) -> None:
        """Wait until the platform takes a new session from us."""
        now = asyncio.get_running_loop().time()
        at = max(now, self._next_identify)
        self._next_identify = at + IDENTIFY_SECONDS
        if at > now:
            await asyncio.wait((gone,), timeout=at - now)

    async def _hang_up(self, line: _Line, resumes: bool) -> None:
        """Close what is left of a connection, and keep its session where it may go on."""
        socket = line.socket
        if socket is None:
            return
        line.session = None
        if resumes and socket.session_id is not None:
            line.session = _Session(socket.session_id, socket.sequence, socket.gateway)
        await _close(socket, KEEPING_CLOSE)
        line.socket = None

    async def _pause(self, line: _Line, why: str, gone: asyncio.Future[None]) -> None:
        """Wait before the next try: not at all where a connection is lost that was well."""
        was_ready_at, line.ready_at = line.ready_at, None
        if gone.done():
            return
        now = asyncio.get_running_loop().time()
        if was_ready_at is not None and now - was_ready_at >= STEADY_SECONDS:
            line.waits.reset()
            line.hurried = False
        if was_ready_at is not None and line.session is not None and not line.hurried:
            line.hurried = True
            log.info("shard %d was lost (%s): again at once", line.shard, why)
            return
        seconds = line.waits.next()
        log.warning("shard %d is not connected (%s): again in %.0f s", line.shard, why, seconds)
        await asyncio.wait((gone,), timeout=seconds)

    async def _hang_up_all(self, tasks: list[asyncio.Task[None]]) -> None:
        """Let all lines end, however it came to that."""
        assert self._gone is not None
        if not self._gone.done():
            self._gone.set_result(None)
        await asyncio.gather(*(_close(line.socket, LEAVING_CLOSE) for line in self._lines))
        _, late = await asyncio.wait(tasks, timeout=CLOSE_SECONDS)
        for task in late:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)


async def _close(socket: DiscordWebSocket | None, code: int) -> None:
    """Close a socket, if there is one; where nobody answers, or the network is gone, it is dropped."""
    if socket is not None:
        with suppress(Exception):
            async with asyncio.timeout(CLOSE_SECONDS):
                await socket.close(code)
