"""The set-up of a server: its steps, and whether the bot may do what it is for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum

from bot.results.audit import Entry


class Step(IntEnum):
    """What a server chooses, in the order in which it is asked. Buttons carry the numbers."""

    ZONE = 0
    NOTICES = 1
    PATCHES = 2
    COACHES = 3
    MODERATORS = 4
    GAME = 5
    NOTATION = 6
    QUIET = 7
    DONE = 8


class Need(StrEnum):
    """What the bot has to be allowed in a channel, as the platform calls it."""

    VIEW = "view_channel"
    SEND = "send_messages"
    FILES = "attach_files"
    HISTORY = "read_message_history"


class Used(StrEnum):
    """What a channel is used for."""

    HERE = "here"
    NOTICES = "notices"
    PATCHES = "patches"
    WEEKLY = "weekly"
    DRILL = "drill"


@dataclass(frozen=True, slots=True)
class ChannelHealth:
    """A channel that the bot uses. `name`: None where it is gone, or hidden from the bot."""

    name: str | None
    used: tuple[Used, ...]
    missing: tuple[Need, ...] = ()


@dataclass(frozen=True, slots=True)
class Health:
    """What is amiss in a server. `roles_gone`: the steps whose role is there no more."""

    channels: tuple[ChannelHealth, ...]
    roles_gone: tuple[Step, ...] = ()

    @property
    def is_well(self) -> bool:
        """Whether nothing is."""
        return not self.roles_gone and all(one.name and not one.missing for one in self.channels)


@dataclass(frozen=True, slots=True)
class AuditPage:
    """What moderators and coaches did, the latest first. `older`: there is more before it."""

    entries: tuple[Entry, ...]
    older: bool
