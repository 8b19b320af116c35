"""What "it" and "that" stand for: what each member asked about last."""

from __future__ import annotations

from collections import OrderedDict
from datetime import datetime, timedelta

from bot.ports import Clock
from bot.results.place import Place
from bot.services.asker import Recent

RECALLED_FOR = timedelta(minutes=10)
RECALLED_MOST = 5_000


class Memory:
    """Kept while the program runs. What was asked about is forgotten after `RECALLED_FOR`, and the
    oldest first where more than `RECALLED_MOST` is held."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._recent: OrderedDict[tuple[int, int], tuple[datetime, Recent]] = OrderedDict()

    def recall(self, place: Place) -> Recent | None:
        """What this member asked about last in this channel, if it is not too long ago."""
        key = (place.channel_id, place.member_id)
        found = self._recent.get(key)
        if found is None:
            return None
        when, recent = found
        if self._clock.now() - when > RECALLED_FOR:
            del self._recent[key]
            return None
        return recent

    def remember(self, place: Place, recent: Recent) -> None:
        """Remember what was asked about just now."""
        key = (place.channel_id, place.member_id)
        self._recent[key] = (self._clock.now(), recent)
        self._recent.move_to_end(key)
        while len(self._recent) > RECALLED_MOST:
            self._recent.popitem(last=False)
