"""Posting a message once, whatever happens in between."""

from __future__ import annotations

import asyncio
from datetime import timedelta
from hashlib import sha256
from typing import Generic, TypeVar
from weakref import WeakValueDictionary

from bot.ports import Clock, Poster
from bot.results.job import Post
from bot.storage import posts as stored
from bot.storage.store import Store

Content = TypeVar("Content")
CLOCKS_DIFFER = timedelta(minutes=10)
"""By how much the platform's clock may be behind ours."""


def marker_of(key: str) -> str:
    """What a post carries so that it is found again, 20 characters: the platform's nonce takes 25."""
    return sha256(key.encode()).hexdigest()[:20]


class PostService(Generic[Content]):
    """A post is noted before it is sent and after; where only the first is known, its channel is read."""

    def __init__(self, store: Store, clock: Clock, poster: Poster[Content]) -> None:
        self._store = store
        self._clock = clock
        self._poster = poster
        self._at_it: WeakValueDictionary[str, asyncio.Lock] = WeakValueDictionary()

    async def post_once(self, key: str, channel_id: int, content: Content) -> int:
        """The id of the message with this key; it is posted where it was not. The key may name no member.
        Two processes must not do this with one key at the same time: the job that posts is held by one."""
        lock = self._at_it.setdefault(key, asyncio.Lock())
        async with lock:
            return await self._stands(key) or await self._send(key, channel_id, content)

    async def noted(self, key: str) -> Post | None:
        """What is noted of the message with this key."""
        async with self._store.read() as reading:
            return await stored.find(reading, key)

    async def _stands(self, key: str) -> int | None:
        """The message with this key, looked for in its channel where it may have been sent unnoted."""
        async with self._store.read() as reading:
            post = await stored.find(reading, key)
        if post is None or post.message_id is not None:
            return post.message_id if post is not None else None
        since = post.made_at - CLOCKS_DIFFER
        found = await self._poster.find(post.channel_id, marker_of(key), since)
        if found is not None:
            await self._note(key, found)
        return found

    async def _send(self, key: str, channel_id: int, content: Content) -> int:
        async with self._store.write() as writing:
            await stored.reserve(writing, key, channel_id, self._clock.now())
        message_id = await self._poster.post(channel_id, marker_of(key), content)
        await self._note(key, message_id)
        return message_id

    async def _note(self, key: str, message_id: int) -> None:
        async with self._store.write() as writing:
            await stored.note_sent(writing, key, message_id, self._clock.now())
