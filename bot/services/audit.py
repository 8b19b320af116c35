"""What moderators and coaches of a server did, for its moderators."""

from __future__ import annotations

from bot.results.place import Place
from bot.results.setup import AuditPage
from bot.storage import audit as stored
from bot.storage.store import Store

PAGE = 15


class AuditService:
    """Whoever calls this has made sure that the member is a moderator."""

    def __init__(self, store: Store) -> None:
        self._store = store

    async def page(self, place: Place, before: int = 0) -> AuditPage:
        """The latest entries of the server; those before this one where it is given."""
        async with self._store.read() as reading:
            found = await stored.listed(reading, place.owner.server_id, before or None, PAGE + 1)
        return AuditPage(found[:PAGE], len(found) > PAGE)
