"""What becomes of what is kept of a server when the bot leaves it, and when it comes back."""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import timedelta

from bot.ports import Clock
from bot.results.job import Job
from bot.services.jobs import JobService
from bot.services.retention import prune_in_pieces
from bot.storage import leaving as stored
from bot.storage import retention
from bot.storage.store import Store, Writing

JOB = "forget-server"
"""The kind of the job that removes all of a server."""
GRACE = timedelta(days=30)
"""So long it is kept after the bot has left, for who takes it back."""
FOR_EVER = timedelta(days=36_500)


class LeavingService:
    """A server that was left is forgotten after a while, unless the bot is taken back."""

    def __init__(self, store: Store, jobs: JobService, clock: Clock) -> None:
        self._store = store
        self._jobs = jobs
        self._clock = clock
        self._forget: list[Callable[[int], None]] = []

    def forget_with(self, *forget: Callable[[int], None]) -> None:
        """Have these called with each server that was forgotten: whoever holds something of it in memory lets
        go of it."""
        self._forget.extend(forget)

    async def left(self, server_id: int) -> None:
        """The bot is not in this server any more. Told again, it changes nothing."""
        async with self._store.write() as writing:
            if server_id in await stored.kept(writing):
                await self._plan(writing, server_id)

    async def back(self, server_id: int) -> None:
        """The bot is in this server: nothing of it is to be forgotten."""
        async with self._store.write() as writing:
            await self._jobs.cancel(writing, _key(server_id))

    async def compare(self, joined: Collection[int], ours: Callable[[int], bool]) -> None:
        """Take up what happened while the bot was away: of the servers that `ours` says yes to, it is in
        these. On the others another process looks."""
        async with self._store.read() as reading:
            kept = {one for one in await stored.kept(reading) if ours(one)}
            back = [one for one in kept & set(joined) if await stored.is_waiting(reading, _key(one))]
        for server_id in sorted(kept - set(joined)):
            await self.left(server_id)
        for server_id in back:
            await self.back(server_id)

    async def forget(self, server_id: int) -> None:
        """Remove everything of this server. May be broken off and done again."""
        end = self._clock.now() + FOR_EVER
        async with self._store.read() as reading:
            numbers = await stored.members(reading, server_id)
        for number in numbers:  # the many rows first
            await prune_in_pieces(self._store, number, end)
        async with self._store.write() as writing:
            await retention.prune_notices(writing, self._clock.now() - GRACE)
            await stored.forget(writing, server_id)
            await self._jobs.cancel(writing, _key(server_id))
        for forget in self._forget:
            forget(server_id)

    async def _plan(self, writing: Writing, server_id: int) -> None:
        if not await stored.is_waiting(writing, _key(server_id)):
            due_at = self._clock.now() + GRACE
            await self._jobs.add(writing, Job(_key(server_id), JOB, due_at, {"server": server_id}))


def _key(server_id: int) -> str:
    return f"{JOB}:{server_id}"
