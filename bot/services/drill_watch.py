"""Which open drills a tally belongs to, so that their posts are refreshed when it changes."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from bot.results.drills import KeptDrill
from bot.results.place import Owner
from bot.results.tally import Subject
from bot.storage import drills as stored
from bot.storage.store import Store


class DrillWatch:
    """Open drills, held in memory. `load` before anything is read. `ours`: whether this process refreshes the
    posts of a server; of several one does, so that what one saw earlier never replaces what another saw."""

    def __init__(self, store: Store, ours: Callable[[int], bool] = lambda _: True) -> None:
        self._store = store
        self._ours = ours
        self._open: dict[tuple[int, Subject], set[int]] = {}
        self._keys: dict[int, tuple[int, Subject]] = {}
        self._touched: Callable[[int], None] | None = None
        self._tell: Callable[[int, int], None] | None = None

    async def load(self) -> None:
        """Read which drills are open."""
        async with self._store.settled() as reading:
            found = await stored.all_open(reading)
            self._open, self._keys = {}, {}
            for drill in found:
                self.opened(drill)

    async def reread(self, drill_ids: Collection[int]) -> None:
        """Read anew whether these drills are open, some hundreds at most."""
        async with self._store.settled() as reading:
            found = await stored.all_open(reading, drill_ids)
            for drill_id in drill_ids:
                self._let_go(drill_id)
            for drill in found:
                self.opened(drill)

    def listen(self, touched: Callable[[int], None]) -> None:
        """Have this called with the number of each drill whose post is no longer what it should be, open or
        over, where that is ours to refresh."""
        self._touched = touched

    def tell_with(self, tell: Callable[[int, int], None]) -> None:
        """Have this called where it is not: with the server's id and the drill's number. Each process that it
        reaches calls `told` with them."""
        self._tell = tell

    def opened(self, drill: KeptDrill) -> None:
        """This drill is open."""
        self._keys[drill.id] = key = (drill.server_id, drill.plan.subject)
        self._open.setdefault(key, set()).add(drill.id)

    def closed(self, drill: KeptDrill) -> None:
        """This drill is not open, or no longer."""
        self._let_go(drill.id)

    def drop_server(self, server_id: int) -> None:
        """Forget the drills of a server of which nothing is kept any more."""
        for drill_id in [one for one, (of_server, _) in self._keys.items() if of_server == server_id]:
            self._let_go(drill_id)

    def changed(self, owner: Owner, subject: Subject) -> None:
        """A tally of this member at this was logged, changed or taken out of their log."""
        self.touch(owner.server_id, self._open.get((owner.server_id, subject), ()))

    def game_changed(self, server_id: int, game: str) -> None:
        """A server uses another version of this game: its rhythms may be others."""
        for (of_server, subject), ids in self._open.items():
            if (of_server, subject.game) == (server_id, game):
                self.touch(server_id, ids)

    def touch_all(self) -> None:
        """The posts of all open drills may no longer be what they should be; others see to theirs."""
        for drill_id, (server_id, _) in self._keys.items():
            self.told(server_id, drill_id)

    def touch(self, server_id: int, drill_ids: Iterable[int]) -> None:
        """The posts of these drills of a server are to be refreshed."""
        for drill_id in sorted(drill_ids):
            if self._ours(server_id):
                if self._touched is not None:
                    self._touched(drill_id)
            elif self._tell is not None:
                self._tell(server_id, drill_id)

    def told(self, server_id: int, drill_id: int) -> None:
        """Another process touched this drill."""
        if self._ours(server_id):
            self.touch(server_id, (drill_id,))

    def _let_go(self, drill_id: int) -> None:
        key = self._keys.pop(drill_id, None)
        if key is None:
            return
        ids = self._open[key]
        ids.discard(drill_id)
        if not ids:
            del self._open[key]
