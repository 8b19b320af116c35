"""What is kept of a member: handed out to them, or erased."""

from __future__ import annotations

from bot.results.place import Place
from bot.results.tally import Everything
from bot.services.settings import SettingsBook
from bot.storage import privacy
from bot.storage.store import Store


class PrivacyService:
    """A member's log is theirs."""

    def __init__(self, store: Store, book: SettingsBook) -> None:
        self._store = store
        self._book = book

    async def export(self, place: Place) -> Everything:
        """Everything that is kept of this member here."""
        async with self._store.read() as reading:
            return await privacy.everything(reading, place.owner)

    async def erase(self, place: Place, event_id: int | None = None) -> int | None:
        """Erase it, the member's settings too, and say how many tallies that were; None, and nothing erased,
        where this event has done so before."""
        async with self._store.write(event_id) as writing:
            if writing.repeated:
                return None
            erased = await privacy.erase(writing, place.owner)
        self._book.drop(place.owner)
        return erased
