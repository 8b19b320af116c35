"""A humane pace: how much one member, and one server, may ask for at a time."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limit:
    """So much at once, after a pause; then so much a second."""

    at_once: int
    per_second: float


MEMBER = Limit(20, 1.0)
"""Commands, buttons, forms and messages of one member. Nobody reads faster; whoever logs a session may."""
SERVER = Limit(200, 20.0)
"""The same, of all members of a server together: a club night, and not what stops all other servers."""
TYPING = Limit(60, 6.0)
"""Completions for one member: one comes with each key that is pressed."""
LIMITS = {"member": MEMBER, "server": SERVER, "typing": TYPING}

MOST_KEPT = 10_000
"""Members and servers that are remembered; who has been quiet the longest is forgotten first."""

ROUNDING_SECONDS = 1e-3


class Pace:
    """Lets work through at that pace. `now` is a time in seconds; where its clock is set back nobody waits
    for longer than it takes until all is there again."""

    def __init__(self, most: int = MOST_KEPT) -> None:
        # For each, when all that it may do at once is there again. What is not kept is there now.
        self._rested_at: OrderedDict[tuple[str, int], float] = OrderedDict()
        self._told: OrderedDict[int, None] = OrderedDict()
        self._most = most

    def wait_seconds(
        self, now: float, member_id: int, server_id: int | None, *, typing: bool = False
    ) -> float:
        """0 for work that may be done now, which then counts; else how long to wait, and nothing counts."""
        keys = [("typing" if typing else "member", member_id)]
        if server_id is not None and not typing:
            keys.append(("server", server_id))
        wait = max(self._missing(now, key) for key in keys)
        if wait > 0.0:
            return wait
        if not typing and self._debt(now, keys[0]) == 0.0:
            self._told.pop(member_id, None)  # they paused
        for key in keys:
            self._take(now, key)
        return 0.0

    def is_to_be_told(self, member_id: int) -> bool:
        """Whether a member who was just refused has not been told so since they last paused. Now they
        have."""
        new = member_id not in self._told
        self._told[member_id] = None
        self._told.move_to_end(member_id)
        if len(self._told) > self._most:
            self._told.popitem(last=False)
        return new

    def _debt(self, now: float, key: tuple[str, int]) -> float:
        """Seconds until all is there again."""
        limit, rested_at = LIMITS[key[0]], self._rested_at.get(key, now)
        latest = now + limit.at_once / limit.per_second
        if rested_at > latest:
            rested_at = self._rested_at[key] = latest
        return max(0.0, rested_at - now)

    def _missing(self, now: float, key: tuple[str, int]) -> float:
        """Seconds until there is one; 0 where there is."""
        limit = LIMITS[key[0]]
        missing = self._debt(now, key) - (limit.at_once - 1) / limit.per_second
        return missing if missing > ROUNDING_SECONDS else 0.0

    def _take(self, now: float, key: tuple[str, int]) -> None:
        self._rested_at[key] = now + self._debt(now, key) + 1 / LIMITS[key[0]].per_second
        self._rested_at.move_to_end(key)
        if len(self._rested_at) > self._most:
            self._rested_at.popitem(last=False)
