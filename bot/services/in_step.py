"""What a process holds in memory, kept in step with a database that other processes write to as well."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Collection, Sequence
from datetime import UTC, datetime, timedelta

from bot.results.place import Owner
from bot.services.coaching import CoachingService
from bot.services.drill_watch import DrillWatch
from bot.services.game_book import GameBook
from bot.services.settings import SettingsBook
from bot.storage.changes import Changed, Changes, Key
from bot.storage.store import Store

POST = "post"
"""What is told of a drill's post that is to be refreshed: with the server's id and the drill's number."""
AT_ONCE = 500
"""So many rows are read anew in one transaction."""
_1970 = datetime(1970, 1, 1, tzinfo=UTC)


class InStep:
    """Loads what is held, at first and where changes may have been missed, and reads anew what others
    changed, much of it at once. Whoever writes takes up by themselves what they wrote; that it is heard as
    well mends what they did not, as they never learnt how a commit ended."""

    def __init__(
        self, store: Store, book: SettingsBook, games: GameBook, coaching: CoachingService, drills: DrillWatch
    ) -> None:
        self._book = book
        self._games = games
        self._coaching = coaching
        self._drills = drills
        self._changes = Changes(store, self._load, self._take_up)
        self._rereads: dict[str, tuple[int, Callable[[Sequence[Key]], Awaitable[None]]]] = {
            "server": (1, self._servers),
            "member": (2, self._members),
            "coaching": (2, lambda keys: coaching.reread(_owners(keys))),
            "drill": (1, lambda keys: drills.reread([drill_id for (drill_id,) in keys])),
            "game": (1, lambda keys: games.reread([server_id for (server_id,) in keys])),
            "channel": (1, lambda keys: games.reread_channels([channel_id for (channel_id,) in keys])),
        }  # by table: how many numbers a key has, and who reads anew
        self._loaded = False
        self._ring: Callable[[datetime], None] | None = None
        self._forget: Callable[[Owner], None] | None = None
        drills.tell_with(lambda server_id, drill_id: self._changes.tell(POST, server_id, drill_id))

    def ring_with(self, ring: Callable[[datetime], None]) -> None:
        """Have this called with the moment of a job that another process may have added."""
        self._ring = ring

    def forget_with(self, forget: Callable[[Owner], None]) -> None:
        """Have this called with each member of whom nothing is kept any more."""
        self._forget = forget

    async def open(self) -> None:
        """Load everything, and keep it in step from now on. Raises StorageError."""
        await self._changes.open()

    async def close(self) -> None:
        """Hear nothing any more. Call it before the store is closed."""
        await self._changes.close()

    async def _load(self) -> None:
        await self._book.load()
        await self._games.load()
        await self._coaching.load()
        await self._drills.load()
        if self._loaded:  # else nothing is posted yet, and nothing was missed
            self._drills.touch_all()
            self._see_to_jobs(_1970)
        self._loaded = True

    async def _take_up(self, changed: Changed) -> None:
        for what, (numbers, reread) in self._rereads.items():
            keys = _keys(changed, what, numbers)
            for start in range(0, len(keys), AT_ONCE):
                await reread(keys[start : start + AT_ONCE])
        for server_id, drill_id in _keys(changed, POST, 2):
            self._drills.told(server_id, drill_id)
        due = [microseconds for (microseconds,) in _keys(changed, "job", 1)]
        if due:
            self._see_to_jobs(_1970 + timedelta(microseconds=min(due)))

    async def _servers(self, keys: Sequence[Key]) -> None:
        server_ids = [server_id for (server_id,) in keys]
        await self._book.reread_servers(server_ids)
        for server_id in server_ids:
            self._games.forget_old(server_id)  # it may be gone, and come back with others of the same name

    async def _members(self, keys: Sequence[Key]) -> None:
        for owner in await self._book.reread_members(_owners(keys)):
            if self._forget is not None:
                self._forget(owner)

    def _see_to_jobs(self, due_at: datetime) -> None:
        if self._ring is not None:
            self._ring(due_at)


def _keys(changed: Changed, what: str, numbers: int) -> list[Key]:
    """What changed, without what a process of another version may have told otherwise."""
    return [key for key in changed.get(what, ()) if len(key) == numbers]


def _owners(keys: Collection[Key]) -> list[Owner]:
    return [Owner(server_id, member_id) for server_id, member_id in keys]
