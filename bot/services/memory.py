"""What the desk remembers: each server's game, each member's defaults, and what was asked about last."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from bot.ports import Clock
from bot.results.place import Place
from bot.services.asker import Recent

RECALLED_FOR = timedelta(minutes=10)
RECALLED_MOST = 5_000

Home = tuple[str, int]
"""A server, or a member's direct messages."""


@dataclass(frozen=True, slots=True)
class Defaults:
    """A member's own character and controls, by name; None where not chosen."""

    character: str | None = None
    controls: str | None = None


class Memory:
    """Kept while the program runs. What was asked about is forgotten after `RECALLED_FOR`, and the
    oldest first where more than `RECALLED_MOST` is held."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._games: dict[Home, str] = {}
        self._defaults: dict[tuple[Home, int], Defaults] = {}
        self._recent: OrderedDict[tuple[int, int], tuple[datetime, Recent]] = OrderedDict()

    def game_of(self, place: Place) -> str | None:
        """The name of the game that was chosen here."""
        return self._games.get(_home(place))

    def set_game(self, place: Place, name: str) -> None:
        """Choose a game for this server, or for these direct messages."""
        self._games[_home(place)] = name

    def defaults_of(self, place: Place) -> Defaults:
        """The member's own character and controls here."""
        return self._defaults.get((_home(place), place.member_id), Defaults())

    def set_character(self, place: Place, name: str | None) -> None:
        """Choose the member's own character; None takes the choice back."""
        self._defaults[_home(place), place.member_id] = replace(self.defaults_of(place), character=name)

    def set_controls(self, place: Place, name: str | None) -> None:
        """Choose the member's own controls; None takes the choice back."""
        self._defaults[_home(place), place.member_id] = replace(self.defaults_of(place), controls=name)

    def recall(self, place: Place) -> Recent | None:
        """What this member asked about last in this channel, if it is not too long ago."""
        key = (place.channel_id, place.member_id)
        found = self._recent.get(key)
        if found is None:
            return None
        when, recent = found
        if self._clock.now() - when > RECALLED_FOR:
            del self._recent[key]
            return None
        return recent

    def remember(self, place: Place, recent: Recent) -> None:
        """Remember what was asked about just now."""
        key = (place.channel_id, place.member_id)
        self._recent[key] = (self._clock.now(), recent)
        self._recent.move_to_end(key)
        while len(self._recent) > RECALLED_MOST:
            self._recent.popitem(last=False)


def _home(place: Place) -> Home:
    return ("member", place.member_id) if place.server_id is None else ("server", place.server_id)
