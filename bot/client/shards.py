"""Which part of the platform's servers a process holds: the platform deals them out by shard."""

from __future__ import annotations

import re
from dataclasses import dataclass

MOST = 10_000
"""More shards than anybody has; the platform asks for one for each 2,500 servers at most."""

NO_SHARDS = "{said!r} names no shards: write FIRST-LAST/COUNT, such as 0-1/4, or N/COUNT, such as 2/4."
TOO_FAR = "Of {count} shards the last is {last}: {said!r} asks for shard {asked}."
BACKWARDS = "{said!r} counts backwards: write the smaller number first, such as {last}-{first}/{count}."
HOW_MANY = "There are 1 to {most} shards, not {count}."

_SPELLING = re.compile(r"(\d{1,5})(?:-(\d{1,5}))?/(\d{1,5})", re.ASCII)


class ShardsError(ValueError):
    """No shards that there could be; the message is one sentence for whoever wrote it."""


@dataclass(frozen=True, slots=True)
class Shards:
    """The shards `first` to `last`, both of them included, of `count`; the platform's first is 0."""

    first: int
    last: int
    count: int

    def __post_init__(self) -> None:
        if not 0 <= self.first <= self.last < self.count:
            raise ValueError(f"there are no shards {self}")

    def __str__(self) -> str:
        return f"{self.first}-{self.last}/{self.count}"

    @property
    def numbers(self) -> range:
        """The number of each."""
        return range(self.first, self.last + 1)

    @property
    def all(self) -> bool:
        """Whether no other process holds any."""
        return len(self.numbers) == self.count

    def of(self, server_id: int | None) -> int:
        """The number of the shard that a server is on, ours or not; direct messages (None) are on shard 0."""
        return 0 if server_id is None else (server_id >> 22) % self.count

    def holds(self, server_id: int | None) -> bool:
        """Whether what happens in this server, or in direct messages (None), comes to this process."""
        return self.of(server_id) in self.numbers


SINGLE = Shards(0, 0, 1)
"""All servers on one shard."""


def read_shards(said: str) -> Shards:
    """What `0-1/4` or `2/4` names. Raises ShardsError."""
    found = _SPELLING.fullmatch(said.strip())
    if found is None:
        raise ShardsError(NO_SHARDS.format(said=said))
    first, last, count = int(found[1]), int(found[2] or found[1]), int(found[3])
    if not 1 <= count <= MOST:
        raise ShardsError(HOW_MANY.format(most=MOST, count=count))
    if max(first, last) >= count:
        raise ShardsError(TOO_FAR.format(count=count, last=count - 1, said=said, asked=max(first, last)))
    if first > last:
        raise ShardsError(BACKWARDS.format(said=said, first=first, last=last, count=count))
    return Shards(first, last, count)
