"""Routes that members save under names of their own, to log and to ask about them by name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

from bot.ports import Clock
from bot.results.library import Forgotten, RouteList, SaveDraft
from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.place import Place
from bot.results.tally import SavedRoute, SharedRoute
from bot.services.complete import complete_names
from bot.services.desk import AskDesk
from bot.services.evidence import number_for
from bot.services.settings import SettingsBook
from bot.services.subjects import (
    Found,
    found_of,
    name_of_route,
    read_moves,
    read_subject,
    same_name,
    saved_as,
    typed_as,
)
from bot.services.tags import complete_last_tag, complete_tag, read_tags, tag_of, tags_among
from bot.storage import routes, tallies
from bot.storage.store import Reading, Store
from core.model import Character
from core.text import clipped
from core.verdict import Facts

R = TypeVar("R", SavedRoute, SharedRoute)

NAME_CHARACTERS = 40
MOST_ROUTES = 200
"""Of one game."""


class RouteService:
    """The saved routes of each member, in the server's game."""

    def __init__(self, store: Store, desk: AskDesk, book: SettingsBook, clock: Clock) -> None:
        self._store = store
        self._desk = desk
        self._book = book
        self._clock = clock

    async def save(
        self, place: Place, typed: str, name: str, event_id: int, tags_typed: str | None = None
    ) -> SavedRoute | LogRefusal:
        """Save the moves under this name, in place of the route of this character that has it in any case.
        `tags_typed`: None for no tags, or those that the route of this name has."""
        found = read_subject(self._desk, place, typed)
        if isinstance(found, LogRefusal):
            return found
        return await self._save(place, found, name, tags_typed, event_id)

    async def save_numbered(
        self, place: Place, subject_id: int, name: str, tags_typed: str | None, event_id: int
    ) -> SavedRoute | LogRefusal:
        """The same of the moves with this number in the member's own log."""
        async with self._store.read() as reading:
            found = await self.numbered(reading, place, subject_id)
        if isinstance(found, LogRefusal):
            return found
        return await self._save(place, found, name, tags_typed, event_id)

    async def draft(self, place: Place, subject_id: int) -> SaveDraft | LogRefusal:
        """What the form that saves these moves begins with: the name and tags that they have already."""
        async with self._store.read() as reading:
            found = await self.numbered(reading, place, subject_id)
            if isinstance(found, LogRefusal):
                return found
            saved = await self.saved_of(reading, place, found)
        if saved is None:
            return SaveDraft(found.subject.what)
        return SaveDraft(saved.notation, saved.name, " ".join(saved.tags))

    async def listed(self, place: Place, tag: str | None = None) -> RouteList:
        """The routes saved in the server's game, by character and name, the own character's first; with `tag`
        only those that have it."""
        async with self._store.read() as reading:
            kept = await routes.listed(reading, place.owner, self._desk.game_of(place).name)
        wanted = tag_of(tag or "")
        shown = tuple(route for route in kept if not wanted or wanted in route.tags)
        return RouteList(own_first(shown, self._desk.character_of(place)), tags_among(kept), tag=wanted)

    async def complete(self, place: Place, typed: str) -> tuple[str, ...]:
        """Names of saved routes that the text may become, at most 25, best first."""
        names = dict.fromkeys(route.name for route in (await self.listed(place)).routes)
        return complete_names([(name, (name,)) for name in names], typed)

    async def complete_tag(self, place: Place, typed: str) -> tuple[str, ...]:
        """Tags of the member's routes that the text may become, at most 25, best first."""
        return complete_tag((await self.listed(place)).tags, typed)

    async def complete_tags(self, place: Place, typed: str) -> tuple[str, ...]:
        """The same for the last of several tags that are typed; the others stay before it."""
        return complete_last_tag((await self.listed(place)).tags, typed)

    async def forget(self, place: Place, name: str, event_id: int) -> Forgotten | LogRefusal:
        """Forget the route of this name: the own character's where several have it."""
        gone = None
        async with self._store.write(event_id) as writing:
            called = await self.called(writing, place, name)
            if isinstance(called, LogRefusal):
                return called
            if not writing.repeated:
                gone = await routes.forget(writing, place.owner, called.id)
        return gone or no_such_route(name)

    async def opened(self, place: Place, route_id: int) -> int | LogRefusal:
        """The number in the member's log of a route that they saved."""
        async with self._store.read() as reading:
            route = await routes.get(reading, place.owner, route_id)
        return await self.enter(place, route) if route else LogRefusal(LogRefusalCode.GONE_ROUTE)

    async def enter(self, place: Place, route: SavedRoute | SharedRoute) -> int | LogRefusal:
        """The number of these moves in the member's log: a new one where they never looked at them."""
        found = self._found(place, route)
        if isinstance(found, LogRefusal):
            return found
        return await number_for(self._store, place.owner, found.subject)

    async def called(self, reading: Reading, place: Place, name: str) -> SavedRoute | LogRefusal:
        """The saved route of this name: the own character's where several have it."""
        game = self._desk.game_of(place)
        kept = await routes.listed(reading, place.owner, game.name)
        called = saved_as(kept, name, game, self._desk.character_of(place))
        if len(called) > 1:
            names = ", ".join(route.character for route in called)
            return LogRefusal(LogRefusalCode.WHOSE, Facts(typed=clipped(name), names=names))
        return called[0] if called else no_such_route(name)

    async def numbered(self, reading: Reading, place: Place, subject_id: int) -> Found | LogRefusal:
        """The moves with this number in the member's log."""
        subject = await tallies.subject_of(reading, place.owner, subject_id)
        if subject is None:
            return LogRefusal(LogRefusalCode.GONE_ROUTE)
        found = found_of(self._desk, place.server_id, subject, self._desk.controls_of(place))
        if found is None or found.route is None:
            problem = "only moves that the game's file still has can be saved as a route."
            return LogRefusal(LogRefusalCode.NO_SUCH_WHAT, Facts(typed=typed_as(subject), problem=problem))
        return found

    async def saved_of(self, reading: Reading, place: Place, found: Found) -> SavedRoute | None:
        """The route that the member saved of these very moves."""
        kept = await routes.listed(reading, place.owner, found.game.name)
        return same_moves(kept, found.subject.character, found.subject.what)

    def _found(self, place: Place, route: SavedRoute | SharedRoute) -> Found | LogRefusal:
        game = self._desk.game_named(place.server_id, route.game)
        who = game.character(route.character) if game else None
        if game is None or who is None:
            problem = f"{route.game} has no {route.character} any more."
            return LogRefusal(LogRefusalCode.NO_SUCH_WHAT, Facts(typed=clipped(route.name), problem=problem))
        return read_moves(game, who, route.notation, self._desk.controls_of(place))

    async def _save(
        self, place: Place, found: Found, name: str, tags_typed: str | None, event_id: int
    ) -> SavedRoute | LogRefusal:
        name = name_of_route(name)
        if not name:
            return LogRefusal(LogRefusalCode.NO_NAME)
        if len(name) > NAME_CHARACTERS:
            return LogRefusal(LogRefusalCode.TOO_LONG, Facts(field="name", most=NAME_CHARACTERS))
        tags = read_tags(tags_typed or "")
        if isinstance(tags, LogRefusal):
            return tags
        game, who = found.game, found.character
        if who is None:
            problem = "a drill has its words for a name; only moves can be saved as a route."
            return LogRefusal(
                LogRefusalCode.NO_SUCH_WHAT, Facts(typed=clipped(found.subject.what), problem=problem)
            )
        async with self._store.write(event_id) as writing:
            kept = await routes.listed(writing, place.owner, game.name)
            before = named(kept, who.name, name)
            if writing.repeated:
                return before or no_such_route(name)
            if before is None and len(kept) >= MOST_ROUTES:
                return LogRefusal(LogRefusalCode.TOO_MANY, Facts(most=MOST_ROUTES))
            if before is not None and before.name != name:
                await routes.rename(writing, place.owner, before.id, name)
            if before is not None and tags_typed is None:
                tags = before.tags
            now, what = self._clock.now(), found.subject.what
            route = SavedRoute(0, game.name, game.version, who.name, name, what, now, tags)
            saved = await routes.save(writing, place.owner, route)
        self._book.hold(place.owner, self._book.member(place.owner))  # this server is a home of theirs now
        return saved


def own_first(kept: Sequence[R], own: Character | None) -> tuple[R, ...]:
    """The routes of the member's own character before the others, in their order."""
    return tuple(sorted(kept, key=lambda route: own is None or route.character != own.name))


def named(kept: Iterable[SavedRoute], character: str, name: str) -> SavedRoute | None:
    """The route of this character that has this name in any case."""
    return next((one for one in kept if one.character == character and same_name(one.name, name)), None)


def same_moves(kept: Iterable[SavedRoute], character: str, notation: str) -> SavedRoute | None:
    """The route of these very moves."""
    return next((one for one in kept if (one.character, one.notation) == (character, notation)), None)


def free_name(kept: Iterable[SavedRoute], character: str, name: str) -> str:
    """The name, with the least number behind it with which no route of this character has it."""
    kept, number, free = tuple(kept), 1, name
    while named(kept, character, free) is not None:
        number += 1
        free = f"{name[: NAME_CHARACTERS - len(str(number)) - 1].rstrip()} {number}"
    return free


def no_such_route(name: str) -> LogRefusal:
    """No route of the member's is saved under this name."""
    return LogRefusal(LogRefusalCode.NO_SUCH_ROUTE, Facts(typed=clipped(name)))
