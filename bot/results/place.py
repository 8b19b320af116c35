"""Where a question was asked, and by whom."""

from __future__ import annotations

from dataclasses import dataclass

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
    """A channel of a server and the member who speaks there. `server_id` is None in a direct message."""

    server_id: int | None
    channel_id: int
    member_id: int

    @property
    def owner(self) -> Owner:
        """Who speaks, as the owner of logs and settings."""
        return Owner(self.server_id or DIRECT_MESSAGES, self.member_id)
