"""Faults, doubles and many at once, at the two seams between discord.py and simcord (3.2).

The HTTP client (channel sends, sync, edits) and the webhook adapter (interaction callbacks, followups)
both have a `request` coroutine; a wrapper set on the instance is found by all of discord.py's helpers.
Both are made anew by env.restart_bot(): wrap again after it.
"""

from __future__ import annotations

import copy
import fnmatch
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import aiohttp
import discord
import simcord
from simcord import interactions as payloads
from simcord.http.client import _path_of


class _Answer:  # what HTTPException reads of an aiohttp response
    def __init__(self, status: int) -> None:
        self.status, self.reason = status, "injected"
        self.headers: dict[str, str] = {}


@contextmanager
def requests_wrapped(env: simcord.Env, around: Callable[..., Any]) -> Iterator[None]:
    """around(method, path, call) is awaited instead of each request; `await call()` applies it."""
    transports = [env.bot.http, env._webhook_adapter]

    covered = [vars(transport).get("request") for transport in transports]

    def wrap(transport: Any) -> None:
        original = transport.request

        async def request(route: Any, *args: Any, **kwargs: Any) -> Any:
            async def call() -> Any:
                return await original(route, *args, **kwargs)

            return await around(route.method, _path_of(route.url), call)

        transport.request = request

    for transport in transports:
        wrap(transport)
    try:
        yield
    finally:
        for transport, one in zip(transports, covered, strict=True):
            if one is None:
                del transport.request  # uncovers the class's own
            else:
                transport.request = one


@contextmanager
def failing_after(
    env: simcord.Env, method: str, pattern: str, *, status: int = 502, code: int = 0, times: int = 1
) -> Iterator[list[str]]:
    """The request is applied, the answer is lost: the bot sees a 5xx, and with status 0 that the connection
    was. Yields the paths that were hit."""
    hit: list[str] = []

    async def around(sent: str, path: str, call: Any) -> Any:
        answer = await call()
        if sent == method and fnmatch.fnmatch(path, pattern) and len(hit) < times:
            hit.append(path)
            if status == 0:
                raise aiohttp.ServerDisconnectedError
            kind = discord.DiscordServerError if status >= 500 else discord.HTTPException
            raise kind(_Answer(status), {"code": code, "message": "injected: the answer was lost"})
        return answer

    with requests_wrapped(env, around):
        yield hit


@contextmanager
def nonces_enforced(env: simcord.Env) -> Iterator[list[str]]:
    """As the platform does and the simulator does not: a message with a nonce that it knows is not posted
    again, but the first is what comes back. Yields the nonces that came, in order."""
    transport, came, posted = env.bot.http, list[str](), dict[str, Any]()
    original = transport.request

    async def request(route: Any, *args: Any, **kwargs: Any) -> Any:
        body = kwargs.get("json") or {}
        nonce = body.get("nonce") if body.get("enforce_nonce") else None
        if route.method != "POST" or nonce is None:
            return await original(route, *args, **kwargs)
        came.append(nonce)
        if nonce not in posted:
            posted[nonce] = copy.deepcopy(await original(route, *args, **kwargs))
        return copy.deepcopy(posted[nonce])

    covered = vars(transport).get("request")
    transport.request = request  # type: ignore[method-assign]
    try:
        yield came
    finally:
        if covered is None:
            del transport.request
        else:
            transport.request = covered  # type: ignore[method-assign]


@contextmanager
def events_seen(env: simcord.Env) -> Iterator[list[tuple[str, dict[str, Any]]]]:
    """Every gateway event emitted, detached: discord.py changes the payloads it is given."""
    seen: list[tuple[str, dict[str, Any]]] = []

    def note(event: str, payload: Any) -> None:
        seen.append((event, copy.deepcopy(payload)))

    env.backend.subscribers.insert(0, note)  # before the bot's own feed, which changes them
    try:
        yield seen
    finally:
        env.backend.subscribers.remove(note)


async def deliver_again(env: simcord.Env, seen: list[tuple[str, dict[str, Any]]], event: str) -> None:
    """The last such event once more, the same id and token, as the gateway does after a resume."""
    payload = next(payload for name, payload in reversed(seen) if name == event)
    env.backend.emit(event, copy.deepcopy(payload))
    await env.settle()


@contextmanager
def delivered_twice(env: simcord.Env, event: str) -> Iterator[None]:
    """Each such event reaches the bot twice in the same loop turn."""
    feeds = env.backend.subscribers
    at = feeds.index(env._gateway_feed)
    original = feeds[at]

    def twice(name: str, payload: Any) -> None:
        spare = copy.deepcopy(payload)
        original(name, payload)
        if name == event:
            original(name, spare)

    feeds[at] = twice
    try:
        yield
    finally:
        feeds[at] = original


async def slash_together(
    env: simcord.Env, calls: list[tuple[Any, Any, str, dict[str, Any]]]
) -> list[simcord.InteractionResult]:
    """(member, channel, command, options), all in flight at once. Actors refuse to overlap, so this is
    their inside."""
    records = []
    for member, channel, name, options in calls:
        root = env.backend.find_command(name, member.guild.id, type=1)
        values, resolved = payloads.build_options(member, name, root, options, channel_id=channel.id)
        data = {"id": root["id"], "name": name, "type": 1, "options": values} | (
            {"resolved": resolved} if resolved else {}
        )
        records.append(
            payloads.base_payload(
                env.backend,
                type=2,
                channel_id=channel.id,
                guild_id=member.guild.id,
                user_id=member.id,
                data=data,
            )
        )
    for _, payload in records:
        env.backend.emit("INTERACTION_CREATE", payload)
    await env.settle()
    return [simcord.InteractionResult(env, record) for record, _ in records]
