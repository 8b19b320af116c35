"""The routes that members shared with everybody in their server."""

from __future__ import annotations

from collections.abc import Iterable

from bot.ports import Clock
from bot.results.audit import Deed
from bot.results.library import Kept, PickedShared, RouteList, Shared
from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.place import DIRECT_MESSAGES, Place
from bot.results.tally import SavedRoute, SharedRoute
from bot.services.desk import AskDesk
from bot.services.moves import nearest
from bot.services.routes import MOST_ROUTES, RouteService, free_name, own_first, same_moves
from bot.services.settings import SettingsBook
from bot.services.subjects import same_name
from bot.services.tags import complete_tag, tag_of, tags_among
from bot.storage import audit, library, routes
from bot.storage.store import Store, Writing
from core.text import clipped
from core.verdict import Facts

MOST_SHARED = 500
"""Of one game in one server."""
MOST_SHARED_BY_ONE = 50

NO_SERVER = LogRefusal(LogRefusalCode.NO_SERVER)
GONE = LogRefusal(LogRefusalCode.NO_SUCH_SHARED)


class LibraryService:
    """Each server's library. In direct messages it is that of the server where the member's log is."""

    def __init__(
        self, store: Store, own: RouteService, desk: AskDesk, book: SettingsBook, clock: Clock
    ) -> None:
        self._store = store
        self._own = own
        self._desk = desk
        self._book = book
        self._clock = clock

    async def share(self, place: Place, name: str, event_id: int) -> Shared | LogRefusal:
        """Share the route that the member saved under this name."""
        if place.owner.server_id == DIRECT_MESSAGES:
            return NO_SERVER
        async with self._store.write(event_id) as writing:
            saved = await self._own.called(writing, place, name)
            return saved if isinstance(saved, LogRefusal) else await self._share(writing, place, saved)

    async def share_numbered(self, place: Place, subject_id: int, event_id: int) -> Shared | LogRefusal:
        """Share the moves with this number in the member's log, which they must have saved."""
        if place.owner.server_id == DIRECT_MESSAGES:
            return NO_SERVER
        async with self._store.write(event_id) as writing:
            found = await self._own.numbered(writing, place, subject_id)
            if isinstance(found, LogRefusal):
                return found
            saved = await self._own.saved_of(writing, place, found)
            if saved is None:
                return LogRefusal(LogRefusalCode.NOT_SAVED)
            return await self._share(writing, place, saved)

    async def listed(
        self, place: Place, character: str | None = None, tag: str | None = None
    ) -> RouteList | LogRefusal:
        """The routes shared in the server, by character and name, the member's own character's first; only
        those of a character, and with a tag, where they are typed."""
        if place.owner.server_id == DIRECT_MESSAGES:
            return NO_SERVER
        who = ""
        if character:
            who = next(iter(self._desk.complete_character(place, character)), "")
            if not who:
                names = [one.name for one in self._desk.game_of(place).characters]
                facts = Facts(typed=clipped(character), near=", ".join(nearest(character, names)))
                return LogRefusal(LogRefusalCode.UNKNOWN_CHARACTER, facts)
        kept = await self._all(place)
        wanted = tag_of(tag or "")
        shown = (route for route in kept if who in ("", route.character))
        chosen = tuple(route for route in shown if not wanted or wanted in route.tags)
        return RouteList(own_first(chosen, self._desk.character_of(place)), tags_among(kept), who, wanted)

    async def complete_tag(self, place: Place, typed: str) -> tuple[str, ...]:
        """Tags of the server's routes that the text may become, at most 25, best first."""
        return complete_tag(tags_among(await self._all(place)), typed)

    async def picked(self, place: Place, library_id: int, *, moderates: bool) -> PickedShared | LogRefusal:
        """A shared route that the member wants to look at."""
        async with self._store.read() as reading:
            route = await library.get(reading, place.owner.server_id, library_id)
        if route is None:
            return GONE
        number = await self._own.enter(place, route)
        if isinstance(number, LogRefusal):
            return number
        own = route.shared_by == place.member_id
        return PickedShared(route, number, own, own or moderates)

    async def keep(self, place: Place, library_id: int, event_id: int) -> Kept | LogRefusal:
        """Save a shared route for oneself: under its name, or where another route of one's own has that, with
        a number behind it."""
        async with self._store.write(event_id) as writing:
            shared = await library.get(writing, place.owner.server_id, library_id)
            if shared is None:
                return GONE
            kept = await routes.listed(writing, place.owner, shared.game)
            had = same_moves(kept, shared.character, shared.notation)
            if had is not None:
                return Kept(had, had=True)
            if writing.repeated:
                return GONE
            if len(kept) >= MOST_ROUTES:
                return LogRefusal(LogRefusalCode.TOO_MANY, Facts(most=MOST_ROUTES))
            name = free_name(kept, shared.character, shared.name)
            saved = await routes.save(writing, place.owner, _copy(shared, name, self._clock))
        self._book.hold(place.owner, self._book.member(place.owner))  # this server is a home of theirs now
        return Kept(saved, taken="" if name == shared.name else shared.name)

    async def tidy(
        self, place: Place, library_id: int, event_id: int, *, moderates: bool
    ) -> SharedRoute | LogRefusal:
        """Take a route out of the server's library: whoever shared it may, and who moderates the server."""
        server_id = place.owner.server_id
        async with self._store.write(event_id) as writing:
            route = await library.get(writing, server_id, library_id)
            if route is None or writing.repeated:
                return GONE
            if not moderates and route.shared_by != place.member_id:
                return LogRefusal(LogRefusalCode.NOT_YOURS_TO_TIDY, Facts(typed=clipped(route.name)))
            await library.remove(writing, server_id, library_id)
            moderated = route.shared_by != place.member_id
            if moderated:
                await audit.note(writing, place.owner, self._clock.now(), Deed.ROUTE_REMOVED, route.name)
        if moderated:
            self._book.hold(place.owner, self._book.member(place.owner))
        return route

    async def _all(self, place: Place) -> tuple[SharedRoute, ...]:
        async with self._store.read() as reading:
            return await library.listed(reading, place.owner.server_id, self._desk.game_of(place).name)

    async def _share(self, writing: Writing, place: Place, saved: SavedRoute) -> Shared | LogRefusal:
        shared = await library.listed(writing, place.owner.server_id, saved.game)
        before = _named(shared, saved)
        if before is not None and before.shared_by != place.member_id:
            facts = Facts(typed=clipped(before.name), character=before.character)
            return LogRefusal(LogRefusalCode.NAME_SHARED, facts)
        if writing.repeated:
            return Shared(before) if before is not None else GONE
        if before is None and (full := _full(shared, place.member_id)) is not None:
            return full
        replaced = before.id if before is not None else None
        route = await library.share(writing, place.owner, saved, self._clock.now(), replaced)
        return Shared(route, again=before is not None) if route is not None else GONE


def _named(shared: Iterable[SharedRoute], saved: SavedRoute) -> SharedRoute | None:
    """The shared route that has this one's name in any case."""
    own = (route for route in shared if route.character == saved.character)
    return next((route for route in own if same_name(route.name, saved.name)), None)


def _full(shared: tuple[SharedRoute, ...], member_id: int) -> LogRefusal | None:
    """Why the library takes no more of this member's; None where it does."""
    if len(shared) >= MOST_SHARED:
        return LogRefusal(LogRefusalCode.LIBRARY_FULL, Facts(most=MOST_SHARED))
    if sum(route.shared_by == member_id for route in shared) >= MOST_SHARED_BY_ONE:
        return LogRefusal(LogRefusalCode.TOO_MANY_SHARED, Facts(most=MOST_SHARED_BY_ONE))
    return None


def _copy(shared: SharedRoute, name: str, clock: Clock) -> SavedRoute:
    """A shared route as one's own."""
    return SavedRoute(
        0,
        shared.game,
        shared.game_version,
        shared.character,
        name,
        shared.notation,
        clock.now(),
        shared.tags,
    )
