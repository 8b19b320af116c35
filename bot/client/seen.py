"""What has been delivered already: the platform may deliver an event twice, under the same id."""

from __future__ import annotations

from collections import OrderedDict

REMEMBERED = 10_000


class Seen:
    """The last `most` ids; the oldest is forgotten first."""

    def __init__(self, most: int = REMEMBERED) -> None:
        self._ids: OrderedDict[int, None] = OrderedDict()
        self._most = most

    def is_new(self, event_id: int) -> bool:
        """Whether this id comes for the first time; from now on it does not."""
        if event_id in self._ids:
            return False
        self._ids[event_id] = None
        if len(self._ids) > self._most:
            self._ids.popitem(last=False)
        return True
