"""Processes that share a PostgreSQL database: what each holds of it, and waiting until it has heard.

Run by itself with a URL and the shards that it has, such as 0-1/4, it is such a process: it says what it
holds whenever it is told a mark, and changes what its standard input says.
"""

from __future__ import annotations

import asyncio
import json
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import datetime
from itertools import count
from typing import Any

from databases import in_thread, name_of
from inline import HandClock
from kept import hosting
from pydantic import SecretStr
from stored import NOW

from bot.client.shards import read_shards
from bot.gamefiles import Source
from bot.results.place import Owner, Place
from bot.results.tally import MemberSettings
from bot.services.coaching import CoachingService
from bot.services.drill_watch import DrillWatch
from bot.services.game_book import GameBook
from bot.services.in_step import POST, InStep
from bot.services.jobs import JobService
from bot.services.leaving import LeavingService
from bot.services.notices import NoticeService
from bot.services.privacy import PrivacyService
from bot.services.settings import SettingsBook
from bot.storage.address import Address, address_of
from bot.storage.schema.told import CHANNEL
from bot.storage.store import Store

FIRST_MARK = 1_000_000
"""No drill has such a number."""
LONGEST_SECONDS = 30.0
"""A test that waits for what never comes ends."""
_marks = count(FIRST_MARK)


@dataclass
class Process:
    """What a process holds. `server_id`: a server that it has, for marks; `posts`: the drills whose posts it
    was to refresh; `rung`: the moments of jobs that others added; `forgotten`: members who were; `changed`:
    servers and their games of which another version is used."""

    store: Store
    clock: HandClock
    book: SettingsBook
    games: GameBook
    jobs: JobService
    coaching: CoachingService
    watch: DrillWatch
    in_step: InStep
    server_id: int
    posts: list[int] = field(default_factory=list)
    rung: list[datetime] = field(default_factory=list)
    forgotten: list[Owner] = field(default_factory=list)
    changed: list[tuple[int, str]] = field(default_factory=list)
    _seen: asyncio.Queue[int] = field(default_factory=asyncio.Queue)

    def __post_init__(self) -> None:
        self.watch.listen(self._touched)
        self.games.listen(lambda server_id, name: self.changed.append((server_id, name)))
        self.in_step.ring_with(self.rung.append)
        self.in_step.forget_with(self.forgotten.append)
        self.privacy = PrivacyService(self.store, self.book)
        self.privacy.listen(self.watch.touch)
        self.privacy.forget_with(self.coaching.drop)
        self.leaving = LeavingService(self.store, self.jobs, self.clock)
        self.leaving.forget_with(
            self.book.drop_server,
            self.coaching.drop_server,
            self.watch.drop_server,
            self.games.forget_server,
        )

    async def heard(self) -> None:
        """Wait until it has taken up all that was committed until now."""
        mark = next(_marks)
        url = name_of(self.store.address)
        tell(url, f"{POST} {self.server_id} {mark}")
        await self.touched(mark)

    async def touched(self, drill_id: int) -> None:
        """Wait until it was to refresh this drill's post."""
        async with asyncio.timeout(LONGEST_SECONDS):
            while await self._seen.get() != drill_id:
                pass

    def _touched(self, drill_id: int) -> None:
        if drill_id < FIRST_MARK:
            self.posts.append(drill_id)
        self._seen.put_nowait(drill_id)


def tell(url: str, said: str) -> None:
    """Tell the processes that listen on a database."""

    async def work() -> None:
        import asyncpg

        connection = await asyncpg.connect(url)
        await connection.execute("SELECT pg_notify($1, $2)", CHANNEL, said)
        await connection.close()

    in_thread(work())


@asynccontextmanager
async def process_on(
    address: Address,
    ours: Callable[[int], bool] = lambda _: True,
    server_id: int = 1,
    **sources: Source,
) -> AsyncIterator[Process]:
    """What a process holds of this database, in step with it; `sources`: the host's games, where they are
    others than the demo games."""
    store, clock = Store(address), HandClock(NOW)
    await store.open()
    try:
        book, jobs = SettingsBook(store, clock), JobService(store, clock)
        games = hosting(store, clock, book, **sources)
        coaching = CoachingService(store, book, clock, NoticeService(jobs, book, clock))
        watch = DrillWatch(store, ours)
        in_step = InStep(store, book, games, coaching, watch)
        process = Process(store, clock, book, games, jobs, coaching, watch, in_step, server_id)
        await in_step.open()
        try:
            yield process
        finally:
            await in_step.close()
    finally:
        await store.close()


async def _live(url: str, shards: str) -> None:
    """Say what is held at each mark, and do what is asked: "zone SERVER ZONE", "goal SERVER MEMBER GOAL"."""
    held = read_shards(shards)
    own = next(server_id for server_id in range(1 << 22, 1 << 26, 1 << 22) if held.holds(server_id))
    async with process_on(address_of(SecretStr(url)), held.holds, own) as process:
        process.watch.listen(lambda number: _say(_state(process, number)))
        _say({"holds": own})
        loop, reader = asyncio.get_running_loop(), asyncio.StreamReader()
        await loop.connect_read_pipe(lambda: asyncio.StreamReaderProtocol(reader), sys.stdin)
        while line := (await reader.readline()).decode():
            what, server_id, *rest = line.split()
            if what == "zone":
                await process.book.set_zone(Place(int(server_id), 1, 1), rest[0])
            else:
                owner, chosen = Owner(int(server_id), int(rest[0])), MemberSettings(goal=float(rest[1]))
                await process.book.set_member(owner, chosen)
            _say({"did": line.strip()})


def _state(process: Process, number: int) -> dict[str, Any]:
    zones = {server_id: process.book.server(server_id).zone for server_id in range(1 << 22, 1 << 24, 1 << 22)}
    goals = {member_id: process.book.goal(Owner(process.server_id, member_id)) for member_id in range(1, 4)}
    return {"touched": number, "zones": zones, "goals": goals}


def _say(what: dict[str, Any]) -> None:
    print(json.dumps(what), flush=True)


if __name__ == "__main__":
    asyncio.run(_live(*sys.argv[1:]))
