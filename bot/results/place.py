"""Where a question was asked, and by whom."""

from __future__ import annotations

from dataclasses import dataclass, field

DIRECT_MESSAGES = 0
"""What stands for a server where there is none: a member's direct messages are a home of their own."""


@dataclass(frozen=True, slots=True)
class Owner:
    """A member of one server: whose logs and settings they are. `server_id` is `DIRECT_MESSAGES` for those
    kept in direct messages."""

    server_id: int
    member_id: int


@dataclass(frozen=True, slots=True)
class Place:
    """A channel of a server and the member who speaks there. `server_id` is None in a direct message, or the
    home's that it counts for; then `direct` tells that nobody else hears, and no server is meant.
    `parent_id`: the channel that a thread is in."""

    server_id: int | None
    channel_id: int
    member_id: int
    direct: bool = field(default=False, compare=False)
    parent_id: int | None = field(default=None, compare=False)

    @property
    def owner(self) -> Owner:
        """Who speaks, as the owner of logs and settings."""
        return Owner(self.server_id or DIRECT_MESSAGES, self.member_id)

    def is_of(self, owner: Owner) -> bool:
        """Whether who speaks is this owner; in direct messages that of any server."""
        return self.member_id == owner.member_id and (self.direct or self.owner.server_id == owner.server_id)
