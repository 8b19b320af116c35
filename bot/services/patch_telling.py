"""Telling members what a new version of a game does to what is theirs: once, and all that changed since they
last knew."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from datetime import timedelta

from bot.ports import Clock, WorkerError
from bot.results.games import EditionChange
from bot.results.job import Job
from bot.results.notice import NoticeKind
from bot.results.patches import Concerns, Keep, KeptMoves, PatchNotice, Version
from bot.results.place import Owner, Place
from bot.services.game_book import GameBook
from bot.services.jobs import JobService
from bot.services.notices import NoticeService
from bot.services.patch_views import PatchViews
from bot.storage import editions
from bot.storage import jobs as stored_jobs
from bot.storage import patches as stored
from bot.storage.patches import NoticeRow
from bot.storage.store import Reading, Store, Writing

JOB = "patch"
"""The kind of the jobs that say of which changes nobody was told yet, one for each game of a server."""
OWED_AFTER = timedelta(minutes=5)
REST = timedelta(minutes=10)
"""So long nobody is told: whoever mends one number mends another, or goes back."""
_OF_MEMBERS = (Keep.SAVED, Keep.SHARED, Keep.HOMEWORK)


class PatchTelling:
    """A change is owed to the members from the transaction that makes it until it is settled who is told of
    it; what is owed when the process dies is settled by the next one."""

    def __init__(
        self,
        store: Store,
        game_book: GameBook,
        views: PatchViews,
        clock: Clock,
        jobs: JobService,
        notices: NoticeService,
    ) -> None:
        self._store = store
        self._games = game_book
        self._views = views
        self._clock = clock
        self._jobs = jobs
        self._notices = notices
        self._alone = asyncio.Lock()

    async def owe(self, writing: Writing, server_id: int, name: str, before_id: int) -> None:
        """Note, in the transaction in which a server takes up another version in place of this one, that
        nobody was told of that."""
        if await self._owed(writing, server_id, name) is None:
            await self._put_down(writing, server_id, name, before_id)

    async def announce(self, place: Place, change: EditionChange) -> int:
        """Have all members told whose routes or homework a change in this server touches, each once, in a
        while and after their quiet hours; how many that are. A change that comes before they are told is told
        in one with it. Where that cannot be worked out now it is tried again by itself, and none are counted.
        Call it after the change is stored; again has no second effect."""
        if change.before_id is None or change.again:
            return 0
        try:
            return await self.settle(place.owner.server_id, change.game.name)
        except WorkerError:
            return 0

    async def settle(self, server_id: int, name: str) -> int:
        """Settle who is told of what was owed up to now; how many they are. Raises WorkerError."""
        async with self._alone:
            async with self._store.read() as reading:
                before_id = await self._owed(reading, server_id, name)
                if before_id is None:
                    return 0
                after_id = await self._present(reading, server_id, name)
                kept = await stored.kept_moves(reading, server_id, name)
                waiting = await self._untold(reading, server_id, name)
            after = await self._views.version(server_id, name, after_id) if after_id is not None else None
            if after is None:
                return 0
            since = {one.member_id: before_id for one in kept if one.keep in _OF_MEMBERS}
            since |= {row.to.member_id: row.before_id for row in waiting}  # they know no later one
            owners = [Owner(server_id, one) for one in await self._whose(server_id, since, kept, after)]
            told = [to for to in owners if self._notices.wanted(to)]
            async with self._store.write() as writing:
                if await self._owed(writing, server_id, name) != before_id:
                    return 0  # another process has settled it meanwhile
                for row in waiting:
                    await self._notices.forget(writing, NoticeKind.PATCH, row.id)
                    await stored.remove(writing, row.id)
                for to in told:
                    await self._tell(writing, to, since[to.member_id], after.edition.id)
                if await self._present(writing, server_id, name) == after.edition.id:
                    await self._jobs.cancel(writing, _key(server_id, name))
                else:  # yet another version meanwhile
                    await self._put_down(writing, server_id, name, after.edition.id)
        return len(told)

    async def notice(self, number: int) -> PatchNotice | None:
        """What there is to tell now, and to whom; None where it is told otherwise, as another version is used
        by now, where nothing of theirs is touched any more, or they want to be left in peace. Raises
        WorkerError."""
        row, name = await self._row(number)
        if row is None:
            return None
        await self.settle(row.to.server_id, name)
        row, _ = await self._row(number)
        if row is None or not self._notices.wanted(row.to):
            return None
        server_id, to = row.to.server_id, row.to
        before = await self._views.version(server_id, name, row.before_id)
        after = await self._views.version(server_id, name, row.edition_id)
        if before is None or after is None:
            return None
        async with self._store.read() as reading:
            if await self._present(reading, server_id, name) != row.edition_id:
                return None
            kept = await stored.kept_moves(reading, server_id, name, to.member_id)
        mine = Concerns(await self._views.touched(before, after, server_id, kept)).of(to.member_id)
        opens = await self._views.numbered(to, after.game, mine)
        return PatchNotice(to, before, after, mine, opens) if mine else None

    async def _owed(self, reading: Reading, server_id: int, name: str) -> int | None:
        """The version of a server's game since which nobody was told of any change; None where all were."""
        key = _key(server_id, name)
        owed = [one for one in await stored_jobs.unfinished(reading, key) if one.key == key]
        return int(owed[0].payload["before"]) if owed else None

    async def _put_down(self, writing: Writing, server_id: int, name: str, before_id: int) -> None:
        due_at = self._clock.now() + OWED_AFTER
        payload = {"game": name, "before": before_id}
        await self._jobs.add(writing, Job(_key(server_id, name), JOB, due_at, payload, server_id))

    async def _present(self, reading: Reading, server_id: int, name: str) -> int | None:
        """The version that a server uses, as it is stored."""
        own = await editions.current(reading, server_id, name)
        return own if own is not None else self._games.edition_of(server_id, name)

    async def _untold(self, reading: Reading, server_id: int, name: str) -> tuple[NoticeRow, ...]:
        numbers = await self._notices.untold(reading, NoticeKind.PATCH)
        return await stored.among(reading, numbers, server_id, name)

    async def _row(self, number: int) -> tuple[NoticeRow | None, str]:
        """The notice with this number, and the name of the game."""
        async with self._store.read() as reading:
            row = await stored.get(reading, number)
            edition = await editions.get(reading, row.edition_id) if row is not None else None
        return (row, edition.game) if edition is not None else (None, "")

    async def _whose(
        self, server_id: int, since: Mapping[int, int], kept: Sequence[KeptMoves], after: Version
    ) -> list[int]:
        """The members of whose routes and homework something is touched by what changed since these
        versions."""
        found: list[int] = []
        for before_id in dict.fromkeys(since.values()):
            before = await self._views.version(server_id, after.game.name, before_id)
            if before is None or before_id == after.edition.id:
                continue
            own = [one for one in kept if one.keep in _OF_MEMBERS and since.get(one.member_id) == before_id]
            touched = await self._views.touched(before, after, server_id, own)
            found += dict.fromkeys(one.kept.member_id for one in touched)
        return found

    async def _tell(self, writing: Writing, to: Owner, before_id: int, edition_id: int) -> None:
        number = await stored.add(writing, to, edition_id, before_id)
        if number is not None:
            await self._notices.tell(writing, NoticeKind.PATCH, number, to, self._clock.now() + REST)


def _key(server_id: int, name: str) -> str:
    return f"{JOB}:{server_id}:{name}"
