"""Who may do what, from the table access.toml."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path

TABLE = Path(__file__).with_name("access.toml")


class Standing(StrEnum):
    """As what somebody speaks to the bot.

    A guest writes to it directly; in a server one is a member unless one is more. OTHER_SERVER: speaks
    in a server that the bot has not joined. Only the platform makes moderators: they may manage the server.
    """

    GUEST = "guest"
    MEMBER = "member"
    STUDENT = "student"
    COACH = "coach"
    MODERATOR = "moderator"
    OTHER_SERVER = "other server"


class Access:
    """Keeps who is a student or a coach where, in memory, and reads the table once."""

    def __init__(self, table: Path = TABLE) -> None:
        rows: dict[str, dict[str, object]] = tomllib.loads(table.read_text(encoding="utf-8"))
        groups = rows.pop("who")
        self._may = {
            f"{section} {name}": frozenset(Standing(one) for one in _listed(groups[str(who)]))
            for section, entries in rows.items()
            for name, who in entries.items()
        }
        self._given: dict[tuple[int, int], Standing] = {}

    @property
    def rows(self) -> Mapping[str, frozenset[Standing]]:
        """Who may do each action."""
        return self._may

    def give(self, server_id: int, member_id: int, standing: Standing) -> None:
        """Make a member of a server a student or a coach there, or a plain member again."""
        self._given[server_id, member_id] = standing

    def standing(
        self, *, server_id: int | None, member_id: int, manages_server: bool, joined: bool
    ) -> Standing:
        """As what this member speaks here."""
        if server_id is None:
            return Standing.GUEST
        if not joined:
            return Standing.OTHER_SERVER
        if manages_server:
            return Standing.MODERATOR
        return self._given.get((server_id, member_id), Standing.MEMBER)

    def allows(
        self, action: str, *, server_id: int | None, member_id: int, manages_server: bool, joined: bool
    ) -> bool:
        """Whether this member may do this here; nobody may do what has no row."""
        standing = self.standing(
            server_id=server_id, member_id=member_id, manages_server=manages_server, joined=joined
        )
        return standing in self._may.get(action, ())


def _listed(names: object) -> list[str]:
    assert isinstance(names, list)
    return names
