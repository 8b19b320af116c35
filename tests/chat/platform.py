"""A platform on loopback, just large enough to be connected to: real sockets, the real library."""

from __future__ import annotations

import asyncio
import json
from collections import defaultdict
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from typing import Any

import discord
import pytest
import yarl
from aiohttp import WSMsgType, web

DISPATCH, HEARTBEAT, IDENTIFY, RESUME, RECONNECT, INVALID, HELLO, RECEIPT = 0, 1, 2, 6, 7, 9, 10, 11
"""The gateway's operations."""
BOT = {"id": "1", "username": "bot", "discriminator": "0", "avatar": None, "bot": True}
APPLICATION = {"id": "2", "name": "bot", "description": "", "icon": None, "bot_public": True, "flags": 0}
APPLICATION |= {"bot_require_code_grant": False, "verify_key": "", "team": None, "summary": "", "owner": BOT}

NOW = "2026-01-01T00:00:00+00:00"
MESSAGE = {"id": "9", "channel_id": "8", "author": BOT, "content": "", "timestamp": NOW, "type": 0}
MESSAGE |= {key: [] for key in ("mentions", "mention_roles", "attachments", "embeds", "components")}
MESSAGE |= {"edited_timestamp": None, "tts": False, "mention_everyone": False, "pinned": False}


@dataclass(slots=True)
class Platform:
    """What it does is set before it is used, and may be set anew. `shards`: how many it recommends;
    `close_code`: the gateway closes with it after the identify; `refused`: shards that it turns away like
    that, `silent`: those that it says no word to; `servers`: of each shard, those that the bot has joined,
    `away`: those that it has itself lost for now; `resumes`: whether it takes up sessions, and then sends all
    again that was `missed`; `callback_seconds`: how long an answer takes to be taken. `asked` are its
    requests, in order; `identified` and `resumed` the shards, as often as they did."""

    status: int = 200
    body: Any = None
    shards: int = 1
    close_code: int | None = None
    refused: set[int] = field(default_factory=set)
    silent: set[int] = field(default_factory=set)
    servers: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    away: set[int] = field(default_factory=set)
    resumes: bool = True
    receipts: bool = True
    callback_seconds: float = 0.0
    asked: list[str] = field(default_factory=list)
    answered: list[Any] = field(default_factory=list)
    identified: list[int] = field(default_factory=list)
    resumed: list[int] = field(default_factory=list)
    ready: asyncio.Event = field(default_factory=asyncio.Event)
    asking: asyncio.Event = field(default_factory=asyncio.Event)
    sockets: list[web.WebSocketResponse] = field(default_factory=list)
    by_shard: dict[int, web.WebSocketResponse] = field(default_factory=dict)
    missed: dict[int, list[tuple[str, Any]]] = field(default_factory=lambda: defaultdict(list))
    sequence: int = 0

    async def rest(self, request: web.Request) -> web.StreamResponse:
        path = request.path.removeprefix("/api/v10")
        self.asked.append(f"{request.method} {path}")
        if self.status != 200:
            return as_json({"message": "no", "code": 0}, status=self.status)
        if self.body is not None:
            return web.Response(text=self.body, content_type="text/html")
        if path.endswith("/callback"):
            self.asking.set()
            await asyncio.sleep(self.callback_seconds)
            self.answered.append(await request.json())
            return as_json(
                {
                    "interaction": {"id": "9", "type": 2},
                    "resource": {"type": 4, "message": None},
                }
            )
        if path.startswith("/webhooks/"):
            return as_json(MESSAGE)
        if path == "/gateway/bot":
            limit = {"total": 1000, "remaining": 1000, "reset_after": 0, "max_concurrency": 1}
            url = f"ws://{request.host}/gateway"
            return as_json({"url": url, "shards": self.shards, "session_start_limit": limit})
        return as_json({"/users/@me": BOT, "/oauth2/applications/@me": APPLICATION}.get(path, []))

    async def gateway(self, request: web.Request) -> web.StreamResponse:
        socket = web.WebSocketResponse()
        await socket.prepare(request)
        self.sockets.append(socket)
        await socket.send_json({"op": HELLO, "d": {"heartbeat_interval": 40_000}})
        async for message in socket:
            if message.type is not WSMsgType.TEXT:
                continue
            said = json.loads(message.data)
            if said["op"] == IDENTIFY:
                await self._identify(request, socket, *said["d"]["shard"])
            elif said["op"] == RESUME:
                await self._resume(socket, int(said["d"]["session_id"].removeprefix("of shard ")))
            elif said["op"] == HEARTBEAT and self.receipts:
                await socket.send_json({"op": RECEIPT})
        return socket

    async def _identify(
        self, request: web.Request, socket: web.WebSocketResponse, shard: int, count: int
    ) -> None:
        self.identified.append(shard)
        if self.close_code is not None or shard in self.refused:
            await socket.close(code=self.close_code or 1001)
            return
        if shard in self.silent:
            return
        self.by_shard[shard] = socket
        self.missed[shard].clear()
        joined = self.servers[shard]
        await self._say(
            socket,
            "READY",
            {
                "v": 10,
                "user": BOT,
                "guilds": [{"id": str(server_id), "unavailable": True} for server_id in joined],
                "session_id": f"of shard {shard}",
                "shard": [shard, count],
                "resume_gateway_url": f"ws://{request.host}/gateway",
                "application": {"id": "2", "flags": 0},
            },
        )
        for server_id in joined:
            if server_id not in self.away:
                await self._say(socket, "GUILD_CREATE", server(server_id))
        self.ready.set()

    async def _resume(self, socket: web.WebSocketResponse, shard: int) -> None:
        self.resumed.append(shard)
        if not self.resumes:
            await socket.send_json({"op": INVALID, "d": False})
            return
        self.by_shard[shard] = socket
        for event, data in self.missed[shard]:
            await self._say(socket, event, data)
        await self._say(socket, "RESUMED", {})

    async def emit(self, event: str, data: Any, shard: int = 0) -> None:
        """An event of a shard; where it is not connected it is missed."""
        self.missed[shard].append((event, data))
        socket = self.by_shard[shard]
        if not socket.closed:
            await self._say(socket, event, data)

    async def operate(self, op: int, data: Any = None, shard: int = 0) -> None:
        """An operation of the gateway's own."""
        await self.by_shard[shard].send_json({"op": op, "d": data})

    def reset(self, shard: int = 0) -> None:
        """The network breaks: no word is said."""
        transport = self.by_shard[shard]._req.transport  # type: ignore[union-attr]
        assert transport is not None
        transport.abort()  # type: ignore[attr-defined]

    async def _say(self, socket: web.WebSocketResponse, event: str, data: Any) -> None:
        self.sequence += 1
        await socket.send_json({"op": DISPATCH, "t": event, "s": self.sequence, "d": data})


