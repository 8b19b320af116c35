"""Routes that members save under names of their own, to log and to ask about them by name."""

from __future__ import annotations

from bot.ports import Clock
from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.place import Place
from bot.results.tally import SavedRoute
from bot.services.complete import complete_names
from bot.services.desk import AskDesk
from bot.services.settings import SettingsBook
from bot.services.subjects import name_of_route, read_subject, same_name, saved_as
from bot.storage import routes
from bot.storage.store import Store
from core.text import clipped
from core.verdict import Facts

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

    async def save(self, place: Place, typed: str, name: str, event_id: int) -> SavedRoute | LogRefusal:
        """Save the moves under this name, in place of the route of this character that has it in any case."""
        name = name_of_route(name)
        if not name:
            return LogRefusal(LogRefusalCode.NO_NAME)
        if len(name) > NAME_CHARACTERS:
            return LogRefusal(LogRefusalCode.TOO_LONG, Facts(field="name", most=NAME_CHARACTERS))
        found = read_subject(self._desk, place, typed)
        if isinstance(found, LogRefusal):
            return found
        game, who = found.game, found.character
        if who is None:
            problem = "A drill has its words for a name; only moves can be saved as a route."
            return LogRefusal(LogRefusalCode.NO_SUCH_WHAT, Facts(typed=clipped(typed), problem=problem))
        async with self._store.write(event_id) as writing:
            kept = await routes.listed(writing, place.owner, game.name)
            own = (route for route in kept if route.character == who.name)
            before = next((route for route in own if same_name(route.name, name)), None)
            if writing.repeated and before is not None:
                return before
            if before is None and len(kept) >= MOST_ROUTES:
                return LogRefusal(LogRefusalCode.TOO_MANY, Facts(most=MOST_ROUTES))
            if before is not None and before.name != name:
                await routes.forget(writing, place.owner, before.id)
            now, what = self._clock.now(), found.subject.what
            route = SavedRoute(0, game.name, game.version, who.name, name, what, now)
            saved = await routes.save(writing, place.owner, route)
        self._book.hold(place.owner, self._book.member(place.owner))  # this server is a home of theirs now
        return saved

    async def listed(self, place: Place) -> tuple[SavedRoute, ...]:
        """The routes saved in the server's game, by character and name."""
        async with self._store.read() as reading:
            return await routes.listed(reading, place.owner, self._desk.game_of(place).name)

    async def complete(self, place: Place, typed: str) -> tuple[str, ...]:
        """Names of saved routes that the text may become, at most 25, best first."""
        names = dict.fromkeys(route.name for route in await self.listed(place))
        return complete_names([(name, (name,)) for name in names], typed)

    async def forget(self, place: Place, name: str, event_id: int) -> SavedRoute | LogRefusal:
        """Forget the route of this name: the own character's where several have it."""
        async with self._store.write(event_id) as writing:
            game = self._desk.game_of(place)
            kept = await routes.listed(writing, place.owner, game.name)
            called = saved_as(kept, name, game, self._desk.character_of(place))
            if len(called) > 1:
                names = ", ".join(route.character for route in called)
                return LogRefusal(LogRefusalCode.WHOSE, Facts(typed=clipped(name), names=names))
            gone = None
            if called and not writing.repeated:
                gone = await routes.forget(writing, place.owner, called[0].id)
        return gone or LogRefusal(LogRefusalCode.NO_SUCH_ROUTE, Facts(typed=clipped(name)))
