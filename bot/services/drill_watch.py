"""Which open drills a tally belongs to, so that their posts are refreshed when it changes."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from bot.results.drills import KeptDrill
from bot.results.place import Owner
from bot.results.tally import Subject
from bot.storage import drills as stored
from bot.storage.store import Store


class DrillWatch:
    """Open drills, held in memory. `load` before anything is read."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._open: dict[tuple[int, Subject], set[int]] = {}
        self._touched: Callable[[int], None] | None = None

    async def load(self) -> None:
        """Read which drills are open."""
        async with self._store.read() as reading:
            for drill in await stored.all_open(reading):
                self.opened(drill)

    def listen(self, touched: Callable[[int], None]) -> None:
        """Have this called with the number of each drill whose post is no longer what it should be, open or
        over."""
        self._touched = touched

    def opened(self, drill: KeptDrill) -> None:
        """This drill is open."""
        self._open.setdefault((drill.server_id, drill.plan.subject), set()).add(drill.id)

    def closed(self, drill: KeptDrill) -> None:
        """This drill is not open, or no longer."""
        key = (drill.server_id, drill.plan.subject)
        ids = self._open.get(key, set())
        ids.discard(drill.id)
        if not ids:
            self._open.pop(key, None)

    def drop_server(self, server_id: int) -> None:
        """Forget the drills of a server of which nothing is kept any more."""
        for key in [one for one in self._open if one[0] == server_id]:
            del self._open[key]

    def changed(self, owner: Owner, subject: Subject) -> None:
        """A tally of this member at this was logged, changed or taken out of their log."""
        self.touch(self._open.get((owner.server_id, subject), ()))

    def game_changed(self, server_id: int, game: str) -> None:
        """A server uses another version of this game: its rhythms may be others."""
        for (of_server, subject), ids in self._open.items():
            if (of_server, subject.game) == (server_id, game):
                self.touch(ids)

    def touch(self, drill_ids: Iterable[int]) -> None:
        """The posts of these drills are to be refreshed."""
        if self._touched is not None:
            for drill_id in sorted(drill_ids):
                self._touched(drill_id)