def as_json(value: Any, status: int = 200) -> web.Response:
    """As the platform says it: the library reads JSON under no other content type."""
    return web.Response(
        body=json.dumps(value).encode(), status=status, headers={"Content-Type": "application/json"}
    )


@asynccontextmanager
async def served(
    gateway: Callable[[web.Request], Awaitable[web.StreamResponse]],
    rest: Callable[[web.Request], Awaitable[web.StreamResponse]],
) -> AsyncIterator[int]:
    """Serve a platform's gateway and its requests on loopback; the port."""
    app = web.Application(client_max_size=32 * 2**20)
    app.router.add_get("/gateway", gateway)
    app.router.add_get("/gateway/", gateway)
    app.router.add_route("*", "/api/v10/{path:.*}", rest)
    runner = web.AppRunner(app, shutdown_timeout=1)
    await runner.setup()
    site = web.TCPSite(runner, "127.0.0.1", 0)
    await site.start()
    try:
        yield runner.addresses[0][1]
    finally:
        await runner.cleanup()


@asynccontextmanager
async def serving(platform: Platform, patch: pytest.MonkeyPatch) -> AsyncIterator[int]:
    """Serve it, at this port, and let the library find it instead of the real one."""
    async with served(platform.gateway, platform.rest) as port:
        patch.setattr(discord.http.Route, "BASE", f"http://127.0.0.1:{port}/api/v10")
        patch.setattr(
            discord.gateway.DiscordWebSocket, "DEFAULT_GATEWAY", yarl.URL(f"ws://127.0.0.1:{port}/gateway")
        )
        yield port


def server(server_id: int) -> dict[str, Any]:
    """A server with one channel and nobody in it, as the gateway sends it."""
    return {
        "id": str(server_id),
        "name": f"Pier {server_id}",
        "owner_id": "7",
        "unavailable": False,
        "member_count": 1,
        "roles": [{"id": str(server_id), "name": "everyone", "permissions": "0", "position": 0, "color": 0}],
        "channels": [{"id": str(server_id + 1), "type": 0, "name": "frames", "position": 0}],
        "members": [],
    }


def command(interaction_id: int, name: str, server_id: int | None = None, **options: str) -> dict[str, Any]:
    """A slash command, in a direct message or in a server, as the gateway sends it; one of a group has both
    names."""
    first, _, second = name.partition(" ")
    given: list[dict[str, Any]] = [{"name": key, "type": 3, "value": value} for key, value in options.items()]
    if second:
        given = [{"name": second, "type": 1, "options": given}]
    user = {"id": "7", "username": "ann", "discriminator": "0", "avatar": None}
    where: dict[str, Any] = {
        "context": 1,
        "user": user,
        "channel_id": "8",
        "channel": {"id": "8", "type": 1, "recipients": [], "last_message_id": None},
    }
    if server_id is not None:
        channel_id = str(server_id + 1)
        member = {"user": user, "roles": [], "joined_at": NOW, "permissions": "0"}
        where = {
            "context": 0,
            "guild_id": str(server_id),
            "guild": {"id": str(server_id), "locale": "en-GB", "features": []},
            "member": {**member, "deaf": False, "mute": False, "flags": 0},
            "channel_id": channel_id,
            "channel": {"id": channel_id, "type": 0, "name": "frames", "permissions": "0", "position": 0},
        }
    return {
        "id": str(interaction_id),
        "application_id": "2",
        "type": 2,
        "token": "t",
        "version": 1,
        "locale": "en-GB",
        "entitlements": [],
        "authorizing_integration_owners": {},
        "attachment_size_limit": 1,
        "app_permissions": "0",
        **where,
        "data": {
            "id": "3",
            "name": first,
            "type": 1,
            "options": given,
        },
    }
