"""Pictures that a post shows each time it is brought up to date, drawn once."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Awaitable, Callable, Hashable

MOST_KEPT = 64


class Drawn:
    """Keeps the pictures used last, in memory."""

    def __init__(self) -> None:
        self._kept: OrderedDict[Hashable, bytes] = OrderedDict()

    async def of(self, key: Hashable, draw: Callable[[], Awaitable[bytes | None]]) -> bytes | None:
        """The picture of this key, drawn where it is not kept; one that could not be drawn is tried again
        the next time."""
        png = self._kept.get(key) or await draw()
        if png is not None:
            self._kept[key] = png
            self._kept.move_to_end(key)
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        return png
