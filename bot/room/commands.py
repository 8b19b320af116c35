"""What may be typed in the room's terminal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bot.room.community import Community

HELP = """\
go #CHANNEL     show another channel on the page
go dm MEMBER    show a member's direct messages with the bot
day, week       let a day or a week go by
next            let time go by until the next thing happens by itself
patch           patch day: the moderator loads the next version of the game
help            this list, with the channels and members there are
quit            close the room (so does Ctrl-C)"""


@dataclass(frozen=True, slots=True)
class GoChannel:
    """Show this channel."""

    name: str


@dataclass(frozen=True, slots=True)
class GoMember:
    """Show this member's direct messages."""

    name: str


@dataclass(frozen=True, slots=True)
class LetPass:
    """Let this many days go by."""

    days: int


@dataclass(frozen=True, slots=True)
class Next:
    """Let time go by until the next thing happens."""


@dataclass(frozen=True, slots=True)
class PatchDay:
    """Load the next version of the game."""


@dataclass(frozen=True, slots=True)
class Say:
    """Nothing to do but to print this."""

    text: str


@dataclass(frozen=True, slots=True)
class Quit:
    """Close the room."""


Command = GoChannel | GoMember | LetPass | Next | PatchDay | Say | Quit


def understand(line: str, community: Community) -> Command:
    """The command of a line, in any case; what is not understood becomes a sentence to print."""
    channels, members = community.channel_names, community.member_names
    match line.casefold().split():
        case []:
            return Say("Type help to see what you can do here.")
        case ["go", "dm"]:
            return Say(f"Whose messages? There are {', '.join(members)}.")
        case ["go", "dm", typed]:
            name = _find(typed, members)
            return GoMember(name) if name else Say(f"Nobody has this name; there are {', '.join(members)}.")
        case ["go", typed]:
            name = _find(typed.removeprefix("#"), channels)
            return GoChannel(name) if name else Say(f"There is no such channel, only {_all(channels)}.")
        case ["go"]:
            return Say(f"Go where? There are {_all(channels)}; or go dm MEMBER.")
        case ["day"]:
            return LetPass(1)
        case ["week"]:
            return LetPass(7)
        case ["next"]:
            return Next()
        case ["patch"]:
            return PatchDay()
        case ["help"]:
            return Say(f"{HELP}\nchannels: {_all(channels)}\nmembers: {', '.join(members)}")
        case ["quit"]:
            return Quit()
        case _:
            return Say("That is not a command of the room; type help to see them.")


def _find(typed: str, names: Sequence[str]) -> str | None:
    return next((name for name in names if name.casefold() == typed), None)


def _all(channels: Sequence[str]) -> str:
    return ", ".join(f"#{name}" for name in channels)
