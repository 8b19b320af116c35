"""What the program needs of the world, as small protocols."""

from __future__ import annotations

from datetime import datetime
from typing import Protocol


class Clock(Protocol):
    """Tells the time."""

    def now(self) -> datetime:
        """The time now, aware, in UTC."""
        ...


class Gate(Protocol):
    """Says who may do what."""

    def allows(
        self, action: str, *, server_id: int | None, member_id: int, manages_server: bool, joined: bool
    ) -> bool:
        """Whether this member may do this here. `server_id` is None in a direct message; `manages_server`:
        the platform lets them manage the server; `joined`: the bot is a member of that server."""
        ...
