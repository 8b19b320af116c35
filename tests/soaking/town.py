"""The platform of a soak: it sends what members do, takes the answers, and loses and refuses some."""

from __future__ import annotations

import asyncio
import json
import re
from dataclasses import dataclass, field
from random import Random
from typing import Any

from aiohttp import web
from chat.platform import BOT, Platform, as_json
from soaking.asks import Ask

CALLBACK = re.compile(r"/interactions/(\d+)/[^/]+/callback")
FOLLOWUP = re.compile(r"/webhooks/2/token-of-(\d+)(/messages/@original)?")
SHOWN_NOW, SHOWN_LATER = 4, 5
"""The types of answers that show something, and that promise it."""
ALREADY_ACKNOWLEDGED = 40060


@dataclass(slots=True)
class Answered:
    """What somebody saw: `text` of all of it, `times` how many messages; `promised`: one is to come."""

    text: str = ""
    times: int = 0
    promised: bool = False
    done: asyncio.Event = field(default_factory=asyncio.Event)


@dataclass(slots=True)
class Town:
    """`lost_receipts`: the share of answers that are taken and then reported as failed, `busy`: that of those
    that are refused for a moment (429)."""

    platform: Platform
    chance: Random
    lost_receipts: float = 0.0
    busy: float = 0.0
    answered: dict[int, Answered] = field(default_factory=dict)
    messages: int = 5_000_000

    async def send(self, ask: Ask, *, twice: bool = False) -> None:
        """Let somebody do something; `twice`: the gateway delivers it again. Raises ConnectionError."""
        self.answered.setdefault(ask.id, Answered())
        for _ in range(2 if twice else 1):
            if 0 not in self.platform.by_shard:
                raise ConnectionResetError("nobody listens")
            await self.platform.emit("INTERACTION_CREATE", ask.data)
        self.platform.missed[0].clear()  # what a soak loses stays lost, and is not counted

    async def rest(self, request: web.Request) -> web.StreamResponse:
        """Answer a request as the platform would."""
        path = request.path.removeprefix("/api/v10")
        callback, followup = CALLBACK.fullmatch(path), FOLLOWUP.fullmatch(path)
        if callback or followup:
            if self.chance.random() < self.busy:
                busy = as_json({"message": "slower", "retry_after": 0.2, "global": False}, status=429)
                busy.headers["Via"] = "1.1 platform"  # without it the library takes us for banned
                return busy
            body = await _body(request)
            refused = self._take_callback(int(callback[1]), body) if callback else None
            if followup:
                self._take(int(followup[1]), body, again=followup[2] is not None)
            if refused is not None:
                return refused
            if self.chance.random() < self.lost_receipts:
                return as_json({"message": "lost", "code": 0}, status=500)
            if callback:
                resource = {"type": body["type"], "message": None}
                return as_json({"interaction": {"id": callback[1], "type": 2}, "resource": resource})
            return as_json(self._message())
        if path.endswith("/messages") and request.method == "POST":
            return as_json(self._message())
        if path == "/users/@me/channels":
            return as_json({"id": "9", "type": 1, "recipients": []})
        return await self.platform.rest(request)

    def _take_callback(self, number: int, body: dict[str, Any]) -> web.Response | None:
        seen = self.answered[number]
        if seen.promised or seen.times:
            said = {"message": "Interaction has already been acknowledged.", "code": ALREADY_ACKNOWLEDGED}
            return as_json(said, status=400)
        if body["type"] == SHOWN_LATER:
            seen.promised = True
        else:
            self._take(number, body.get("data", {}))
        return None

    def _take(self, number: int, shown: dict[str, Any], *, again: bool = False) -> None:
        seen = self.answered[number]
        seen.text = json.dumps(shown) if again else seen.text + json.dumps(shown)
        seen.times = max(seen.times, 1) if again else seen.times + 1
        seen.done.set()

    def _message(self) -> dict[str, Any]:
        self.messages += 1
        empty = ("mentions", "mention_roles", "attachments", "embeds", "components")
        return {
            "id": str(self.messages),
            "channel_id": "9",
            "author": BOT,
            "content": "",
            "timestamp": "2026-01-01T00:00:00+00:00",
            "edited_timestamp": None,
            **dict.fromkeys(("tts", "mention_everyone", "pinned"), False),
            **{name: [] for name in empty},
            "type": 0,
        }


async def _body(request: web.Request) -> dict[str, Any]:
    """What was sent; a message with files has it in one of its parts."""
    if request.content_type == "application/json":
        body: dict[str, Any] = await request.json()
        return body
    parts = await request.post()
    whole: dict[str, Any] = json.loads(str(parts["payload_json"]))
    return whole
