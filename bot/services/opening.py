"""A route that a member names or comes back to: read, judged, and given a number for its buttons."""

from __future__ import annotations

from dataclasses import replace

from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.place import Place
from bot.results.route import KnownHands, Mended, OpenRoute
from bot.results.tally import SavedRoute
from bot.services.desk import AskDesk
from bot.services.evidence import called
from bot.services.hands import TimingService
from bot.services.subjects import Found, as_subject, found_of, saved_as, typed_as
from bot.storage import routes, tallies
from bot.storage.store import Reading, Store
from core.model import Character, Game
from core.notation import Route
from core.routes import RouteCheck, Start, check, full_gauges, usual_check
from core.text import clipped
from core.verdict import Facts

NO_MOVES = "a drill in words has no moves to look at; name moves, or a route that you saved."


class RouteOpener:
    """Opens routes as they were typed, and again from the numbers that buttons carry."""

    def __init__(self, store: Store, desk: AskDesk, timing: TimingService) -> None:
        self._store = store
        self._desk = desk
        self._timing = timing

    async def typed(
        self, place: Place, what: str, event_id: int, start: Start | None = None, state: str | None = None
    ) -> OpenRoute | LogRefusal:
        """The route of this name or these moves. `start`: how it begins; None for `usual_check`. `state`: the
        hit state of its first move, from now on a part of the route."""
        async with self._store.read() as reading:
            found = await called(reading, self._desk, place, what)
        if isinstance(found, LogRefusal):
            return found
        if found.route is None:
            return LogRefusal(LogRefusalCode.NO_SUCH_WHAT, Facts(typed=clipped(what), problem=NO_MOVES))
        if state is not None:
            assert found.character is not None
            found = as_subject(found.game, found.character, begun(found.route, state))
            if isinstance(found, LogRefusal):
                return found
        async with self._store.write(event_id) as writing:
            _, number = await tallies.enter_subject(writing, place.owner, found.subject)
        return await self._open(place, found, number, start, what)

    async def saved(self, place: Place, name: str, event_id: int) -> OpenRoute | LogRefusal:
        """The route that the member saved under this name."""
        game, own = self._desk.game_of(place), self._desk.character_of(place)
        async with self._store.read() as reading:
            kept = await routes.listed(reading, place.owner, game.name)
        if not saved_as(kept, name, game, own):
            return LogRefusal(LogRefusalCode.NO_SUCH_ROUTE, Facts(typed=clipped(name)))
        return await self.typed(place, name, event_id)

    async def mended(self, place: Place, checked: RouteCheck) -> tuple[Mended, ...]:
        """The changes that mend a route, those that mend all of it first, each opened by a number."""
        found = []
        async with self._store.write() as writing:
            for repair in checked.repairs:
                written = as_subject(checked.game, checked.character, repair.route)
                if not isinstance(written, LogRefusal):
                    _, number = await tallies.enter_subject(writing, place.owner, written.subject)
                    found.append(Mended(repair, number))
        return tuple(found)

    async def numbered(
        self, place: Place, subject_id: int, airborne: bool = False, distance: float | None = None
    ) -> OpenRoute | LogRefusal:
        """The route with this number in the member's own log; by `usual_check` where nothing is said of how
        it begins."""
        async with self._store.read() as reading:
            subject = await tallies.subject_of(reading, place.owner, subject_id)
        if subject is None:
            return LogRefusal(LogRefusalCode.GONE_ROUTE)
        found = found_of(self._desk, place.server_id, subject, self._desk.controls_of(place))
        if found is None or found.route is None:
            problem = NO_MOVES if found else "the game's file has no such moves any more."
            return LogRefusal(LogRefusalCode.NO_SUCH_WHAT, Facts(typed=typed_as(subject), problem=problem))
        start = None
        if airborne or distance is not None:
            start = Start(gauges=full_gauges(found.game), airborne=airborne, distance=distance)
        return await self._open(place, found, subject_id, start)

    async def _open(
        self, place: Place, found: Found, number: int, start: Start | None, typed: str = ""
    ) -> OpenRoute:
        assert found.character is not None
        assert found.route is not None
        async with self._store.read() as reading:
            name = await self._name(reading, place, found, typed)
        if start is None:
            judged = usual_check(found.game, found.character, found.route)
        else:
            judged = check(found.game, found.character, found.route, start)
        return OpenRoute(judged, await self._timing.hands(place), number, name)

    async def _name(self, reading: Reading, place: Place, found: Found, typed: str) -> str:
        """Under which name the member saved this very route; where it has several, the typed one."""
        kept = await routes.listed(reading, place.owner, found.game.name)
        these = [route for route in kept if _is(route, found)]
        called = saved_as(these, typed, found.game, found.character)
        return next((route.name for route in (*called, *these)), "")


def begun(route: Route, state: str | None, active_frame: int = 1) -> Route:
    """The route with its first move in this hit state and touching on this active frame, so that it is
    written with them; what says nothing leaves it as it is."""
    first, *rest = route.steps
    if state is not None:
        first = replace(first, state=state)
    if active_frame > 1:
        first = replace(first, meaty=True, meaty_frame=active_frame)
    return Route((first, *rest))


def terminal_route(game: Game, character: Character, route: Route, start: Start | None = None) -> OpenRoute:
    """A route for typical hands, of which nothing is kept."""
    judged = usual_check(game, character, route) if start is None else check(game, character, route, start)
    return OpenRoute(judged, KnownHands())


def _is(saved: SavedRoute, found: Found) -> bool:
    return saved.character == found.subject.character and saved.notation == found.subject.what
