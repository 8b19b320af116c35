"""The invented community of the room, read from its table."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

TABLE = Path(__file__).with_name("community.toml")


@dataclass(frozen=True, slots=True)
class Channel:
    """A text channel, without its #."""

    name: str
    topic: str


@dataclass(frozen=True, slots=True)
class Member:
    """Somebody of a server, with a role or none."""

    name: str
    role: str | None

    @property
    def shown(self) -> str:
        """The name on the page, which says whose eyes one looks through."""
        return f"{self.name} ({self.role.lower()})" if self.role else self.name


@dataclass(frozen=True, slots=True)
class Server:
    """A server. `roles` are permission names by role; `welcome` names the channel that the bot greets in,
    `patches` the one in which it tells of patch days; `game` is what a member who may is to choose, None to
    leave the bot's own."""

    name: str
    welcome: str
    patches: str | None
    game: str | None
    roles: Mapping[str, tuple[str, ...]]
    channels: tuple[Channel, ...]
    members: tuple[Member, ...]

    @property
    def host(self) -> Member:
        """The first member who may manage the server."""
        return next(who for who in self.members if "manage_guild" in self.roles.get(who.role or "", ()))


@dataclass(frozen=True, slots=True)
class Community:
    """All servers, and what the bot is called in them."""

    bot: str
    servers: tuple[Server, ...]

    @property
    def channel_names(self) -> tuple[str, ...]:
        """Every channel; no two have the same name."""
        return tuple(channel.name for server in self.servers for channel in server.channels)

    @property
    def member_names(self) -> tuple[str, ...]:
        """Everybody; no two have the same name."""
        return tuple(member.name for server in self.servers for member in server.members)


@cache
def read_community() -> Community:
    """The packaged community."""
    table = tomllib.loads(TABLE.read_text("utf-8"))
    return Community(table["bot"], tuple(map(_server, table["server"])))


def _server(table: Mapping[str, Any]) -> Server:
    return Server(
        table["name"],
        table["welcome"],
        table.get("patches"),
        table.get("game"),
        {name: tuple(permissions) for name, permissions in table["roles"].items()},
        tuple(Channel(row["name"], row["topic"]) for row in table["channel"]),
        tuple(Member(row["name"], row.get("role")) for row in table["member"]),
    )
