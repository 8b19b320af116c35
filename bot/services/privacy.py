"""What is kept of a member: handed out to them, or erased."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from bot.results.place import Owner, Place
from bot.results.tally import Everything
from bot.services.settings import SettingsBook
from bot.storage import drills, privacy
from bot.storage.store import Store


class PrivacyService:
    """A member's log is theirs."""

    def __init__(self, store: Store, book: SettingsBook) -> None:
        self._store = store
        self._book = book
        self._erased_from: Callable[[int, Iterable[int]], None] | None = None
        self._forget: Callable[[Owner], None] | None = None

    def listen(self, erased_from: Callable[[int, Iterable[int]], None]) -> None:
        """Have this called with the id of a server and the numbers of its group drills in which somebody took
        part who was erased: their posts name them."""
        self._erased_from = erased_from

    def forget_with(self, forget: Callable[[Owner], None]) -> None:
        """Have this called with each member who was erased: whoever holds them in memory forgets them."""
        self._forget = forget

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
            shown_in = await drills.of_member(writing, place.owner)
            erased = await privacy.erase(writing, place.owner)
        self._book.drop(place.owner)
        if self._forget is not None:
            self._forget(place.owner)
        if self._erased_from is not None:
            self._erased_from(place.owner.server_id, shown_in)
        return erased
