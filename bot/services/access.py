"""Who may do what, from the table access.toml."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Collection, Mapping
from enum import StrEnum
from pathlib import Path

TABLE = Path(__file__).with_name("access.toml")


class Standing(StrEnum):
    """As what somebody speaks to the bot.

    A guest writes to it directly; in a server one is a member unless one is more. OTHER_SERVER: speaks
    in a server that the bot has not joined. Only the platform makes moderators, who may manage the server or
    have the role that the others named for it, and coaches, who have the one that was named for coaches.
    """

    GUEST = "guest"
    MEMBER = "member"
    STUDENT = "student"
    COACH = "coach"
    MODERATOR = "moderator"
    OTHER_SERVER = "other server"


class Access:
    """Reads the table once. `coach_role`, `moderator_role`: the roles that make a coach and a moderator in a
    server; `is_student`: whether a member of a server has a coach there, by their ids."""

    def __init__(
        self,
        coach_role: Callable[[int], int | None] = lambda _: None,
        is_student: Callable[[int, int], bool] = lambda _, __: False,
        moderator_role: Callable[[int], int | None] = lambda _: None,
        table: Path = TABLE,
    ) -> None:
        rows: dict[str, dict[str, object]] = tomllib.loads(table.read_text(encoding="utf-8"))
        groups = rows.pop("who")
        self._may = {
            f"{section} {name}": frozenset(Standing(one) for one in _listed(groups[str(who)]))
            for section, entries in rows.items()
            for name, who in entries.items()
        }
        self._coach_role = coach_role
        self._is_student = is_student
        self._moderator_role = moderator_role

    @property
    def rows(self) -> Mapping[str, frozenset[Standing]]:
        """Who may do each action."""
        return self._may

    def standing(
        self,
        *,
        server_id: int | None,
        member_id: int,
        manages_server: bool,
        joined: bool,
        roles: Collection[int] = (),
    ) -> Standing:
        """As what this member speaks here."""
        if server_id is None:
            return Standing.GUEST
        if not joined:
            return Standing.OTHER_SERVER
        if manages_server or self._moderator_role(server_id) in roles:
            return Standing.MODERATOR
        if self._coach_role(server_id) in roles:
            return Standing.COACH
        return Standing.STUDENT if self._is_student(server_id, member_id) else Standing.MEMBER

    def allows(
        self,
        action: str,
        *,
        server_id: int | None,
        member_id: int,
        manages_server: bool,
        joined: bool,
        roles: Collection[int] = (),
    ) -> bool:
        """Whether this member may do this here; nobody may do what has no row."""
        standing = self.standing(
            server_id=server_id,
            member_id=member_id,
            manages_server=manages_server,
            joined=joined,
            roles=roles,
        )
        return standing in self._may.get(action, ())


def _listed(names: object) -> list[str]:
    assert isinstance(names, list)
    return names
