"""What a member does when a starter lands: kept, and taken back."""

from __future__ import annotations

from collections.abc import Sequence

from bot.results.conversion import (
    ClearedConversion,
    ConversionRefusal,
    ConversionRefusalCode,
    SetConversion,
)
from bot.results.log import LogRefusal, LogRefusalCode
from bot.results.place import Place
from bot.results.tally import KeptConversion, SavedRoute, Subject, SubjectKind
from bot.services.complete import complete_names
from bot.services.desk import AskDesk
from bot.services.routes import RouteService
from bot.services.subjects import found_in
from bot.storage import conversions, routes
from bot.storage.store import Store
from core.model import Character, Game
from core.notation import NotationError, Route, book_of
from core.routes import RouteCheck, Start, check
from core.situations import Situation, SituationKind, situation_named, situations, started_in
from core.text import clipped
from core.verdict import Facts, Value

MOST_CONVERSIONS = 200
"""Of one game."""


class ConversionService:
    """The conversions of each member, in the server's game. A route is kept only where it works."""

    def __init__(self, store: Store, desk: AskDesk, saved: RouteService) -> None:
        self._store = store
        self._desk = desk
        self._saved = saved

    async def set(
        self, place: Place, starter: str, situation: str, route_name: str, event_id: int
    ) -> SetConversion | ConversionRefusal | LogRefusal:
        """Keep which saved route follows when this starter, as it was typed, lands in this situation."""
        async with self._store.read() as reading:
            route = await self._saved.called(reading, place, route_name)
        if isinstance(route, LogRefusal):
            return route
        return await self._set(place, route, situation, event_id, starter)

    async def take(
        self, place: Place, route_id: int, situation: str, event_id: int
    ) -> SetConversion | ConversionRefusal | LogRefusal:
        """Keep a saved route for when its own first move lands in this situation."""
        async with self._store.read() as reading:
            route = await routes.get(reading, place.owner, route_id)
        if route is None or route.game != self._desk.game_of(place).name:
            return LogRefusal(LogRefusalCode.GONE_ROUTE)
        return await self._set(place, route, situation, event_id)

    async def clear(
        self, place: Place, starter: str, situation: str, event_id: int
    ) -> ClearedConversion | ConversionRefusal:
        """Take a conversion back; its route stays saved. That of the own character where several have it."""
        game, own = self._desk.game_of(place), self._desk.character_of(place)
        where = situation_named(game, situation)
        async with self._store.write(event_id) as writing:
            kept = await conversions.listed(writing, place.owner, game.name)
            name = where.name if where else situation.strip()
            here = [one for one in kept if one.situation.casefold() == name.casefold()]
            called = [one for one in here if self._is_called(place, game, one, starter)]
            called.sort(key=lambda one: own is None or one.character != own.name)
            if not called:
                facts: dict[str, Value] = {"starter": clipped(starter), "situation": clipped(name)}
                return _refused(game, ConversionRefusalCode.NOTHING_SET, **facts)
            if not writing.repeated:
                await conversions.forget(writing, place.owner, called[0].id)
        return ClearedConversion(game, called[0], where or gone_situation(called[0].situation))

    def complete_situation(self, place: Place, typed: str) -> tuple[str, ...]:
        """Situations of the server's game that the text may become, at most 25, best first."""
        names = [situation.name for situation in situations(self._desk.game_of(place))]
        return complete_names([(name, (name,)) for name in names], typed)

    def _is_called(self, place: Place, game: Game, kept: KeptConversion, starter: str) -> bool:
        """Whether this is what the member calls the starter of a conversion."""
        who = game.character(kept.character)
        typed = starter.strip()
        if typed.casefold() == kept.starter.casefold() or who is None:
            return typed.casefold() == kept.starter.casefold()
        try:
            return book_of(game, who, self._desk.controls_of(place)).find(typed).input == kept.starter
        except NotationError:
            return False

    async def _set(
        self, place: Place, route: SavedRoute, situation: str, event_id: int, starter: str | None = None
    ) -> SetConversion | ConversionRefusal | LogRefusal:
        game, scheme = self._desk.game_of(place), self._desk.controls_of(place)
        where = situation_named(game, situation)
        if where is None:
            known = ", ".join(one.name for one in situations(game))
            code = ConversionRefusalCode.NO_SITUATION
            return _refused(game, code, typed=clipped(situation), known=known)
        who = game.character(route.character)
        moves = route_of(game, route, scheme)
        if who is None or moves is None:
            code = ConversionRefusalCode.NOT_READ
            return _refused(game, code, name=route.name, notation=route.notation)
        begins = moves.steps[0].move.input
        if starter is not None:
            try:
                wanted = book_of(game, who, scheme).find(starter).input
            except NotationError as error:
                code = ConversionRefusalCode.NO_STARTER
                return _refused(game, code, typed=clipped(starter), problem=str(error))
            if wanted != begins:
                code = ConversionRefusalCode.OTHER_STARTER
                return _refused(game, code, name=route.name, begins=begins, starter=wanted)
        judged = judge(game, who, moves, where)
        if not judged.works:
            facts = Facts(name=route.name, starter=begins)
            return ConversionRefusal(game, ConversionRefusalCode.NOT_THERE, facts, judged, where)
        wished = KeptConversion(0, game.name, who.name, begins, where.name, route)
        async with self._store.write(event_id) as writing:
            kept = await conversions.listed(writing, place.owner, game.name)
            before = next((one for one in kept if _same_place(one, wished)), None)
            if writing.repeated:
                wished = before or wished
            elif before is None and len(kept) >= MOST_CONVERSIONS:
                return _refused(game, ConversionRefusalCode.TOO_MANY, most=MOST_CONVERSIONS)
            elif await routes.get(writing, place.owner, route.id) is None:  # forgotten since
                return LogRefusal(LogRefusalCode.GONE_ROUTE)
            else:
                wished = await conversions.set_one(writing, place.owner, wished)
        return SetConversion(game, wished, where, judged)


def judge(game: Game, who: Character, route: Route, situation: Situation) -> RouteCheck:
    """The route judged as it begins in this situation."""
    return check(game, who, started_in(route, situation), situation.start)


def route_of(game: Game, saved: SavedRoute, scheme: str | None) -> Route | None:
    """A saved route as this version of its game has it; None where it lacks the character or a move, or is
    another game."""
    if saved.game != game.name:
        return None
    about = Subject(saved.game, saved.character, SubjectKind.ROUTE, saved.notation)
    found = found_in(game, about, scheme)
    return found.route if found else None


def situation_of(game: Game, kept: KeptConversion) -> Situation | None:
    """The situation of a conversion; None where the present game file has no such hit state."""
    return next((one for one in situations(game) if one.name == kept.situation), None)


def gone_situation(name: str) -> Situation:
    """A hit state that the game file had once."""
    return Situation(SituationKind.STATE, name, Start(state=name))


def starters_of(who: Character, inputs: Sequence[str]) -> tuple[str, ...]:
    """Each input once, in the order of the character's moves."""
    place = {move.input: number for number, move in enumerate(who.moves)}
    return tuple(sorted(dict.fromkeys(inputs), key=lambda one: place.get(one, len(place))))


def _same_place(one: KeptConversion, other: KeptConversion) -> bool:
    mine, theirs = ((kept.game, kept.character, kept.starter, kept.situation) for kept in (one, other))
    return mine == theirs


def _refused(game: Game, code: ConversionRefusalCode, **facts: Value) -> ConversionRefusal:
    return ConversionRefusal(game, code, Facts(**facts))
