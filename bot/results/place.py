"""Where a question was asked, and by whom."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """A channel of a server and the member who speaks there. `server_id` is None in a direct message."""

    server_id: int | None
    channel_id: int
    member_id: int
