"""A platform on loopback, just large enough to be connected to: real sockets, the real library."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from typing import Any

import discord
import pytest
import yarl
from aiohttp import WSMsgType, web

BOT = {"id": "1", "username": "bot", "discriminator": "0", "avatar": None, "bot": True}
APPLICATION = {"id": "2", "name": "bot", "description": "", "icon": None, "bot_public": True, "flags": 0}
APPLICATION |= {"bot_require_code_grant": False, "verify_key": "", "team": None, "summary": "", "owner": BOT}


@dataclass(slots=True)
class Platform:
    """What it does is set before it is used. `close_code`: the gateway closes with it after the identify.
    `callback_seconds`: how long an answer takes to be taken. `asked` are its requests, in order."""

    status: int = 200
    body: Any = None
    close_code: int | None = None
    callback_seconds: float = 0.0
    asked: list[str] = field(default_factory=list)
    answered: list[Any] = field(default_factory=list)
    ready: asyncio.Event = field(default_factory=asyncio.Event)
    asking: asyncio.Event = field(default_factory=asyncio.Event)
    sockets: list[web.WebSocketResponse] = field(default_factory=list)

    async def rest(self, request: web.Request) -> web.StreamResponse:
        path = request.path.removeprefix("/api/v10")
        self.asked.append(f"{request.method} {path}")
        if self.status != 200:
            return _json({"message": "no", "code": 0}, status=self.status)
        if self.body is not None:
            return web.Response(text=self.body, content_type="text/html")
        if path.endswith("/callback"):
            self.asking.set()
            await asyncio.sleep(self.callback_seconds)
            self.answered.append(await request.json())
            return _json(
                {
                    "interaction": {"id": "9", "type": 2},
                    "resource": {"type": 4, "message": None},
                }
            )
        return _json({"/users/@me": BOT, "/oauth2/applications/@me": APPLICATION}.get(path, []))

    async def gateway(self, request: web.Request) -> web.StreamResponse:
        socket = web.WebSocketResponse()
        await socket.prepare(request)
        self.sockets.append(socket)
        await socket.send_json({"op": 10, "d": {"heartbeat_interval": 40_000}})
        async for message in socket:
            if message.type is not WSMsgType.TEXT or json.loads(message.data)["op"] != 2:
                continue
            if self.close_code is not None:
                await socket.close(code=self.close_code)
                break
            await self.emit(
                "READY",
                {
                    "v": 10,
                    "user": BOT,
                    "guilds": [],
                    "session_id": "s",
                    "resume_gateway_url": f"ws://{request.host}/gateway",
                    "application": {"id": "2", "flags": 0},
                },
            )
            self.ready.set()
        return socket

    async def emit(self, event: str, data: Any) -> None:
        await self.sockets[-1].send_json({"op": 0, "t": event, "s": 1, "d": data})


def _json(value: Any, status: int = 200) -> web.Response:
    """As the platform says it: the library reads JSON under no other content type."""
    return web.Response(
        body=json.dumps(value).encode(), status=status, headers={"Content-Type": "application/json"}
    )


@asynccontextmanager
async def serving(platform: Platform, patch: pytest.MonkeyPatch) -> AsyncIterator[None]:
    """Serve it, and let the library find it instead of the real one."""
    app = web.Application()
    app.router.add_get("/gateway", platform.gateway)
    app.router.add_get("/gateway/", platform.gateway)
    app.router.add_route("*", "/api/v10/{path:.*}", platform.rest)
    runner = web.AppRunner(app, shutdown_timeout=1)
    await runner.setup()
    site = web.TCPSite(runner, "127.0.0.1", 0)
    await site.start()
    port = runner.addresses[0][1]
    patch.setattr(discord.http.Route, "BASE", f"http://127.0.0.1:{port}/api/v10")
    patch.setattr(
        discord.gateway.DiscordWebSocket, "DEFAULT_GATEWAY", yarl.URL(f"ws://127.0.0.1:{port}/gateway")
    )
    try:
        yield
    finally:
        await runner.cleanup()


def command(interaction_id: int, name: str, **options: str) -> dict[str, Any]:
    """A slash command in a direct message, as the gateway sends it."""
    return {
        "id": str(interaction_id),
        "application_id": "2",
        "type": 2,
        "token": "t",
        "version": 1,
        "locale": "en-GB",
        "entitlements": [],
        "authorizing_integration_owners": {},
        "context": 1,
        "attachment_size_limit": 1,
        "app_permissions": "0",
        "user": {"id": "7", "username": "ann", "discriminator": "0", "avatar": None},
        "channel_id": "8",
        "channel": {"id": "8", "type": 1, "recipients": [], "last_message_id": None},
        "data": {
            "id": "3",
            "name": name,
            "type": 1,
            "options": [{"name": key, "type": 3, "value": value} for key, value in options.items()],
        },
    }
